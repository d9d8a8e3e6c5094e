"""What every test may ask for: the checkout, a copy of the rover, a C compiler, and how thorough to be."""

import os
import shutil
from pathlib import Path

import pytest
from hypothesis import HealthCheck, settings

ROOT = Path(__file__).resolve().parent.parent
LONG = bool(os.environ.get("ANGLEWRIGHT_LONG"))

settings.register_profile(
    "short", max_examples=50, deadline=None, suppress_health_check=[HealthCheck.too_slow]
)
settings.register_profile(
    "long", max_examples=2000, deadline=None, suppress_health_check=[HealthCheck.too_slow]
)
settings.load_profile("long" if LONG else "short")


@pytest.fixture(scope="session")
def root() -> Path:
    """Folder of the checkout."""
    return ROOT


@pytest.fixture(scope="session")
def long() -> bool:
    """Whether the statistical and fuzz proofs are to run in full."""
    return LONG


@pytest.fixture
def rover(tmp_path: Path) -> Path:
    """A copy of the example rover that a test may write into."""
    return Path(shutil.copytree(ROOT / "examples" / "rover", tmp_path / "rover"))


@pytest.fixture(scope="session")
def gcc() -> str:
    """The compiler's path; its absence fails the tests unless it was declared."""
    if "gcc" in os.environ.get("ANGLEWRIGHT_WITHOUT", "").replace(",", " ").split():
        pytest.skip("ANGLEWRIGHT_WITHOUT says that gcc is not to be used")
    found = shutil.which("gcc")
    if found is None:
        pytest.fail("gcc is not installed. Install it, or set ANGLEWRIGHT_WITHOUT=gcc to leave these out.")
    return found


def pytest_terminal_summary(terminalreporter: pytest.TerminalReporter) -> None:
    """The figures that the long proofs measured, in a table."""
    done = [*terminalreporter.getreports("passed"), *terminalreporter.getreports("failed")]
    figures = [(each.nodeid, name, value) for each in done for name, value in each.user_properties]
    if LONG and figures:
        terminalreporter.section("figures measured")
        for test, name, value in figures:
            terminalreporter.write_line(f"{test}: {name}: {value}")
