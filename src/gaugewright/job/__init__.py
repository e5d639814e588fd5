"""The job: its model, and reading and writing it as a folder or a bundle."""
