"""Faults that a simulated bench can be given: one module a family, found by walking this folder."""
