"""The only readers of `procedures/`: text to checked values."""
