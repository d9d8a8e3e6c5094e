"""Generic classes of sensors and stock gear teeth, as TOML with a source on every row; no makes."""
