"""Turns a technician's walk along the shelves into intake records."""

__version__ = "0.1.0"
