"""What the readers of `procedures/` promise."""
