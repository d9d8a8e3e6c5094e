"""The checks of an axis in the safe order, each with what a healthy axis shows."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace

import numpy as np

from anglewright.links.mount import HomedPart
from anglewright.links.protocol import Array
from anglewright.links.pulse_width import PulseWidthPart
from anglewright.links.serial import SerialPart
from anglewright.quantities.spread import SIGMAS_OF_A_LIMIT, Spread
from anglewright.rig import Axis, at_mean, nudged, realise
from anglewright.testsheet.checks import STILL, Check, Stage
from anglewright.testsheet.meter import meter_error
from anglewright.testsheet.model import HEALTHY, SUM, Bench, bench_of, play_codes
from anglewright.testsheet.situation import PAIRS
from anglewright.testsheet.visits import Visit

DRAWS_A = (0.2e-3, 60e-3)  # supply of a sensor with electronics, where the file is silent [A]
MOTOR = "5 to 10 % drive for 0.3 s"
LOOP = "at no more than 20 % drive, a hand on the cut-off"
_CONTACTS = {
    "resistance-ends": "feed contact to ground contact",
    "resistance-low": "signal contact to ground contact",
    "resistance-high": "signal contact to feed contact",
}


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class AxisUnderTest:
    """An axis with its bench and every check of its sheet."""

    bench: Bench
    checks: tuple[Check, ...]
    sense: str

    @property
    def axis(self) -> Axis:
        """The axis."""
        return self.bench.axis

    def check(self, key: str) -> Check:
        """A check by its key.

        Raises
        ------
        KeyError
            There is none of that key.
        """
        return {each.key: each for each in self.checks}[key]


def allowed(check_key: str, value: float, *, unit: str, bench: Bench) -> float:
    """How far a reading may lie from a right prediction of it.

    Parameters
    ----------
    check_key : str
        Key of the check.
    value : float
        What was read, or what is expected. [ohm, V or count]
    unit : str
        ``ohm``, ``V`` or ``count``.
    bench : Bench
        The axis that is tested.

    Returns
    -------
    float
        The error of the meter, of a sum three of them; of a code its noise. [ohm, V or count]

    References
    ----------
    derived
    """
    if unit == "count":
        return bench.slack
    if check_key != SUM:
        return meter_error(value, unit=unit)
    track = getattr(bench.axis.part("sensor"), "track_ohm", None)
    whole = track.nominal if isinstance(track, Spread) else 0.0
    return 2.0 * meter_error(max(whole, abs(value)), unit="ohm") + meter_error(whole / 2.0, unit="ohm")


def sheet_of(axis: Axis) -> AxisUnderTest:
    """The sheet of an axis.

    Parameters
    ----------
    axis : Axis
        The axis.

    Returns
    -------
    AxisUnderTest
        Its checks, in the order in which to make them.

    Notes
    -----
    The limits are those that no healthy axis leaves: every spread of the file at its limit, their effects
    added up, and the greatest error of the meter or the noise of the code on top.

    References
    ----------
    practice
    thevenin
    """
    bench = bench_of(axis)
    middle, half = _healthy(bench)
    limits = {key: (float(middle[k]), float(half[k])) for k, key in enumerate(bench.keys)}
    sense = sense_of(axis)
    checks = (
        *_unplugged(bench, limits),
        *_fed(bench, limits),
        *_plugged(bench, limits),
        *_first_power(axis, sense),
    )
    return AxisUnderTest(bench=bench, checks=checks, sense=sense)


def sense_of(axis: Axis) -> str:
    """What the reading does as the axis moves the positive way: ``rises`` or ``falls``."""
    middle = axis.motion.middle
    slope = np.asarray(realise(axis, at_mean).slope(middle))
    return "rises" if float(np.max(slope)) > 0.0 else "falls"


def _healthy(bench: Bench) -> tuple[Array, Array]:
    """Middle of each reading of a healthy axis, and how far it may lie from it."""
    count = len(bench.unknowns(HEALTHY))
    rows = np.vstack([np.zeros(count), np.eye(count), -np.eye(count)])
    values = bench.predict(HEALTHY, rows)
    moved = np.abs(values[1:] - values[0])
    return values[0], np.sum(np.maximum(moved[:count], moved[count:]), axis=0)


def _number(bench: Bench, limits: Mapping[str, tuple[float, float]], check: Check) -> Check:
    """The check with its middle and limits; none where the pin floats."""
    middle, half = limits[check.key]
    if np.isnan(middle):
        return check
    reach = half + allowed(check.key, middle, unit=check.unit, bench=bench)
    codes = bench.axis.codes
    if check.unit == "count" and codes.period:
        return replace(check, expected=middle, low=middle - reach, high=middle + reach, period=codes.period)
    if check.unit == "count":
        low, high = max(middle - reach, codes.low), min(middle + reach, codes.high)
        return replace(check, expected=middle, low=low, high=high)
    least = None if check.key == SUM else max(middle - reach, 0.0)
    return replace(check, expected=middle, low=least, high=middle + reach)


def _unplugged(bench: Bench, limits: Mapping[str, tuple[float, float]]) -> Iterator[Check]:
    if not bench.has_track:
        yield from _witness()
        return
    where = bench.visits[0].text
    for key in PAIRS:
        do = f"Ohms from {_CONTACTS[key]}, at the sensor's half of the plug, the axis at {where}."
        check = Check(key=key, stage=Stage.UNPLUGGED, do=do, link="sensor", unit="ohm", source="thevenin")
        yield _number(bench, limits, check)
    yield _number(
        bench,
        limits,
        Check(
            key=SUM,
            stage=Stage.UNPLUGGED,
            do=(
                "Worked out: resistance-low + resistance-high - resistance-ends. That is twice the "
                "resistance of the wiper; more is a bad contact."
            ),
            link="sensor",
            unit="ohm",
            source="vrci",
        ),
    )
    yield Check(
        key="resistance-turning",
        stage=Stage.UNPLUGGED,
        do="Ohms from signal to ground, a hand moving the axis slowly from stop to stop: even, or jumps?",
        link="sensor",
        words=("even", "jumps"),
        good=("even",),
    )
    yield from _witness()


def _witness() -> Iterator[Check]:
    yield Check(
        key="witness-line",
        stage=Stage.UNPLUGGED,
        do=(
            "Witness line over shaft, hub and body: whole, parted between shaft and hub (shaft), parted "
            "between body and bracket (body), or none painted?"
        ),
        link="coupling",
        words=("whole", "shaft", "body", "none"),
        good=("whole", "none"),
    )


def _fed(bench: Bench, limits: Mapping[str, tuple[float, float]]) -> Iterator[Check]:
    check = Check(
        key="feed-alone",
        stage=Stage.FED,
        do="Volts from feed contact to ground contact, at the controller's half of the plug.",
        link="wiring",
        unit="V",
    )
    yield _number(bench, limits, check)
    if bench.analogue:
        check = Check(
            key="signal-alone",
            stage=Stage.FED,
            do=_alone(limits["signal-alone"][0]),
            link="wiring",
            unit="count",
            source="thevenin",
        )
        yield _number(bench, limits, check)


def _alone(middle: float) -> str:
    if np.isnan(middle):
        return "What the controller shows with the plug off. Nothing holds this pin: it wanders."
    return (
        "What the controller shows with the plug off: the pull alone. Touch the signal's contact: if the "
        "reading goes far, or does not stand still, write wanders."
    )


def _plugged(bench: Bench, limits: Mapping[str, tuple[float, float]]) -> Iterator[Check]:
    if not bench.has_track:
        yield _supply(bench)
    yield from _frame(bench)
    for visit in bench.visits[1:]:
        if not visit.is_stop:
            yield from _at(bench, limits, visit)
    yield from _at_rest(bench)
    for visit in bench.visits[1:]:
        if visit.is_stop:
            do = f"What the controller shows as a hand brings the axis gently to {visit.text}."
            stop = Check(key=visit.name, stage=Stage.PLUGGED, do=do, link="motion", unit="count")
            yield _number(bench, limits, stop)


def _at(bench: Bench, limits: Mapping[str, tuple[float, float]], visit: Visit) -> Iterator[Check]:
    """Voltage and code at a mark."""
    if bench.analogue:
        do = f"Volts from signal to ground at the back of the plug, the axis at {visit.text}."
        key = f"signal-at-{visit.name}"
        check = Check(key=key, stage=Stage.PLUGGED, do=do, link="wiring", unit="V", source="thevenin")
        yield _number(bench, limits, check)
    do = f"What the controller shows, the axis at {visit.text}."
    check = Check(key=f"code-at-{visit.name}", stage=Stage.PLUGGED, do=do, link="converter", unit="count")
    yield _number(bench, limits, check)


def _at_rest(bench: Bench) -> Iterator[Check]:
    """Noise, then both wiggles; then what counting sensors need."""
    noise = 2.0 * SIGMAS_OF_A_LIMIT * bench.noise + 1.0
    play = play_codes(bench.axis, bench.visits[0].position)
    rows = (
        ("noise", "converter", "Axis at rest: largest less smallest of a hundred readings.", noise),
        (
            "wiggle-coupling",
            "coupling",
            "Largest change, one hand holding the axis, the other rocking coupling and sensor's body.",
            play + noise,
        ),
        (
            "wiggle-cable",
            "wiring",
            "Largest change while the cable is flexed along its length, at plug and at sensor, axis at rest.",
            noise,
        ),
    )
    for key, link, do, high in rows:
        yield _change(key, link, do, high)
    mount = bench.axis.part("mount")
    if isinstance(mount, HomedPart):
        again = _homing(bench) + noise
        yield _change(
            "homing-twice", "mount", "Home the axis twice: how far apart is a mark's reading?", again
        )
        text = "Read at a mark, go to the other end and come back from the same side: the change."
        yield _change("out-and-back", "sensor", text, play + noise)


def _change(key: str, link: str, do: str, high: float) -> Check:
    return Check(
        key=key,
        stage=Stage.PLUGGED,
        do=do,
        link=link,
        unit="count",
        expected=0.0,
        low=0.0,
        high=high,
        is_change=True,
    )


def _homing(bench: Bench) -> float:
    """How far two homings may lie apart. [count]"""
    found = [number for number in bench.axis.numbers if number.field == "repeatability_rad"]
    if not found:
        return 1.0
    q = bench.visits[0].position
    codes = [
        float(np.max(np.asarray(realise(bench.axis, nudged(found[0].key, limit)).unrounded().forward(q))))
        for limit in found[0].variate.limits
    ]
    return abs(codes[1] - codes[0])


def _supply(bench: Bench) -> Check:
    stated = getattr(bench.axis.part("wiring"), "supply_a", None)
    low, high = DRAWS_A
    if isinstance(stated, Spread):
        low, high = 0.5 * stated.limits[0], 2.0 * stated.limits[1]
    return Check(
        key="supply-current",
        stage=Stage.PLUGGED,
        do="Current into the feed contact. Cut it at once if it is above the limit.",
        link="sensor",
        unit="A",
        expected=stated.nominal if isinstance(stated, Spread) else None,
        low=low,
        high=high,
        source="practice" if isinstance(stated, Spread) else "typical-sheets",
    )


def _frame(bench: Bench) -> Iterator[Check]:
    sensor = bench.axis.part("sensor")
    if isinstance(sensor, PulseWidthPart):
        length = 1e6 * sensor.clock_s.nominal * sensor.frame_clocks
        what = f"a pulse in each frame of about {length:.0f} us"
    elif isinstance(sensor, SerialPart):
        what = f"a word of {sensor.bits} bits at each call, its status good"
    else:
        return
    do = f"Is the signal alive: {what}, ten seconds without a gap? alive, damaged or none."
    words = ("alive", "damaged", "none")
    yield Check(key="frame", stage=Stage.PLUGGED, do=do, link="wiring", words=words, good=words[:1])


def _first_power(axis: Axis, sense: str) -> Iterator[Check]:
    """The three signs, each signed with the day on which it was tested."""
    way = axis.motion.positive
    ways = ("rises", "falls", STILL)
    rows = (
        (
            "sign-by-hand",
            "mount",
            f"Motor's power still removed: move the axis the positive way ({way}) by hand. The reading?",
            ways,
            sense,
        ),
        (
            "sign-of-motor",
            "motion",
            f"Motor's power on, load supported: a positive command of {MOTOR}. The reading?",
            ways,
            sense,
        ),
        (
            "sign-of-loop",
            "motion",
            f"Close the loop on a target near by, {LOOP}. Does the axis settle there?",
            ("settles", "runs away", STILL),
            "settles",
        ),
    )
    for key, link, do, words, good in rows:
        yield Check(
            key=key, stage=Stage.FIRST_POWER, do=do, link=link, words=words, good=(good,), signed=True
        )
