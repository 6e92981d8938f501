"""The job without a window."""

__version__ = "0.1.0"
