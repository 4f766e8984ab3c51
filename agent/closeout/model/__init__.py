"""Frozen nouns: what was read, what was expected, what was found. No I/O."""
