"""The migrations of the catalogue, newest schema last."""
