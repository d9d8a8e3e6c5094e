"""Suspicions about the points of a calibration in words: what each says and what to do."""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass

from anglewright.calibration.layout import Layout
from anglewright.calibration.leftout import OPTION, number_of, out_of_fit
from anglewright.calibration.points import CalibrationPoint
from anglewright.calibration.suspicion import Suspicion
from anglewright.quantities.showing import show
from anglewright.rig import Axis

CHECK_KEYS: Mapping[str, str] = {
    "unsigned": "the reference lost its sign: the points make a V",
    "backwards": "the reading falls where the rig file says that it rises, or the other way round",
    "wrap-inside": "the reading jumps from end to end inside the motion: the wrap, or a track's gap",
    "swapped": "two rows that each hold the reading of the other",
    "averaged-wrap": "a point that is a plain mean of readings from both sides of the wrap",
    "dead-gap": "points in the gap at 0/360 of a track, where its output means nothing",
    "fold": "the reading turns back while the axis goes on: two positions read the same",
    "end-zones": "the reading stands still at both ends of the motion",
    "end-code": "points at an end code of the converter, which means at or beyond",
    "clipped": "the reading stands still at one end, short of the end of the converter: clipped in scaling",
    "run-out": "codes that come round stand at the last one, short of the wrap",
    "dead-rows": "rows that repeat a reading although the axis moved on",
    "taper": "the reading at mid-travel is that of a logarithmic track",
    "bent-top": "the slope changes towards the top of the converter: one that is not straight near its feed",
    "two-boards": "two sensors, boards or supplies in one file",
    "step": "the zero steps while points are taken: something slipped",
    "odd-point": "one point that lies off the rest, by more than the scatter explains",
    "once-per-turn": "error once a turn: a magnet or disc off its centre",
    "twice-per-turn": "error twice a turn: a tilted magnet or a bent joint",
    "rounded-scale": "the reading comes round after another number than the rig file says",
    "scale": "the slope is known from the parts, and the points have another",
    "zero-off": "the zero lies farther from where the mount puts it than the parts explain",
    "turned-round": "readings lead instead of lagging: the sides of approach are turned round",
    "beyond-motion": "points lie beyond the ends of the motion",
    "two-points": "a calibration of two positions",
    "few-points": "fewer than five positions",
    "coverage": "the points leave out more than a fifth of the motion at its ends",
    "gap": "half of the motion lies between two neighbouring positions",
    "coarse-reference": "the reference is not three times better than the need",
}
"""Every key that a check of the points can have, with its meaning in one line."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Bench:
    """What the words need: the axis, and the layout of its points."""

    axis: Axis
    layout: Layout
    points: Sequence[CalibrationPoint]

    def at(self, position: float) -> str:
        """A position as it is shown."""
        return show(position, self.axis.unit, digits=4)

    def size(self, value: float) -> str:
        """A difference as it is shown, without its sign."""
        return show(abs(value), self.axis.unit, digits=2)

    def point(self, number: int) -> str:
        """A point by its number from 1 and its position."""
        return f"point {self.number(number)} at {self.at(self.points[number].reference)}"

    def number(self, place: int) -> int:
        """Number from 1 of the point at a place, as it was taken. [1]"""
        return number_of(self.points, place)

    def without(self, places: Sequence[int]) -> str:
        """The option that leaves some points out."""
        return f"{OPTION} {','.join(str(self.number(place)) for place in places)}"


Words = Callable[[Suspicion, Bench], tuple[str, str]]

BETTER_REFERENCE = "Read it between its marks, or take a better reference: a digital level, pins in holes."


def _capital(text: str) -> str:
    return text[0].upper() + text[1:]


def _stretch(bench: Bench, low: float, high: float) -> str:
    return f"At {bench.at(low)}" if low == high else f"From {bench.at(low)} to {bench.at(high)}"


def _unsigned(found: Suspicion, bench: Bench) -> tuple[str, str]:
    count, whole = len(found.points), len(bench.points)
    text = (
        f"The points make a V: the reference lost its sign at {count} of {whole}, "
        f"the farthest {bench.at(found.measured)}."
    )
    return text, "Put a minus before them, or set the level to show both signs."


def _backwards(found: Suspicion, bench: Bench) -> tuple[str, str]:
    rises = bench.layout.given.size > 0.0
    did, should = ("falls", "rises") if rises else ("rises", "falls")
    text = f"It reads backwards: the reading {did} where the rig file says that it {should}."
    other = "falls" if rises else "rises"
    return text, (
        f'Power off: turn round the two outer leads of a track, or write mount.output = "{other}"; with a '
        "sensor facing the other way that is right. Then test the three signs before the loop is closed."
    )


def _wrap_inside(found: Suspicion, bench: Bench) -> tuple[str, str]:
    low, high, before, after = found.others
    seen = f"Between {bench.at(low)} and {bench.at(high)} the reading jumps from {before:.4g} to {after:.4g}"
    if low == high:
        seen = f"At {bench.at(low)} the readings of one point lie at both ends"
    text = f"{seen}: it comes round inside the motion, or the gap of a track lies there."
    return text, "Turn the sensor in its mount until the middle of the motion reads half of full output."


def _swapped(found: Suspicion, bench: Bench) -> tuple[str, str]:
    first, second = (bench.point(number) for number in found.points)
    text = f"{_capital(first)} and {second} each read what the other should: they were swapped."
    return text, "Put the two readings right, or take both points again."


def _averaged_wrap(found: Suspicion, bench: Bench) -> tuple[str, str]:
    number = found.points[0]
    raw = bench.points[number].raw
    text = (
        f"{_capital(bench.point(number))} lies {bench.size(found.measured)} off, just where the reading "
        f"comes round: its {raw:.6g} is a plain mean of readings from both sides of the wrap."
    )
    return text, "Write down the single readings, not their mean: the program takes the mean round the turn."


def _dead_gap(found: Suspicion, bench: Bench) -> tuple[str, str]:
    places = ", ".join(bench.at(bench.points[number].reference) for number in found.points[:4])
    text = f"At {places} the sensor stands in the gap of its track, where its output means nothing."
    leave = f"Leave these points out ({bench.without(found.points)})"
    return text, f"{leave}, and turn the sensor until its gap lies outside the motion."


def _fold(found: Suspicion, bench: Bench) -> tuple[str, str]:
    text = (
        f"From {bench.at(found.others[0])} on the reading turns back by {bench.size(found.measured)} "
        "while the axis goes on: two positions read the same."
    )
    return text, "Look for a linkage over its dead centre, a track that ends, or a misread reference."


def _end_zones(found: Suspicion, bench: Bench) -> tuple[str, str]:
    a, b, c, d = sorted(found.others[:4])
    text = (
        f"The reading stands still from {bench.at(a)} to {bench.at(b)} and from {bench.at(c)} to "
        f"{bench.at(d)}: the track has end zones, or ends before the motion does."
    )
    return text, "Measure from where it begins to move to where it stops, or take less of the motion."


def _end_code(found: Suspicion, bench: Bench) -> tuple[str, str]:
    a, b = sorted(found.others[:2])
    text = f"{_stretch(bench, a, b)} the reading stands at an end code, which means at or beyond."
    return text, "Turn the sensor in its mount, look at feed and reference of the converter, or leave out."


def _clipped(found: Suspicion, bench: Bench) -> tuple[str, str]:
    a, b = sorted(found.others[:2])
    text = (
        f"{_stretch(bench, a, b)} the reading stands at {found.others[2]:.6g}, which is no end of the "
        "converter: the number was clipped where it was scaled, or the sensor was at its stop."
    )
    return text, "Log the raw reading before any scaling; if it stands still too, look at the coupling."


def _run_out(found: Suspicion, bench: Bench) -> tuple[str, str]:
    text = (
        f"{_capital(bench.point(found.points[0]))} reads {bench.points[found.points[0]].raw:.6g}, the end of "
        f"its codes, {bench.size(found.measured)} short of where the others lead: the codes ran out."
    )
    return text, "Take a pulse as a share of its whole period; else look for a clock or a scale that is off."


def _dead_rows(found: Suspicion, bench: Bench) -> tuple[str, str]:
    first = bench.point(found.points[0])
    count = len(found.points)
    rows = "1 point repeats" if count == 1 else f"{count} points repeat"
    text = f"{rows} the reading of the one before although the axis moved on, first {first}."
    return text, "Take them again: the log held an old value, or the shaft did not turn with the axis."


def _taper(found: Suspicion, bench: Bench) -> tuple[str, str]:
    text = (
        f"At mid-travel the reading has done {100.0 * found.measured:.0f} % of its way: a logarithmic track, "
        "or a load at the wiper that the rig file does not know."
    )
    return text, "Measure ohms at mid-travel, connector off: half is linear, 10 to 20 % is not."


def _bent_top(found: Suspicion, bench: Bench) -> tuple[str, str]:
    knee, share, times = found.others
    text = (
        f"From {bench.at(knee)} on, at {100.0 * share:.0f} % of all codes, each step counts {times:.2f} "
        f"times as much as below it, {bench.size(found.measured)} at the end, and the parts leave "
        f"{bench.size(found.limit)}: a converter that is not straight near its feed does that, or a track."
    )
    return text, _BENT_TOP


_BENT_TOP = (
    "Hold a meter beside the counts at three places: volts that go straight on name the converter. Then turn "
    "the sensor, or divide its swing, until it ends below; or follow it with --model best, never by a line."
)


def _two_boards(found: Suspicion, bench: Bench) -> tuple[str, str]:
    remedy = "Calibrate each sensor and each board from a file of its own."
    if found.others:
        text = (
            f"The readings of one position fall into two heaps {bench.size(found.measured)} apart: "
            "two boards or sensors by turns in one file."
        )
        return text, remedy
    text = (
        f"From {bench.point(found.points[0])} on the slope is another, by {bench.size(found.measured)} at "
        "the ends: two boards or sensors in one file, or another supply."
    )
    return text, remedy


def _step(found: Suspicion, bench: Bench) -> tuple[str, str]:
    side = "more" if found.measured > 0.0 else "less"
    text = (
        f"From {bench.point(found.points[0])} on every reading shows {bench.size(found.measured)} {side} "
        "than before while the slope holds: a hub slipped, a body turned or a tooth jumped in the run."
    )
    return text, "Tighten it, draw a witness line, and take the whole run again: no line fits both halves."


def _odd_point(found: Suspicion, bench: Bench) -> tuple[str, str]:
    side = "more" if found.measured > 0.0 else "less"
    point = bench.point(found.points[0])
    text = f"{_capital(point)} shows {bench.size(found.measured)} {side} than the others make of it."
    return text, out_of_fit(bench.number(found.points[0]))


def _once(found: Suspicion, bench: Bench) -> tuple[str, str]:
    text = f"The error comes round once per turn of the sensor, {_high(found, bench)}"
    return text, f"{_STATUS} then centre magnet or disc on the shaft: it is off its centre or loose."


def _twice(found: Suspicion, bench: Bench) -> tuple[str, str]:
    text = f"The error comes round twice per turn of the sensor, {_high(found, bench)}"
    return text, f"{_STATUS} then look for a tilted or axial magnet, or a joint at an angle in the drive."


_STATUS = "Read the sensor's status of its field first, where it has one;"


def _high(found: Suspicion, bench: Bench) -> str:
    high = f"{bench.size(found.measured)} high"
    if not found.limit:
        return f"{high}."
    beyond = "beyond" if found.measured > found.limit else "within"
    return f"{high}, {beyond} the {bench.size(found.limit)} that its data sheet allows."


def _rounded_scale(found: Suspicion, bench: Bench) -> tuple[str, str]:
    times = found.others[0]
    text = (
        f"At the wrap the reading steps by {bench.size(found.measured)} too much: it comes round after "
        f"{times:.5f} times the period of the rig file ({360.0 * times:.3f} for 360)."
    )
    if abs(times - 1.0) < 0.01:
        return text, "A rounded factor does that: log raw counts, or write 360/16384 and not 0.022."
    return text, "Another clock or count does that: of pulses take on/(on + off), not the high time alone."


def _scale(found: Suspicion, bench: Bench) -> tuple[str, str]:
    ratio = found.others[0]
    text = (
        f"The reading changes {ratio:.5f} times as much as the data sheet says, {bench.size(found.measured)} "
        f"at the ends, and the parts leave {bench.size(found.limit)}: counts and teeth fix its scale."
    )
    return text, "Look at the scale of the reference, the counts per turn and the teeth, then take it again."


def _turned_round(found: Suspicion, bench: Bench) -> tuple[str, str]:
    text = (
        f"The readings lead by {bench.size(found.measured)} between the way up and the way down; play can "
        "only make them lag."
    )
    return text, "Check that the sides of approach are not turned round, and that nothing slipped in between."


def _zero_off(found: Suspicion, bench: Bench) -> tuple[str, str]:
    axis = bench.axis
    side = "more" if found.measured > 0.0 else "less"
    text = (
        f"All readings show {bench.size(found.measured)} {side} than the mount of the rig file gives, and "
        f"the parts leave {bench.size(found.limit)}: the reference was not zeroed, or the shaft is clamped "
        "elsewhere."
    )
    at = f"'{axis.clamped_at}'" if axis.clamped_at else "a mark"
    return text, (
        f"Bring the axis to {at} and read the reference there: does it show what the rig file says? If it "
        "does, mend the mount in the rig file, for its ends may now lie elsewhere."
    )


def _beyond_motion(found: Suspicion, bench: Bench) -> tuple[str, str]:
    low, high = found.others
    motion = bench.axis.motion
    text = (
        f"The points reach from {bench.at(low)} to {bench.at(high)}, and the motion goes from "
        f"{bench.at(motion.low)} to {bench.at(motion.high)}: {bench.size(found.measured)} beyond it."
    )
    return (
        text,
        "Was the reference zeroed at a mark, is its sign right, is this the axis? Else mend the motion.",
    )


def _two_points(found: Suspicion, bench: Bench) -> tuple[str, str]:
    text = "Two positions fix a line and leave nothing that could show it wrong at mid-travel"
    (bow,) = found.others
    may = f": by the data sheets of the parts it may be {bench.size(bow)} off there" if bow else ""
    return f"{text}{may}.", "Take 5 or more, better 9, going up and coming down."


def _few_points(found: Suspicion, bench: Bench) -> tuple[str, str]:
    text = f"There are {found.measured:.0f} positions; with fewer than 5 there is little to judge by."
    return text, "Take 5 or more, better 9, going up and coming down."


def _coverage(found: Suspicion, bench: Bench) -> tuple[str, str]:
    low, high = found.others
    motion = bench.axis.motion
    text = (
        f"The points span {bench.at(low)} to {bench.at(high)} of a motion from {bench.at(motion.low)} to "
        f"{bench.at(motion.high)}: beyond them nothing is known."
    )
    return text, "Take points near both ends."


def _gap(found: Suspicion, bench: Bench) -> tuple[str, str]:
    low, high = found.others
    text = f"Between {bench.at(low)} and {bench.at(high)} there is no point, and that is half of the motion."
    return text, "Take points in between."


def _coarse_reference(found: Suspicion, bench: Bench) -> tuple[str, str]:
    text = (
        f"The reference is known to ±{bench.size(found.measured)}, and a third of the need is "
        f"±{bench.size(found.limit)}: its own error hides what is looked for."
    )
    return text, "Take a better reference: a digital level, pins in holes, a dial at a longer radius."


WORDS: Mapping[str, Words] = {
    "unsigned": _unsigned,
    "backwards": _backwards,
    "wrap-inside": _wrap_inside,
    "swapped": _swapped,
    "averaged-wrap": _averaged_wrap,
    "dead-gap": _dead_gap,
    "fold": _fold,
    "end-zones": _end_zones,
    "end-code": _end_code,
    "clipped": _clipped,
    "run-out": _run_out,
    "dead-rows": _dead_rows,
    "taper": _taper,
    "bent-top": _bent_top,
    "two-boards": _two_boards,
    "step": _step,
    "odd-point": _odd_point,
    "once-per-turn": _once,
    "twice-per-turn": _twice,
    "rounded-scale": _rounded_scale,
    "scale": _scale,
    "zero-off": _zero_off,
    "turned-round": _turned_round,
    "beyond-motion": _beyond_motion,
    "two-points": _two_points,
    "few-points": _few_points,
    "coverage": _coverage,
    "gap": _gap,
    "coarse-reference": _coarse_reference,
}
"""Sentence and remedy of each suspicion, by key."""
