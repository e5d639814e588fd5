"""The one path from a job to its findings, and what the pages need beside them."""
