"""The uncertainty budget: how wrong the reading may be, before building and after calibrating."""
