"""What a review or an examination has to say: one thing, how bad, against which limit, the remedy."""

from dataclasses import dataclass
from enum import Enum

from anglewright.steps import Step


class Severity(Enum):
    """How a finding is shown and whether it stops the work; there are three and no more."""

    STOP = "stop"
    CAUTION = "caution"
    NOTE = "note"


@dataclass(frozen=True, slots=True, kw_only=True)
class Finding:
    """One finding about one link of one axis.

    `measured` and `limit` are in `unit`; either is None where the matter is not a number.
    """

    key: str
    severity: Severity
    axis: str
    link: str
    text: str
    remedy: str
    source: str
    measured: float | None = None
    limit: float | None = None
    unit: str = ""
    steps: tuple[Step, ...] = ()
