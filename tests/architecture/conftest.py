"""The texts that the guards read."""

import subprocess
from collections.abc import Mapping
from pathlib import Path

import pytest


@pytest.fixture(scope="session")
def sources(root: Path) -> Mapping[str, str]:
    """Every module of the package: dotted name to text."""
    base = root / "src"
    found = {}
    for path in sorted((base / "anglewright").rglob("*.py")):
        parts = path.relative_to(base).with_suffix("").parts
        name = ".".join(parts[:-1] if parts[-1] == "__init__" else parts)
        found[name] = path.read_text(encoding="utf-8")
    return found


@pytest.fixture(scope="session")
def tracked(root: Path) -> Mapping[str, str]:
    """Every text file that version control holds or would take in: path to text."""
    listing = subprocess.run(
        ["git", "ls-files", "--cached", "--others", "--exclude-standard", "-z"],
        cwd=root,
        capture_output=True,
        check=True,
        text=True,
    )
    found = {}
    for name in filter(None, listing.stdout.split("\0")):
        try:
            found[name] = (root / name).read_text(encoding="utf-8")
        except (UnicodeDecodeError, FileNotFoundError):  # a font or picture; a file just removed
            continue
    return found
