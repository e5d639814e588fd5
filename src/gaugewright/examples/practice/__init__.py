"""Practice: job folders from the virtual engine with a hidden fault, the truth sealed beside."""
