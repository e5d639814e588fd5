"""Volts to quantities: calibration, zero, and the health of each signal."""
