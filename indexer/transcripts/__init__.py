"""Timed text in: one reader for each format, one place for the times of words."""
