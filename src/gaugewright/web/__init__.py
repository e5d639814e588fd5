"""The app on this machine: one job as one page in a browser."""
