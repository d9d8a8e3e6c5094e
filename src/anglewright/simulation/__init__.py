"""The simulated bench: one secret realisation of a rig, moved, read and written down with its truth."""
