"""Published formulas, each with its source, its validity range and its check values."""
