"""Job: mark a calibration record as no longer to be used; nothing is deleted."""

from dataclasses import dataclass

from anglewright.calibration.record import CalibrationRecord
from anglewright.jobs.opening import the_axis
from anglewright.jobs.shown import Json, Shown
from anglewright.rig import Rig
from anglewright.rigfile.records import RecordChoice, record_in_use, withdraw_record


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class WithdrawResult(Shown):
    """The withdrawn record, and what is in use now."""

    record: CalibrationRecord
    now: RecordChoice

    @property
    def headline(self) -> str:
        """What was withdrawn and what is in use now."""
        now = self.now
        state = f"In use now: {now.why}." if now.record else f"Nothing is in use now: {now.why}."
        return f"{self.record.name} of {self.record.axis} is withdrawn and kept. {state}"

    def as_json(self) -> Json:
        """The record and what is in use now."""
        return {
            "axis": self.record.axis,
            "record": self.record.name,
            "withdrawn": self.record.withdrawn,
            "in_use": self.now.record.name if self.now.record else None,
            "why": self.now.why,
        }


def withdraw(rig: Rig, axis: str | None, record: str, *, because: str) -> WithdrawResult:
    """Withdraw a calibration record.

    Parameters
    ----------
    rig : Rig
        The machine.
    axis : str or None
        Name of an axis; None for the only one.
    record : str
        Name of the record.
    because : str
        Why it must not be used any more.

    Returns
    -------
    WithdrawResult
        The record as it stands now, and what is in use instead.

    Raises
    ------
    UsageError
        There is no such axis or record, it is withdrawn already, or no reason is given.
    DataError
        A record is damaged, or this one cannot be written.
    """
    chosen = the_axis(rig, axis)
    marked = withdraw_record(rig, chosen, record, because=because)
    return WithdrawResult(record=marked, now=record_in_use(rig, chosen))
