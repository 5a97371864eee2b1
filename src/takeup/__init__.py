"""Takeup: keeps metallic bellows expansion joints fit from one outage to the next."""

__version__ = "0.1.0"
