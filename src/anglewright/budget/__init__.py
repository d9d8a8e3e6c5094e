"""The uncertainty budget: how wrong the reading of an axis may be, before it is built and after it is calibrated."""
