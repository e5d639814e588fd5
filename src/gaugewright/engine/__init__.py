"""The virtual engine: the physics as one running engine, steady and in time, sound or not."""
