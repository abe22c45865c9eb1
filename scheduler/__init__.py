"""Weekend service production scheduler for a wood-fired barbecue kitchen."""

__version__ = "0.1.0"
