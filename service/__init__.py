"""Locknut: assemble a bicycle from a bare frame, and keep it running for years."""

__version__ = "0.1.0"
