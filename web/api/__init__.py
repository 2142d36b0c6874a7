"""The small JSON API: models, routes, and the OpenAPI document made from them."""
