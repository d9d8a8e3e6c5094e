"""The test sheet of an axis: its checks in the safe order, and which link is at fault when they fail."""
