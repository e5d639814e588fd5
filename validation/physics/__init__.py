"""The physics computed again by other means, and what the two say beside each other."""
