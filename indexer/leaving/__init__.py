"""What leaves the library: asked of the consent, covered, cut, stripped, and read again."""
