"""Any recording file to columns of numbers on the file's own clock."""
