"""From any recording of an engine's pressures to readings that can be trusted."""

__version__ = "0.1.0"

METHOD_VERSION = 1
"""Raised whenever a number in the findings of an unchanged job would change."""
