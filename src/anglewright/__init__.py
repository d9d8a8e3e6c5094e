"""From a shaft that turns to a number the control code can trust."""

__version__ = "0.1.0"

__all__ = ["__version__"]
