"""Pure decisions over plain values: no clock, no files, no randomness."""
