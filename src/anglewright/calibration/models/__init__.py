"""Models of position over reading: each fits itself, predicts, and says how its parameters act."""
