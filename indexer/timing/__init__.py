"""Time per step: what counts, the figures, the charts."""
