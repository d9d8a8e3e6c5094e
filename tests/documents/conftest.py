"""Reading and running the documents."""

import os
import sys
from pathlib import Path

import pytest


@pytest.fixture(scope="session")
def shell_env() -> dict[str, str]:
    """Environment in which `anglewright` and `python` are those of this test run."""
    here = str(Path(sys.executable).parent)
    return {
        **os.environ,
        "PATH": here + os.pathsep + os.environ.get("PATH", ""),
        "NO_COLOR": "1",
        "COLUMNS": "100",
    }
