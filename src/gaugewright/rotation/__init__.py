"""Pulses to speed, and to the edges of the engine's cycles."""
