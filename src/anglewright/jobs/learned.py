"""What a calibration tells of single numbers of the rig file: noise, play, and what the slope really is."""

import math
from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from anglewright.budget.band import reading_noise, step_size
from anglewright.budget.states import planned_line
from anglewright.calibration.deviation import deviation_limits
from anglewright.calibration.result import Calibration
from anglewright.calibration.student import coverage_factor
from anglewright.calibration.uncertainty import HALF_COUNT, ROUNDING, pooled_noise
from anglewright.jobs.appraising import slope_findings
from anglewright.jobs.freemotion import felt_numbers, play_share
from anglewright.jobs.measured import Measured
from anglewright.jobs.shown import Json, Table
from anglewright.links.protocol import Number
from anglewright.quantities.showing import show
from anglewright.quantities.spread import Persistence, Shape, Spread
from anglewright.quantities.units import UNITS, Unit
from anglewright.rig import Axis

ENOUGH = 8  # degrees of freedom from which repeats tell the noise [1]
PLACES = 5  # over the range, at which the noise of the parts is looked at [1]
GAIN = 0.95  # of the tolerance in the file: less is worth writing (common practice, no source) [1]
NOISES = ("noise", "noise_voltage", "contact_noise", "edge_jitter", "jitter")
_NEAR_ZERO = 0.02  # of the half-width: a lower limit below that is written as zero [1]

_SHOWN: Mapping[str, str] = {"rad": "deg", "m": "mm", "counts": "LSB", "v": "V", "share": "%", "s": "us"}
"""The unit in which a number is written into the file, by the suffix of its field."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Learned:
    """A number of the rig file as a calibration tells it, with its 95 % limits in `unit`.

    `why_not` says why it is not for writing, or that nobody agreed; empty where it is or was written.
    """

    measured: Measured
    low: float | None = None
    high: float | None = None
    unit: str = ""
    why_not: str = ""
    written: bool = False

    @property
    def question(self) -> str:
        """What is asked before it is written."""
        each = self.measured
        return f"{each.name}: {each.old} in the file, {each.new} as measured. Write that into the rig file?"

    def as_json(self) -> Json:
        """Key, what the file had, what was measured, whether it was written or why not."""
        return {
            "key": self.measured.name,
            "old": self.measured.old or None,
            "new": self.measured.new or None,
            "low": self.low,
            "high": self.high,
            "unit": self.unit or None,
            "written": self.written,
            "why_not": self.why_not or None,
        }

    @property
    def row(self) -> tuple[str, str, str, str]:
        """Its line in a table."""
        told = "written" if self.written else self.why_not
        return self.measured.name, self.measured.old, self.measured.new, told


def learned_table(found: tuple[Learned, ...]) -> Table:
    """What the calibration tells of the rig file, and what of it was written there."""
    columns = ("key", "in the file", "as measured", "written or why not")
    rows = tuple(each.row for each in found)
    return Table(title="What the rig file can learn", columns=columns, rows=rows)


def learned_by(axis: Axis, calibration: Calibration) -> tuple[Learned, ...]:
    """What a calibration tells of the noise, the play and the slope.

    Parameters
    ----------
    axis : Axis
        The axis, as the rig file has it.
    calibration : Calibration
        A calibration of it. [rad or m]

    Returns
    -------
    tuple of Learned
        Each with its new value, or with the reason why there is none.

    References
    ----------
    derived
    """
    slope = _slope(axis, calibration)
    return (_noise(axis, calibration), _play(axis, calibration), *([slope] if slope else []))


def _silent(room: str, key: str, why: str) -> Learned:
    return Learned(measured=Measured(room=room, key=key, old="", new=""), why_not=why)


def _unit(number: Number) -> Unit:
    return UNITS[_SHOWN[number.field.rpartition("_")[2]]]


def _spread(number: Number) -> Spread:
    """What the file says of a number, as a quantity with limits."""
    if not isinstance(number.variate, Spread):
        raise TypeError(f"{number.key} is a family of shapes")
    return number.variate


def _of(number: Number, limits: tuple[float, float], *, new: str, why: str = "") -> Learned:
    """A number with its new text and limits [SI]; `why` where it is not for writing."""
    unit = _unit(number)
    low, high = (unit.difference_from_si(limit) for limit in limits)
    measured = Measured(room=number.room, key=number.name, old="", new=new)
    return Learned(measured=measured, low=low, high=high, unit=unit.name, why_not=why)


def _named(numbers: tuple[Number, ...]) -> str:
    return ", ".join(number.key for number in numbers)


def _noise(axis: Axis, calibration: Calibration) -> Learned:
    """The noise of one reading, where the repeats tell it and one number alone makes it."""
    sd, dof = pooled_noise(calibration.points)
    fresh = (number for number in axis.numbers if number.variate.persistence is Persistence.READING)
    noisy = tuple(number for number in fresh if not number.variate.is_exact)
    place = (noisy[0].room, noisy[0].name) if len(noisy) == 1 else ("converter", "noise")
    if dof < ENOUGH:
        why = f"the repeats leave {dof} degrees of freedom, and it takes {ENOUGH}: read each place more often"
        return _silent(*place, why)
    if len(noisy) != 1 or noisy[0].name not in NOISES:
        names = _named(noisy) or "no number of the file"
        return _silent(*place, f"it comes from {names}, and the repeats cannot tell what of it is noise")
    if sd < HALF_COUNT * max(step_size(axis, float(q)) for q in axis.positions(PLACES)):
        return _silent(*place, "the readings stand still: noise below half a step does not show")
    return _scaled(axis, noisy[0], sd, dof)


def _scaled(axis: Axis, number: Number, sd: float, dof: int) -> Learned:
    """The only noise there is, as many times what the file says as the readings show. [count]"""
    stated = math.sqrt(float(np.mean([reading_noise(axis, float(q)) ** 2 for q in axis.positions(PLACES)])))
    size = _spread(number).half_width
    value, low, high = (
        size / stated * math.sqrt(max(each**2 - ROUNDING**2, 0.0))
        for each in (sd, *deviation_limits(sd, dof=dof))
    )
    rms = " rms" if _spread(number).shape is Shape.NORMAL else ""
    why = "the file says the same within its limits" if low <= size <= high else ""
    return _of(number, (low, high), new=f"{show(value, _unit(number), digits=3)}{rms}", why=why)


def _play(axis: Axis, calibration: Calibration) -> Learned:
    """The play, laid to one number, where the rest is known."""
    play = calibration.play
    share = play_share(axis)
    if share is None:
        names = _named(felt_numbers(axis))
        why = f"it comes from {names}" if names else "no number of the file has any"
        return _silent("coupling", "play", f"{why}, and the points cannot tell what of it is where")
    number = share.number
    place = number.room, number.name
    if play.low is None or play.high is None:
        return _silent(*place, play.why or "the points do not tell it")
    low, high = share.of(play.low, play.high)
    if high <= 0.0:
        why = "the file gives the other parts more play than was measured: look at what it says of them"
        return _silent(*place, why)
    return _of(number, (low, high), new=_between(low, high, _unit(number)), why=_no_gain(number, low, high))


def _between(low: float, high: float, unit: Unit) -> str:
    """Both limits as a value and its tolerance; one that reaches to zero does so exactly."""
    half = (high - low) / 2.0
    if low <= _NEAR_ZERO * half:
        text = show(high / 2.0, unit, digits=3)
        return f"{text} ± {text}"
    return f"{show((low + high) / 2.0, unit, digits=4)} ± {show(half, unit, digits=2)}"


def _no_gain(number: Number, low: float, high: float) -> str:
    """Why a number that was measured is not better than that of the file; empty where it is."""
    stated = _spread(number)
    if stated.is_exact and low <= stated.nominal <= high:
        return "the file says the same within its limits"
    if not stated.is_exact and (high - low) / 2.0 >= GAIN * stated.half_width:
        return "the file knows it as well as that"
    return ""


def _slope(axis: Axis, calibration: Calibration) -> Learned | None:
    """What the travel or a count really is, where the slope is surely not that of the data sheet."""
    expected = planned_line(axis).slope
    ratio, u = calibration.slope / expected, math.sqrt(calibration.covariance[1, 1]) / abs(calibration.slope)
    sure = coverage_factor(calibration.error.fit_dof or math.inf) * u
    if ratio <= 0.0 or abs(ratio - 1.0) <= sure:
        return None
    travel = next((each for each in axis.numbers if each.key == "sensor.electrical_travel"), None)
    if travel is None or slope_findings(axis, calibration):
        told = _Told(stated=abs(expected), real=abs(calibration.slope), unit=axis.unit)
        return told.learned(sure, ("calibration", "slope"), _COUNT)
    told = _Told(stated=travel.variate.nominal, real=travel.variate.mean * ratio, unit=UNITS["deg"])
    differs = abs(told.real - told.stated) > told.real * sure
    return told.learned(sure, (travel.room, travel.name), _AGAIN) if differs else None


@dataclass(frozen=True, slots=True, kw_only=True)
class _Told:
    """A size by the file and as the slope has it. [SI]"""

    stated: float
    real: float
    unit: Unit

    def learned(self, sure: float, place: tuple[str, str], sentence: str) -> Learned:
        """The same with its 95 % limits, a share `sure` either way [1], and a sentence; it is only told."""
        half, unit = self.real * sure, self.unit
        stated, known = show(self.stated, unit), f"{show(self.real, unit)} ± {show(half, unit, digits=2)}"
        return Learned(
            measured=Measured(room=place[0], key=place[1], old=stated, new=known),
            low=unit.difference_from_si(self.real - half),
            high=unit.difference_from_si(self.real + half),
            unit=unit.name,
            why_not=sentence.format(stated=stated, known=known),
        )


_AGAIN = (
    "{stated} is really {known}, if the drive is as the file says: write it yourself if you change the "
    "sensor's entry; the record then no longer fits and you calibrate again"
)
_COUNT = (
    "a count is {stated} by the file and really {known}: look at the ratio and at full scale, and write it "
    "yourself; the record then no longer fits and you calibrate again"
)
