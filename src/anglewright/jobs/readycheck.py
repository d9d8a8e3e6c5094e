"""One axis before use: does it stand where it should, at rest, with signs tested and a record of its own?"""

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace

from anglewright.angles import TURN
from anglewright.budget.band import reading_noise, step_size
from anglewright.calibration.diary import DiaryLine, Due, due, signs_tested
from anglewright.calibration.record import CalibrationRecord
from anglewright.calibration.verdict import Verdict
from anglewright.calibration.zeroing import at_rest, steady
from anglewright.findings import Finding, Severity
from anglewright.handover.plan import Fault
from anglewright.jobs.comparing import SHIFT_STOP, WITNESS, shift_severity
from anglewright.jobs.lines import LineInUse, codes_near
from anglewright.jobs.places import Place
from anglewright.jobs.reading import code_shown, read_raw, unhealthy
from anglewright.quantities.showing import show
from anglewright.rig import Axis, Rig, code_period, raw_of_code
from anglewright.rigfile.diary import read_diary
from anglewright.rigfile.records import own_records, record_in_use

ENOUGH = 3  # readings from which noise is looked at (common practice, no source) [1]
FROZEN = 8  # readings in a row that are all the same, and with them ... [1]
LIVELY = 1.0  # ... noise above which that does not happen: (0.38)^8, once in 2000 times [count]

CHECKS = ("reading", "noise", "signs", "record", "due")
"""What is looked at on each axis, in the order in which it is shown."""

READY_KEYS: Mapping[str, str] = {
    "ready-reading": "an axis does not read what it must at the place where the machine stands",
    "ready-noise": "readings at rest spread more than noise does, or do not change at all",
    "ready-signs": "the diary does not say that the three signs were tested since something turned them",
    "ready-record": "no record of this machine, chain and sensor is in use, or it does not meet the need",
    "ready-due": "something was touched, and what that asks for was not done",
}
"""Every key that a finding of `ready` can have, with its meaning in one line."""


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class Standing:
    """One axis at its place: what it must read, what it read, and everything that speaks against its use.

    `position` is the mean of the readings where all of them can be believed, `by_line` whether they can or
    not; None where there are none. [m or rad] `window` is how far it may lie off. [m or rad] `missing` says
    that nobody read the axis.
    """

    axis: Axis
    place: Place
    how: str
    in_use: LineInUse
    window: float
    raws: tuple[float, ...]
    position: float | None
    by_line: float | None
    findings: tuple[Finding, ...]

    @property
    def missing(self) -> bool:
        """Whether no reading was given."""
        return not self.raws

    @property
    def off(self) -> float | None:
        """How far it stands beside its place, by its own reading. [m or rad]"""
        return None if self.position is None else float(self.axis.apart(self.position - self.place.at))

    @property
    def limits(self) -> tuple[float, float]:
        """A and B: lowest and highest raw reading at the place. [raw]"""
        return limits_of(self.axis, self.in_use, at=self.place.at, window=self.window)

    @property
    def ready(self) -> bool:
        """Whether nothing stops its use."""
        return all(finding.severity is not Severity.STOP for finding in self.findings)

    def state(self, check: str) -> Severity | None:
        """The worst there is to say of one of `CHECKS`; None where it is good."""
        if check == "noise" and self.missing:
            return Severity.NOTE
        own = [f.severity for f in self.findings if f.key == f"ready-{check}"]
        return min(own, key=list(Severity).index, default=None)


def limits_of(axis: Axis, in_use: LineInUse, *, at: float, window: float) -> tuple[float, float]:
    """A and B: lowest and highest raw reading at a place.

    Parameters
    ----------
    axis : Axis
        The axis.
    in_use : LineInUse
        The line by which it is read.
    at : float
        The place. [m or rad]
    window : float
        How far off it may lie. [m or rad]

    Returns
    -------
    float, float
        As the controller shows them, rounded to a code inwards; of an endless axis A is the greater where
        the codes come round between the two. [raw]
    """
    codes = sorted(float(in_use.line.backward(at + side * window)) for side in (-1.0, 1.0))
    inner = (float(math.ceil(codes[0])), float(math.floor(codes[1])))
    ends = inner if inner[0] <= inner[1] else (float(round(sum(codes) / 2.0)),) * 2
    if axis.motion.endless:
        period = code_period(axis, axis.codes, in_use.line) or float(axis.codes.count)
        ends = (ends[0] % period, ends[1] % period)
    else:
        ends = (max(ends[0], float(axis.codes.low)), min(ends[1], float(axis.codes.high)))
    low, high = (float(raw_of_code(axis, code)) for code in ends)
    return low, high


def window_at(axis: Axis, in_use: LineInUse, place: Place) -> float:
    """How far the reading of an axis may lie beside a place.

    Parameters
    ----------
    axis : Axis
        The axis.
    in_use : LineInUse
        The line by which it is read, which knows its own interval.
    place : Place
        The place and its standard uncertainty. [m or rad]

    Returns
    -------
    float
        Interval of the reading and of the place together, at least half the permissible error: a zero that
        moved by less than that is no reason not to work. [m or rad]

    References
    ----------
    practice
    """
    both = math.hypot(in_use.half_width_at(place.at), 2.0 * place.within)
    return max(both, SHIFT_STOP * axis.permissible)


def standing(rig: Rig, axis: Axis, place: Place, *, in_use: LineInUse, raws: Sequence[float]) -> Standing:
    """Look at one axis.

    Parameters
    ----------
    rig : Rig
        The machine.
    axis : Axis
        The axis.
    place : Place
        Where it stands. [m or rad]
    in_use : LineInUse
        The line by which it is read.
    raws : sequence of float
        Readings, as the controller shows them. [raw]

    Returns
    -------
    Standing
        What it reads, and what speaks against its use. [m or rad]

    References
    ----------
    practice
    """
    window = window_at(axis, in_use, place)
    rows = read_raw(rig, axis.name, list(raws)).readings if raws else ()
    by_line = [float(in_use.line.forward(code_shown(axis, raw))) for raw in raws]
    bad = unhealthy(rows)
    beyond = any(row.fault is Fault.OUTSIDE_POINTS for row in rows)
    mean = _mean(axis, by_line, place.at) if by_line else None
    seen = Standing(
        axis=axis,
        place=place,
        how=axis.marks[place.name].how if place.name in axis.marks else "",
        in_use=in_use,
        window=window,
        raws=tuple(raws),
        position=None if bad else mean,
        by_line=mean,
        findings=(),
    )
    diary = read_diary(rig, axis)
    own = own_records(rig, axis)
    choice = record_in_use(rig, axis)
    found = (
        *_reading(seen, bad),
        *(_beyond(seen) if beyond else ()),
        *_noise(seen),
        *_signs(seen, diary),
        *_record(seen, choice.record, choice.why),
        *_due(seen, due(diary, own)),
    )
    return replace(seen, findings=found)


def _mean(axis: Axis, positions: Sequence[float], at: float) -> float:
    """Mean of positions, those of an endless axis taken in the turn of the place. [m or rad]"""
    return at + math.fsum(float(axis.apart(q - at)) for q in positions) / len(positions)


def _finding(
    seen: Standing,
    check: str,
    severity: Severity,
    *,
    text: str,
    remedy: str,
    sizes: tuple[float, float] | None = None,
) -> Finding:
    """A finding of one check; `sizes` are what was measured and its limit. [m or rad]"""
    measured, limit = sizes or (None, None)
    unit = seen.axis.unit
    return Finding(
        key=f"ready-{check}",
        severity=severity,
        axis=seen.axis.name,
        link="ready",
        text=text,
        remedy=remedy,
        source="practice",
        measured=None if measured is None else unit.difference_from_si(measured),
        limit=None if limit is None else unit.difference_from_si(limit),
        unit="" if sizes is None else unit.name,
    )


def _reading(seen: Standing, bad: Sequence[str]) -> Iterator[Finding]:
    """Does it read between A and B?"""
    name = seen.axis.name
    if seen.missing:
        text, remedy = f"No reading of {name} was given.", f"Read it: {name}=RAW."
        yield _finding(seen, "reading", Severity.STOP, text=text, remedy=remedy)
    elif bad:
        remedy = f"Read it with expect RIG {name} at hand: a broken lead, or not at {seen.place.words}."
        text = f"{'; '.join(dict.fromkeys(bad))}.{TURN_LOST if _turn_lost(seen) else ''}"
        yield _finding(
            seen, "reading", Severity.STOP, text=text, remedy=PICK_TURN if _turn_lost(seen) else remedy
        )
    elif seen.off is not None:
        yield from _beside(seen, seen.off)


def _beside(seen: Standing, off: float) -> Iterator[Finding]:
    """A reading beside its place, and whether it is a whole turn that was lost."""
    axis, both = seen.axis, math.hypot(seen.in_use.half_width_at(seen.place.at), 2.0 * seen.place.within)
    severity = shift_severity(abs(off), both, axis.permissible)
    if severity is None:
        return
    far = show(abs(off), axis.unit, digits=3)
    side = "above" if off > 0.0 else "below"
    most = show(seen.window, axis.unit, digits=2)
    limit = f"where up to {most} is right" if severity is Severity.STOP else f"up to {most} it is still used"
    text = f"{axis.name} reads {far} {side} {seen.place.words}, {limit}."
    remedy = f"See that it stands at {seen.place.words}. {WITNESS}"
    if _turn_lost(seen):
        text, remedy = f"{text}{TURN_LOST}", PICK_TURN
    yield _finding(seen, "reading", severity, text=text, remedy=remedy, sizes=(abs(off), seen.window))


def _beyond(seen: Standing) -> Iterator[Finding]:
    """A healthy reading where nothing was calibrated."""
    text = f"Nothing was calibrated as far as {seen.place.words}: the code gives no position there."
    remedy = "Calibrate over the whole range, or hand the code over with --beyond-points."
    yield _finding(seen, "reading", Severity.CAUTION, text=text, remedy=remedy)


TURN_LOST = " That is a whole turn: the count of turns was lost when the power went."
PICK_TURN = "Home it, or let the code pick the one turn that lies within the travel."


def _turn_lost(seen: Standing) -> bool:
    """Whether the readings are whole turns off, no more and no less."""
    if seen.by_line is None or not seen.axis.motion.rotary:
        return False
    off = float(seen.axis.apart(seen.by_line - seen.place.at))
    turns = round(off / TURN)
    return turns != 0 and abs(off - turns * TURN) <= seen.window


def _noise(seen: Standing) -> Iterator[Finding]:
    """Do the readings at rest spread as noise does?"""
    axis, raws = seen.axis, seen.raws
    if seen.missing:
        return
    if len(raws) < ENOUGH:
        text = f"{len(raws)} of {ENOUGH} readings: the noise of {axis.name} was not looked at."
        remedy = f"Give {ENOUGH} or more: {axis.name}=RAW,RAW,RAW."
        yield _finding(seen, "noise", Severity.NOTE, text=text, remedy=remedy)
        return
    noise, step = reading_noise(axis, seen.place.at), step_size(axis, seen.place.at)
    shown = [code_shown(axis, raw) for raw in raws]
    codes = codes_near(axis, shown, line=seen.in_use.line, at=seen.place.at)
    if not steady(codes, noise=noise, step=step):
        spread, most = max(codes) - min(codes), at_rest(noise, step=step)
        text = (
            f"The readings of {axis.name} spread over {spread:.3g} counts, and noise over {most:.3g} at most."
        )
        remedy = "Wiggle plug and cable while you watch it; look for a contact, a ground shared with a motor."
        yield _finding(seen, "noise", Severity.STOP, text=text, remedy=remedy)
    elif len(codes) >= FROZEN and noise >= LIVELY * step and min(codes) == max(codes):
        text = f"{len(codes)} readings of {axis.name} are all the same, and its noise is {noise:.2g} counts."
        remedy = "Move it by hand: a reading that does not follow is an old one, or the shaft is out."
        yield _finding(seen, "noise", Severity.STOP, text=text, remedy=remedy)


def _signs(seen: Standing, diary: Sequence[DiaryLine]) -> Iterator[Finding]:
    """Were the three signs tested since something could have turned them?"""
    if signs_tested(diary) is not None:
        return
    name = seen.axis.name
    text = f"The diary of {name} does not say that its signs were tested since they last could have changed."
    remedy = (
        f'Test them, low drive, a hand on the cut-off; then: note RIG {name} "signs tested" --done signs.'
    )
    yield _finding(seen, "signs", Severity.STOP, text=text, remedy=remedy)


def _record(seen: Standing, record: CalibrationRecord | None, why: str) -> Iterator[Finding]:
    """Is there a record of this machine, and is it good enough?"""
    if record is None:
        text, remedy = (
            f"No record of {seen.axis.name} is in use: {why}.",
            f"calibrate RIG {seen.axis.name} FILE.",
        )
        yield _finding(seen, "record", Severity.STOP, text=text, remedy=f"Run: anglewright {remedy}")
        return
    if record.verdict == Verdict.MEETS.value:
        return
    sizes = (record.half_width_95, seen.axis.permissible)
    good, need = (show(size, seen.axis.unit, digits=3) for size in sizes)
    fails = record.verdict == Verdict.FAILS.value
    said = "it does not meet the need" if fails else "it could not be told whether it meets the need"
    text = f"By {record.name} a reading is good to ±{good}, the need is ±{need}: {said}."
    severity = Severity.STOP if fails else Severity.CAUTION
    remedy = "See what its calibration said, and what budget would cure first."
    yield _finding(seen, "record", severity, text=text, remedy=remedy, sizes=sizes)


def _due(seen: Standing, left: Sequence[Due]) -> Iterator[Finding]:
    """Is anything due? The signs have a check of their own."""
    for each in left:
        if each.task != "signs":
            remedy = f"See: anglewright history RIG {seen.axis.name}."
            yield _finding(seen, "due", Severity.STOP, text=each.sentence, remedy=remedy)
