"""How well the difference of two kept lines is known: what both owe to one reference drops out."""

import math
from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from anglewright.calibration.line import uncertainty_at
from anglewright.calibration.record import ZERO, CalibrationRecord, RecordError
from anglewright.calibration.student import expanded

Part = tuple[float, float]
"""Standard uncertainty of a part, and its degrees of freedom. [rad or m, 1]"""


@dataclass(frozen=True, slots=True, kw_only=True)
class KnownLine:
    """A line and what is known of its errors.

    Parameters
    ----------
    offset, slope : float
        The line. [rad or m, per count]
    covariance : array, (2, 2)
        Of offset and slope. [rad or m, squared]
    dof : float
        Degrees of freedom of the covariance, what the reference leaves for good apart. [1]
    error : RecordError or None
        What stands behind it; None for a record that does not say it.
    zeroed : bool
        Whether its zero was moved alone, so that what the curve cannot follow at one place is in it whole.
    """

    offset: float
    slope: float
    covariance: ArrayLike
    dof: float
    error: RecordError | None = None
    zeroed: bool = False

    @classmethod
    def of(cls, record: CalibrationRecord) -> "KnownLine":
        """The line of a record."""
        return cls(
            offset=record.offset,
            slope=record.slope,
            covariance=record.covariance,
            dof=record.dof,
            error=record.error,
            zeroed=record.kind == ZERO,
        )

    def zero_95(self, code: float, *, changes: float, same: bool) -> float:
        """What the line is off by at a code at 95 %, beside fresh points. [rad or m]

        `same` says that they rest on the line's own reference, `changes` is what may be another by itself.
        """
        own, (lasting, _) = self.zero_parts(code)
        others = math.hypot(changes, 0.0 if same else lasting)
        return expanded([own, *_structure(self), (others, math.inf)])

    def zero_parts(self, code: float) -> tuple[Part, Part]:
        """What the line is off by at a code: what is its own, and what its reference leaves. [rad or m]"""
        reference = None if self.error is None else self.error.reference
        whole = float(uncertainty_at(self.covariance, code))
        if reference is None:
            return (whole, self.dof), (0.0, math.inf)
        return self._parted(
            whole, math.hypot(reference.shared, reference.scale * (self.offset + self.slope * code))
        )

    def slope_parts(self) -> tuple[Part, Part]:
        """The same of its slope. [rad or m per count]"""
        reference = None if self.error is None else self.error.reference
        whole = math.sqrt(float(np.asarray(self.covariance)[1, 1]))
        return self._parted(whole, 0.0 if reference is None else reference.scale * abs(self.slope))

    def _parted(self, whole: float, lasting: float) -> tuple[Part, Part]:
        left = min(lasting, whole)
        return (math.sqrt(whole**2 - left**2), self.dof), (left, math.inf)


def zero_shift_95(before: KnownLine, after: KnownLine, *, code: float, changes: float) -> float:
    r"""Uncertainty at 95 % of how far two lines lie apart at a code.

    Parameters
    ----------
    before, after : KnownLine
        The two lines. [rad or m]
    code : float
        Where, in the middle of the later points. [count]
    changes : float
        Standard uncertainty of what may change from one day to another by itself. [rad or m]

    Returns
    -------
    float
        Half-width. [rad or m]

    Notes
    -----
    The error that all points share, and that of the scale, are those of the instrument: where both lines rest
    on one reference they move both alike, and the difference by no more than the scale's share of it. Where
    the references differ, or a record does not say, both count in full. A zero moved at one place holds there
    what its curve cannot follow.

    References
    ----------
    gum-g
    """
    return expanded(
        [
            *_apart(before, after, before.zero_parts(code), after.zero_parts(code)),
            *_structure(before, after),
            (changes, math.inf),
        ]
    )


def slope_shift_95(before: KnownLine, after: KnownLine) -> float:
    """Uncertainty at 95 % of how far the slopes of two lines differ; see `zero_shift_95`.

    Parameters
    ----------
    before, after : KnownLine
        The two lines. [rad or m per count]

    Returns
    -------
    float
        Half-width. [rad or m per count]

    References
    ----------
    gum-g
    """
    return expanded(list(_apart(before, after, before.slope_parts(), after.slope_parts())))


def _apart(
    before: KnownLine, after: KnownLine, first: tuple[Part, Part], second: tuple[Part, Part]
) -> Iterator[Part]:
    yield first[0]
    yield second[0]
    if before.error is None or not before.error.same_reference(after.error):
        yield first[1]
        yield second[1]


def _structure(*lines: KnownLine) -> list[Part]:
    """What the curve of a zeroed line cannot follow at the place of its zero; counted once. [rad or m]"""
    known = [line.error for line in lines if line.zeroed and line.error is not None]
    return [max((each.structure, each.structure_dof or math.inf) for each in known)] if known else []
