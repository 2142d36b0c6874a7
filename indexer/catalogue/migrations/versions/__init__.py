"""One module a schema; each names the one before it."""
