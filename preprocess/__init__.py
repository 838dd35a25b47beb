"""evenmark: turns a design into artwork that a compact laser marks evenly on a printed part."""

__version__ = "0.2.0"
