"""TOML to frozen rigs and calibration records, and back."""
