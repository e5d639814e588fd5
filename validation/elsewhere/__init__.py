"""Jobs from somebody else: car, faults and readings by another hand than the engine's."""
