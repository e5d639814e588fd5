"""Job folders to learn from and to test with: an invented van, and an open recording."""
