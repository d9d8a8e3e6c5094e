"""From a shaft that turns to a number the control code can trust."""

from anglewright.version import VERSION as __version__

TYPE_CHECKING = False  # a type checker takes it as true; importing typing would cost more than the package
if TYPE_CHECKING:
    from typing import Any

    from anglewright.errors import AnglewrightError
    from anglewright.jobs.answers import Answers
    from anglewright.jobs.budgeting import budget_of
    from anglewright.jobs.calibrating import calibrate
    from anglewright.jobs.checking import check
    from anglewright.jobs.choosing import choose
    from anglewright.jobs.diagnosing import diagnose
    from anglewright.jobs.expecting import expect
    from anglewright.jobs.explaining import explain
    from anglewright.jobs.handing import hand_over
    from anglewright.jobs.history import history
    from anglewright.jobs.mounting import mount
    from anglewright.jobs.noting import note
    from anglewright.jobs.opening import open_rig
    from anglewright.jobs.planning import plan_calibration
    from anglewright.jobs.readiness import ready
    from anglewright.jobs.reading import read_raw
    from anglewright.jobs.reporting import write_report
    from anglewright.jobs.running import Run
    from anglewright.jobs.simulating import simulate
    from anglewright.jobs.starting import new_rig
    from anglewright.jobs.testsheet import test_sheet
    from anglewright.jobs.verifying import Verifying, verify
    from anglewright.jobs.wiring import wire
    from anglewright.jobs.withdrawing import withdraw
    from anglewright.jobs.zeroing import Zeroing, zero

_HOMES = {
    "AnglewrightError": "errors",
    "Answers": "jobs.answers",
    "Run": "jobs.running",
    "Verifying": "jobs.verifying",
    "Zeroing": "jobs.zeroing",
    "budget_of": "jobs.budgeting",
    "calibrate": "jobs.calibrating",
    "check": "jobs.checking",
    "choose": "jobs.choosing",
    "diagnose": "jobs.diagnosing",
    "expect": "jobs.expecting",
    "explain": "jobs.explaining",
    "hand_over": "jobs.handing",
    "history": "jobs.history",
    "mount": "jobs.mounting",
    "new_rig": "jobs.starting",
    "note": "jobs.noting",
    "open_rig": "jobs.opening",
    "plan_calibration": "jobs.planning",
    "read_raw": "jobs.reading",
    "ready": "jobs.readiness",
    "simulate": "jobs.simulating",
    "test_sheet": "jobs.testsheet",
    "verify": "jobs.verifying",
    "wire": "jobs.wiring",
    "withdraw": "jobs.withdrawing",
    "write_report": "jobs.reporting",
    "zero": "jobs.zeroing",
}

__all__ = [
    "AnglewrightError",
    "Answers",
    "Run",
    "Verifying",
    "Zeroing",
    "__version__",
    "budget_of",
    "calibrate",
    "check",
    "choose",
    "diagnose",
    "expect",
    "explain",
    "hand_over",
    "history",
    "mount",
    "new_rig",
    "note",
    "open_rig",
    "plan_calibration",
    "read_raw",
    "ready",
    "simulate",
    "test_sheet",
    "verify",
    "wire",
    "withdraw",
    "write_report",
    "zero",
]


def __getattr__(name: str) -> "Any":
    """A public name, imported when it is first asked for, so that importing the package stays light."""
    if name not in _HOMES:
        raise AttributeError(f"module 'anglewright' has no attribute '{name}'")
    from importlib import import_module

    return getattr(import_module(f"anglewright.{_HOMES[name]}"), name)


del TYPE_CHECKING  # not one of the public names


def __dir__() -> list[str]:
    """The public names."""
    return __all__
