"""Which cause, how sure, what next: the virtual engine's faults weighed by the readings."""
