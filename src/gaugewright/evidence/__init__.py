"""From cycles to evidence: readings, matches, reference, limit and switch checks."""
