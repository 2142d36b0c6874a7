"""How the reader is taught and judged. Nothing here is run by the tests; DEVELOPERS.md says how to use it."""
