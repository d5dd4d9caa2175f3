"""Squab: from tape measure to cut, matched, priced covers for loose seat cushions."""

__version__ = "0.1.0"
