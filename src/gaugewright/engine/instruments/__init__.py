"""Real instruments on the virtual engine: sensors, hoses, disturbances, loggers and their files."""
