"""Why a choice is refused, in sentences: what was found, the limit, and what would cure it."""

import math
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from anglewright.angles import TURN
from anglewright.quantities.showing import show
from anglewright.quantities.units import Unit
from anglewright.selection.figures import Level, SensorFigures
from anglewright.selection.judging import CHECKS, LEAST_COUNTS, MARGIN, SAME, Judged, missing


@dataclass(frozen=True, slots=True, kw_only=True)
class Reason:
    """One check that rules a choice out, and what would make it fit."""

    check: str
    text: str
    cure: str


def reasons(judged: Judged, place: int) -> tuple[Reason, ...]:
    """All that rules a choice out, in the order of the checks."""
    found = []
    short = missing(judged.asked[:, place], judged.there[:, place])
    for row in np.flatnonzero(short > 1.0 + SAME):
        case = _Case(
            judged=judged,
            sensor=judged.sensors[judged.sensor[place]],
            ratio=abs(float(judged.drives.ratio[judged.drive[place]])),
            asked=float(judged.asked[row, place]),
            there=float(judged.there[row, place]),
        )
        text, cure = _SAID[CHECKS[row]](case)
        found.append(Reason(check=CHECKS[row], text=text, cure=cure))
    return tuple(found)


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class _Case:
    """One check of one choice."""

    judged: Judged
    sensor: SensorFigures
    ratio: float
    asked: float
    there: float

    def along(self, value_si: float) -> str:
        """A length or an angle of the axis, in its unit."""
        return show(value_si, self.judged.need.axis.unit, digits=3)

    @property
    def lower(self) -> str:
        """By what the ratio would have to be divided so that the shaft's room suffices."""
        if not math.isfinite(self.there):
            return ""
        fixed = self.asked - self.ratio * self.judged.need.stops_span
        room = self.there - fixed
        if room <= 0.0:
            return ""
        return f"a drive with a ratio {_times(self.ratio * self.judged.need.stops_span / room)} lower"


def _times(factor: float) -> str:
    """A factor above 1, with as many digits as it takes to see that."""
    return next(text for digits in range(3, 16) if float(text := f"{factor:.{digits}g}") != 1.0) + " times"


def _degrees(angle: float) -> str:
    return f"{math.degrees(angle):.4g} deg"


def _room_said(case: _Case) -> str:
    return (
        f"from stop to stop, with play, clamping and {_degrees(MARGIN)} to spare at each end, the shaft "
        f"needs {_degrees(case.asked)}"
    )


def _either(*cures: str) -> str:
    return ", or ".join(cure for cure in cures if cure)


def _travel(case: _Case) -> tuple[str, str]:
    text = f"travel: {_room_said(case)}; the shortest track ends after {_degrees(case.there)}"
    return text, _either(case.lower, f"a track of at least {_degrees(case.asked)}")


def _stops(case: _Case) -> tuple[str, str]:
    text = f"stops: the drive can turn the shaft by {_degrees(case.asked)}; the sensor's own stops are "
    text += f"{_degrees(case.there)} apart, and any gearmotor is stronger than they are"
    return text, _either(case.lower, "a sensor without stops")


def _endless(case: _Case) -> tuple[str, str]:
    text = "endless motion: the axis turns round and round, and the track has ends or a gap"
    return text, "a sensor that turns and reads endlessly"


def _wrap(case: _Case) -> tuple[str, str]:
    if case.judged.need.axis.motion.endless:
        rounds = case.sensor.reach / TURN / case.ratio
        text = f"wrap: the axis turns endlessly, and the reading comes round after {rounds:.4g} of its turns"
        return text, "a ratio of 1, or gears of which the range is a whole number of turns"
    text = f"wrap: {_room_said(case)}; the reading comes round again after {_degrees(case.there)}"
    return text, _either(case.lower, "a sensor that tells more turns apart")


def _speed(case: _Case) -> tuple[str, str]:
    asked, there = (f"{60.0 * value / TURN:.4g} rpm" for value in (case.asked, case.there))
    text = f"speed: the shaft turns at {asked}; the sensor takes {there}"
    return text, _either(f"a drive with a ratio {_times(case.asked / case.there)} lower", "a slower axis")


def _life(case: _Case) -> tuple[str, str]:
    unit = "turns of the shaft" if case.sensor.life_in_turns else "strokes"
    text = f"life: with the hunting moves it goes through {case.asked:.4g} {unit}; it lasts {case.there:.4g}"
    return text, "a sensor that does not wear, or spares to change in time"


def _homing(case: _Case) -> tuple[str, str]:
    text = "homing: it counts from a home that must be found after each start, and the need does not allow it"
    return text, 'need.homing = "allowed"'


def _resolution(case: _Case) -> tuple[str, str]:
    text = (
        f"resolution: the permissible error is {case.there:.3g} codes; at least {LEAST_COUNTS:g} are wanted"
    )
    bits = math.ceil(math.log2(case.asked / case.there)) if case.there > 0.0 else 0
    more = f"{bits} more {'bit' if bits == 1 else 'bits'}" if bits else ""
    return text, _either(f"a drive with a ratio {_times(case.asked / case.there)} higher", more)


def _counter(case: _Case) -> tuple[str, str]:
    text = (
        f"counter: from stop to stop there are {case.asked:.4g} counts; the register holds {case.there:.4g}"
    )
    return text + " to either side of its home", "a wider register, or fewer lines"


def _voltage(case: _Case) -> tuple[str, str]:
    level = max(case.sensor.levels, key=_over)
    text = f"voltage: {level.what} is {level.asked:.4g} V, and {level.there:.4g} V is what may be"
    if level.what.startswith("the least supply"):
        text = f"voltage: the sensor needs at least {level.asked:.4g} V, and the feed is {level.there:.4g} V"
    return text, "another feed, or a divider before the pin"


def _over(level: Level) -> float:
    return level.asked / level.there


def _reach(case: _Case) -> tuple[str, str]:
    text = (
        f"reach: from stop to stop it is {case.along(case.asked)}; the wire is {case.along(case.there)} long"
    )
    return text, "a longer wire"


def _error(case: _Case) -> tuple[str, str]:
    unit = case.judged.need.axis.unit
    good, needed = apart(case.asked, case.there, unit)
    text = f"error: calibrated it is good to ±{good}; ±{needed} is needed"
    return text, f'need.error = "{above(case.asked, unit)}"'


def apart(first: float, second: float, unit: Unit) -> tuple[str, str]:
    """Two lengths or angles with as many digits as it takes to tell them apart, three at least."""
    tried = ((show(first, unit, digits=n), show(second, unit, digits=n)) for n in range(3, 16))
    return next((shown for shown in tried if shown[0] != shown[1]), (f"{first:.16g}", f"{second:.16g}"))


def below(value_si: float, unit: Unit) -> str:
    """A length or an angle to four digits, rounded down."""
    number = unit.difference_from_si(value_si)
    step = 10.0 ** (math.floor(math.log10(number)) - 3)
    return f"{math.floor(number / step + 1e-6) * step:.4g} {unit.name}"


def stops_apart(judged: Judged, place: int) -> float:
    """How far apart the stops may be for the shaft's room and the sensor's reach at one choice. [m or rad]"""
    ratio, span = abs(float(judged.drives.ratio[judged.drive[place]])), judged.need.stops_span
    found = [float("inf")]
    for row in np.flatnonzero(missing(judged.asked[:, place], judged.there[:, place]) > 1.0 + SAME):
        asked, there = float(judged.asked[row, place]), float(judged.there[row, place])
        if CHECKS[row] in ("travel", "stops", "wrap"):
            found.append((there - (asked - ratio * span)) / ratio)
        else:
            found.append(span * there / asked)
    return min(found)


def above(value_si: float, unit: Unit) -> str:
    """A length or an angle to three digits, rounded up."""
    number = unit.difference_from_si(value_si)
    step = 10.0 ** (math.floor(math.log10(number)) - 2)
    return f"{math.ceil(number / step - 1e-6) * step:.3g} {unit.name}"


_SAID: dict[str, Callable[[_Case], tuple[str, str]]] = {
    "travel": _travel,
    "stops": _stops,
    "endless motion": _endless,
    "wrap": _wrap,
    "speed": _speed,
    "life": _life,
    "homing": _homing,
    "resolution": _resolution,
    "counter": _counter,
    "voltage": _voltage,
    "reach": _reach,
    "error": _error,
}
