"""A household's data in one file: written, and read back without loss."""
