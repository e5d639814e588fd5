"""Jobs that last: the database, the recordings on disk, and what is kept beside them."""
