"""The proof of the causes: from the definitions, knowing nothing of how they are weighed."""
