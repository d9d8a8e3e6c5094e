"""Numbers as people write them, numbers in SI units, and numbers that are not known exactly."""
