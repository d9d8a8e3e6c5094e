"""From readings beside a reference to a line, its errors and what it is worth."""
