"""The engine: recordings and timed transcripts in, a searchable catalogue of what was done when out.

It knows nothing of the web. Each room imports only rooms that stand lower; DEVELOPERS.md draws the floors.
"""
