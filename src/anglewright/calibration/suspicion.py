"""What the points of a calibration make one suspect, before any line is drawn through them."""

from dataclasses import dataclass

from anglewright.findings import Severity


@dataclass(frozen=True, slots=True, kw_only=True)
class Suspicion:
    """A fault that the points show.

    Parameters
    ----------
    key : str
        Which fault.
    severity : Severity
        Whether it stops the work.
    measured : float
        Its size; what it is, and in which unit, follows from the key. [rad or m, or 1]
    limit : float
        What it was held against, in the same unit. [rad or m, or 1]
    points : tuple of int
        Numbers of the points concerned, from 0, as they were taken. [1]
    others : tuple of float
        Further numbers that its sentence needs. [1]
    surely : float
        How likely it is beside its rivals, for which it could be taken. [1]
    """

    key: str
    severity: Severity
    measured: float
    limit: float
    points: tuple[int, ...] = ()
    others: tuple[float, ...] = ()
    surely: float = 1.0
