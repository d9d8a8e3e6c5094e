"""Usual changes to an axis, each with what it costs and as a change of its parts or its plan.

Costs are bands in units of money for small quantities, as of 2026, and minutes at the bench; by common
practice, without a source.
"""

from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from anglewright.budget.contributions import Play
from anglewright.budget.states import State
from anglewright.links.code import CodeLine
from anglewright.links.coupling import RigidPart
from anglewright.links.fields import ONE_SIDED
from anglewright.links.protocol import Part
from anglewright.quantities.spread import Spread
from anglewright.rig import Axis
from anglewright.shapes import UnknownShape

AVERAGED, READINGS, POINTS, BITS = 16, 16, 17, 16  # after the change that is named so [1]
LINEARITY, RESISTORS = 0.005, 0.01  # of a servo-grade track; of metal film resistors, relative [1]
PIN, LEVEL = float(np.radians(0.05)), float(np.radians(0.1))  # a pin through plates; a digital level [rad]
PIN_M, CALIPER_M = 0.05e-3, 0.05e-3  # the same for a motion along a line [m]
_FREE_MOTION = ("play", "gap", "backlash")  # names of what a spring takes up


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class Setup:
    """An axis and the state it is used in; `line` is that of the code where the state is one."""

    axis: Axis
    state: State
    line: CodeLine | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Change:
    """One change: what is done, a band of units of money [1], minutes at the bench, what it does to a setup.

    `made` gives the changed setup, or None where there is nothing to change. `but` is what is lost by it.
    """

    text: str
    money: tuple[float, float] = (0.0, 0.0)
    minutes: float
    made: Callable[[Setup], Setup | None]
    but: str = ""

    @property
    def cost(self) -> float:
        """Middle of the band. [1]"""
        return sum(self.money) / 2.0


def _parts(setup: Setup, changed: Callable[[Part], Part]) -> Setup | None:
    """The setup with its parts changed, None where none is."""
    parts = tuple(changed(part) for part in setup.axis.parts)
    if all(new is old for new, old in zip(parts, setup.axis.parts, strict=True)):
        return None
    return replace(setup, axis=replace(setup.axis, parts=parts))


def _plan(setup: Setup, values: Mapping[str, Any]) -> Setup:
    return replace(setup, axis=replace(setup.axis, plan=replace(setup.axis.plan, **values)))


def _with(part: Part, values: Mapping[str, Any]) -> Part:
    """A part with other fields; itself where there are none to change."""
    loose: Any = part
    changed: Part = replace(loose, **values) if values else part
    return changed


def _calibrated(setup: Setup) -> Setup | None:
    return None if setup.state is State.CALIBRATED else replace(setup, state=State.CALIBRATED)


def _zeroed(setup: Setup) -> Setup | None:
    done = setup.state in (State.ZEROED, State.CALIBRATED)
    return None if done else replace(setup, state=State.ZEROED)


def _play_felt(setup: Setup) -> bool:
    """Whether there is any free motion, and the side of approach makes a difference."""
    axis = setup.axis
    lagging = any(number.cured_by == ONE_SIDED and number.variate.limits[1] for number in axis.numbers)
    return lagging and (Play(axis.motion.settles) is not Play.ONE_SIDED or axis.plan.both_sides)


def _one_sided(setup: Setup) -> Setup | None:
    axis = setup.axis
    if not _play_felt(setup):
        return None
    motion = replace(axis.motion, settles=Play.ONE_SIDED.value)
    return _plan(replace(setup, axis=replace(axis, motion=motion)), {"approach": "one side"})


def _without_free_motion(part: Part) -> Part:
    """A drive or coupling, stages inside it too, whose play a spring takes up."""
    stages = getattr(part, "stages", None)
    if stages is not None:
        held = tuple(_without_free_motion(stage) for stage in stages)
        return part if held == stages else _with(part, {"stages": held})
    free = [number for number in part.numbers if number.name in _FREE_MOTION and number.variate.limits[1]]
    return _with(part, {number.field: Spread(nominal=0.0) for number in free})


def _taken_up(setup: Setup, rooms: tuple[str, ...]) -> Setup | None:
    """The play of some rooms taken up; None where it is not felt anyway."""
    if not _play_felt(setup):
        return None
    return _parts(setup, lambda part: _without_free_motion(part) if part.room in rooms else part)


def _preloaded(setup: Setup) -> Setup | None:
    return _taken_up(setup, ("drive", "coupling"))


def _tight_drive(setup: Setup) -> Setup | None:
    return _taken_up(setup, ("drive",))


def _clamp_hub(setup: Setup) -> Setup | None:
    def changed(part: Part) -> Part:
        lags = part.room == "coupling" and any(number.cured_by == ONE_SIDED for number in part.numbers)
        return RigidPart() if lags else part

    return _parts(setup, changed) if _play_felt(setup) else None


def _averaging(setup: Setup) -> Setup | None:
    def changed(part: Part) -> Part:
        fewer = hasattr(part, "average") and (getattr(part, "average", None) or 1) < AVERAGED
        return _with(part, {"average": AVERAGED} if fewer else {})

    return _parts(setup, changed)


def _more_readings(setup: Setup) -> Setup | None:
    if setup.state is not State.CALIBRATED or setup.axis.plan.readings >= READINGS:
        return None
    return _plan(setup, {"readings": READINGS})


def _more_points(setup: Setup) -> Setup | None:
    if setup.state is not State.CALIBRATED or setup.axis.plan.points >= POINTS:
        return None
    return _plan(setup, {"points": POINTS})


def _at_most(spread: Spread, half: float) -> Spread:
    """A spread about the same middle that is at most so wide."""
    return (
        spread
        if spread.half_width <= half
        else Spread(nominal=spread.nominal, below=half, above=half, persistence=spread.persistence)
    )


def _better_reference(setup: Setup) -> Setup | None:
    reference = setup.axis.plan.reference
    good = LEVEL if setup.axis.motion.rotary else CALIPER_M
    better = replace(
        reference, per_point=_at_most(reference.per_point, good), shared=_at_most(reference.shared, good)
    )
    same = setup.state is not State.CALIBRATED or better == reference
    return None if same else _plan(setup, {"reference": better})


def _better_mark(setup: Setup) -> Setup | None:
    axis, name = setup.axis, setup.axis.plan.zero_at
    mark = axis.mark(name)
    at = _at_most(mark.at, PIN if axis.motion.rotary else PIN_M)
    if setup.state is not State.ZEROED or at is mark.at:
        return None
    return replace(setup, axis=replace(axis, marks={**axis.marks, name: replace(mark, at=at)}))


def _better_track(setup: Setup) -> Setup | None:
    def changed(part: Part) -> Part:
        shape = getattr(part, "shape", None) if part.room == "sensor" else None
        worse = isinstance(shape, UnknownShape) and shape.limit > LINEARITY
        return _with(part, {"shape": UnknownShape(limit=LINEARITY)} if worse else {})

    return _parts(setup, changed)


def _ratiometric(setup: Setup) -> Setup | None:
    def changed(part: Part) -> Part:
        own = part.room == "converter" and getattr(part, "reference_v", None) is not None
        return _with(part, {"reference_v": None} if own else {})

    return _parts(setup, changed)


def _metal_film(setup: Setup) -> Setup | None:
    def better(spread: Spread) -> Spread:
        return _at_most(spread, RESISTORS * abs(spread.nominal))

    def changed(part: Part) -> Part:
        fields = ("series_ohm", "pull_down_ohm", "pull_up_ohm", "upper_ohm", "lower_ohm")
        old = {name: getattr(part, name, None) for name in fields} if part.room == "wiring" else {}
        found = {name: spread for name, spread in old.items() if isinstance(spread, Spread)}
        return _with(part, {name: better(each) for name, each in found.items() if better(each) is not each})

    return _parts(setup, changed)


def _no_pull(setup: Setup) -> Setup | None:
    def changed(part: Part) -> Part:
        pulls = ("pull_down_ohm", "pull_up_ohm") if part.room == "wiring" else ()
        return _with(part, {name: None for name in pulls if getattr(part, name, None) is not None})

    return _parts(setup, changed)


def _more_bits(setup: Setup) -> Setup | None:
    """More codes; noise and offset keep their size in volts, so they grow in counts."""

    def changed(part: Part) -> Part:
        bits = getattr(part, "bits", None) if part.room == "converter" else None
        if bits is None or bits >= BITS or not hasattr(part, "offset_counts"):
            return part
        spreads = {name: getattr(part, name, None) for name in ("noise_counts", "offset_counts")}
        grown = {name: _times(each, 2.0 ** (BITS - bits)) for name, each in spreads.items() if each}
        return _with(part, {"bits": BITS, **grown})

    return _parts(setup, changed)


def _times(spread: Spread, factor: float) -> Spread:
    return replace(
        spread,
        nominal=spread.nominal * factor,
        below=spread.below * factor,
        above=spread.above * factor,
    )


CHANGES = (
    Change(text="set the offset of the data sheet's line at the mark", minutes=5, made=_zeroed),
    Change(text="calibrate it by its plan", minutes=45, made=_calibrated),
    Change(
        text="average 16 conversions into one reading",
        minutes=10,
        made=_averaging,
        but="each reading takes 16 times as long",
    ),
    Change(
        text="take the pull off",
        minutes=10,
        made=_no_pull,
        but="a broken wire is then not seen by its level",
    ),
    Change(text="always come to rest from the same side, in calibrating too", minutes=15, made=_one_sided),
    Change(text="take 16 readings at each point of the calibration", minutes=20, made=_more_readings),
    Change(text="calibrate again, at 17 points", minutes=60, made=_more_points),
    Change(
        text="metal film resistors of 1 % for series and pull", money=(0.2, 1.0), minutes=15, made=_metal_film
    ),
    Change(
        text="let the converter refer to the sensor's feed", money=(0.0, 2.0), minutes=20, made=_ratiometric
    ),
    Change(
        text="a spring that holds drive and coupling to one flank",
        money=(1.0, 5.0),
        minutes=30,
        made=_preloaded,
        but="its torque must exceed the sensor's friction everywhere",
    ),
    Change(text="a pin through both plates as the mark", money=(1.0, 5.0), minutes=30, made=_better_mark),
    Change(text="a separate converter of 16 bit", money=(5.0, 20.0), minutes=60, made=_more_bits),
    Change(text="a clamp hub or a coupling without play", money=(5.0, 25.0), minutes=30, made=_clamp_hub),
    Change(text="a drive without backlash", money=(10.0, 40.0), minutes=60, made=_tight_drive),
    Change(
        text="a digital level or caliper as the reference",
        money=(20.0, 60.0),
        minutes=15,
        made=_better_reference,
    ),
    Change(text="a servo-grade track, linearity 0.5 %", money=(30.0, 90.0), minutes=45, made=_better_track),
)
"""In the order in which several of them are made."""
