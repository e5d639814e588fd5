"""An independent check of what the analysis claims: its own generator, analyst and scores."""
