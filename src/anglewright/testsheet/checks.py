"""One check of the sheet: what to do, what to read, between which limits a healthy axis lies."""

from collections.abc import Mapping
from dataclasses import dataclass
from enum import Enum


class Stage(Enum):
    """What is connected and powered while a check is made, in the order of the sheet."""

    UNPLUGGED = "Connector off, all power off"
    FED = "Connector still off, sensor's power on, motor's power removed"
    PLUGGED = "Connector on, sensor's power on, motor's power removed"
    FIRST_POWER = "First power-up of the motor"


WANDERS = "wanders"
"""Answer for a reading that does not stand still at any value."""

STILL = "still"
"""Answer for a reading that does not follow the axis."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Check:
    """One line of the sheet.

    A number has a `unit` (``ohm``, ``V``, ``A``, ``count``), a middle and limits; codes are counts of the
    converter whatever the controller shows. `words` are the answers to a question, `good` those of a healthy
    axis. `is_change` is True for a difference of readings; `signed` asks for a name and a day. Codes that
    come round do so after `period`. [count]
    """

    key: str
    stage: Stage
    do: str
    link: str
    unit: str = ""
    expected: float | None = None
    low: float | None = None
    high: float | None = None
    words: tuple[str, ...] = ()
    good: tuple[str, ...] = ()
    is_change: bool = False
    period: int | None = None
    signed: bool = False
    source: str = "practice"

    @property
    def is_number(self) -> bool:
        """True where a number is read, False where a question is answered."""
        return not self.words


@dataclass(frozen=True, slots=True, kw_only=True)
class Reading:
    """What was read at one check: a number [ohm, V, A or count], infinite for an open circuit, or a word."""

    key: str
    value: float = float("nan")
    word: str = ""

    @property
    def wanders(self) -> bool:
        """True where it did not stand still."""
        return self.word == WANDERS

    def passes(self, check: Check) -> bool:
        """True where a healthy axis can show it."""
        if not check.is_number:
            return self.word in check.good
        if self.wanders:
            return check.expected is None and check.low is None and check.high is None
        low = float("-inf") if check.low is None else check.low
        high = float("inf") if check.high is None else check.high
        value = self.value
        if check.period and check.expected is not None:
            value -= check.period * round((value - check.expected) / check.period)
        return low <= value <= high


Readings = Mapping[str, Reading]
