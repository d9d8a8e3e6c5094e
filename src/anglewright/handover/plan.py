"""What is handed over, before any language is chosen: the curve, the valid band, where it comes from.

The rule that says whether a raw value may be believed is `judge`; the program's own reading of a
code and every emitted language follow this one copy.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from enum import IntEnum
from math import isfinite

from anglewright.errors import Problem, RangeError, nearest
from anglewright.handover.cautions import MECHANISMS
from anglewright.handover.identifiers import is_stem, stem_of
from anglewright.handover.points import LEAST_CODES, Points, points_of
from anglewright.links.code import CodeLine, Corrections
from anglewright.links.protocol import CodeRange

STATES = ("datasheet", "zeroed", "calibrated")
MOST_BITS = 24
"""More bits than this do not fit the exact whole numbers of a 32-bit float."""
_INT32 = (1 << 31) - 1  # largest code of a 32-bit counter [count]


class Fault(IntEnum):
    """Why a raw value is not a position; the number is what the emitted code returns."""

    OK = 0
    BELOW_BAND = 1
    ABOVE_BAND = 2
    NOT_A_CODE = 3
    OUTSIDE_POINTS = 4

    @property
    def text(self) -> str | None:
        """The fault in words, None when there is none."""
        return _TEXTS[self]


_TEXTS = {
    Fault.OK: None,
    Fault.BELOW_BAND: "below band",
    Fault.ABOVE_BAND: "above band",
    Fault.NOT_A_CODE: "not a code",
    Fault.OUTSIDE_POINTS: "outside the calibrated points",
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Provenance:
    """Where the numbers of a plan come from.

    Attributes
    ----------
    state : str
        'datasheet', 'zeroed' or 'calibrated'.
    record : str or None
        Name of the calibration record, None when there is none.
    date : str
        Day of the hand-over or of the record, as text.
    chain_hash : str
        Fingerprint of the chain the numbers belong to.
    version : str
        Version of the program.
    based_on : str
        Name of the calibration whose slope a moved zero keeps; empty for any other record.
    """

    state: str
    record: str | None
    date: str
    chain_hash: str
    version: str
    based_on: str = ""

    @property
    def rests_on(self) -> str:
        """The record, of a moved zero with the calibration behind it; else the state."""
        if self.record is None:
            return self.state
        if self.based_on:
            return f"zero {self.record} on calibration {self.based_on}"
        return f"calibration {self.record}"


@dataclass(frozen=True, slots=True, kw_only=True)
class HandoverPlan:
    """One axis, ready to be written in any language: position = offset + slope * raw + corrections.

    Attributes
    ----------
    rig : str
        Name of the rig, as the user wrote it.
    axis : str
        Name of the axis, as the user wrote it.
    unit : str
        Unit of the position, such as 'deg' or 'mm'.
    codes : CodeRange
        The codes that the converter can give. [1]
    slope : float
        Position per count. [axis unit/count]
    offset : float
        Position at code 0, the half count of the code's middle already in it. [axis unit]
    low_code : int
        Lowest code a healthy sensor can give, itself valid. [1]
    high_code : int
        Highest code a healthy sensor can give, itself valid. [1]
    when_unpowered : str
        What the mechanism does with the motor off: 'holds', 'sinks', 'drops' or 'springs'.
    fault_action : str
        What the controller must do when the reading cannot be trusted.
    hold_off_ms : float
        How long a fault may last before the fault action starts. [ms]
    provenance : Provenance
        Where the numbers come from.
    half_width_95 : float
        Half-width of the 95 % interval of the position. [axis unit]
    cautions : tuple of str
        Cautions of this axis, beyond those that stand in every hand-over.
    stem : str
        Stem of file and identifier names; made from the axis name when left empty.
    turn : float or None
        One turn of an endless axis, None where it has ends. [axis unit]
    turn_from : float
        Lower end of the one turn in which an endless axis is reported. [axis unit]
    corrections : Corrections or None
        What is added to the line, None where the line is enough. [axis unit]
    domain : tuple of float, or None
        Lowest and highest code that the calibration covers, None where it is not known. [count]
    beyond_points : bool
        True where codes outside the domain are taken as positions all the same.

    Raises
    ------
    RangeError
        The converter, the curve, the band or a text cannot be handed over; all that is wrong together.
    """

    rig: str
    axis: str
    unit: str
    codes: CodeRange
    slope: float
    offset: float
    low_code: int
    high_code: int
    when_unpowered: str
    fault_action: str
    hold_off_ms: float
    provenance: Provenance
    half_width_95: float
    cautions: tuple[str, ...] = ()
    stem: str = ""
    turn: float | None = None
    turn_from: float = 0.0
    corrections: Corrections | None = None
    domain: tuple[float, float] | None = None
    beyond_points: bool = False

    def __post_init__(self) -> None:
        """Fill in the stem, then refuse a plan that no controller could use."""
        if not self.stem:
            object.__setattr__(self, "stem", stem_of(self.axis))
        problems = tuple(_problems(self))
        if problems:
            raise RangeError(problems)

    @property
    def top_code(self) -> int:
        """Highest code the converter can give. [1]"""
        return self.codes.high

    @property
    def lowest_valid(self) -> int:
        """Lowest code taken as a position: never an end code that means "at or beyond". [1]"""
        return max(self.low_code, self.codes.lowest_valid)

    @property
    def highest_valid(self) -> int:
        """Highest code taken as a position: never an end code that means "at or beyond". [1]"""
        return min(self.high_code, self.codes.highest_valid)

    @property
    def middle_code(self) -> int:
        """Code in the middle of the valid band, rounded down. [1]"""
        return (self.lowest_valid + self.highest_valid) // 2

    @property
    def points(self) -> Points | None:
        """The calibrated codes, None where every code of the valid band is taken. [1]"""
        if self.domain is None or self.beyond_points:
            return None
        return points_of(self.domain, band=(self.lowest_valid, self.highest_valid), period=self._period)

    @property
    def _period(self) -> float | None:
        """After how many codes an endless axis comes round. [1]"""
        if self.turn is None:
            return None
        return float(self.codes.period or self.turn / abs(self.slope))

    @property
    def travel(self) -> float:
        """Size of the travel that the valid band covers. [axis unit]"""
        if self.corrections is None:
            return abs(self.slope) * (self.highest_valid - self.lowest_valid)
        return abs(self.on_curve(self.highest_valid) - self.on_curve(self.lowest_valid))

    def on_curve(self, raw: int) -> float:
        """Position on the curve, of an endless axis in whatever turn. [axis unit]"""
        straight = self.offset + self.slope * raw
        return straight if self.corrections is None else straight + float(self.corrections.at(float(raw)))


def judge(raw: int, plan: HandoverPlan) -> Fault:
    """Whether a raw value may be believed, and if not, why.

    Parameters
    ----------
    raw : int
        What the controller read. [1]
    plan : HandoverPlan
        The plan of the axis.

    Returns
    -------
    Fault
        `Fault.OK` when `raw` is a position.

    Notes
    -----
    A value outside the converter's codes did not come from it. The two end codes of an analogue one stand
    for everything at or beyond the end of the scale, so that they are never a position, even where a
    band reaches them. The band cannot see a shaft that has come out of its coupling: that freezes
    the reading at a legal code. A code within the band where nothing was calibrated has a position that
    nobody measured: it is a fault of its own unless the plan allows it.

    References
    ----------
    derived

    Examples
    --------
    An open wiper pulled down to code 3 is seen, because the mechanism's stop is at code 421:

    >>> plan = example_plan()
    >>> judge(3, plan)
    <Fault.BELOW_BAND: 1>
    >>> judge(421, plan), judge(-1, plan).text
    (<Fault.OK: 0>, 'not a code')
    """
    if raw < plan.codes.low or raw > plan.codes.high:
        return Fault.NOT_A_CODE
    if raw < plan.lowest_valid:
        return Fault.BELOW_BAND
    if raw > plan.highest_valid:
        return Fault.ABOVE_BAND
    points = plan.points
    return Fault.OK if points is None or points.hold(raw) else Fault.OUTSIDE_POINTS


def position(raw: int, plan: HandoverPlan) -> float | None:
    """Position that belongs to a raw value, None when the value is not to be believed.

    Parameters
    ----------
    raw : int
        What the controller read. [1]
    plan : HandoverPlan
        The plan of the axis.

    Returns
    -------
    float or None
        Position of the axis. [axis unit]

    References
    ----------
    derived

    Examples
    --------
    At half a degree a count from -10 degrees, code 600 is 290 degrees:

    >>> plan = example_plan()
    >>> position(600, plan), position(0, plan)
    (290.0, None)
    """
    if judge(raw, plan) is not Fault.OK:
        return None
    found = plan.on_curve(raw)
    return found if plan.turn is None else plan.turn_from + (found - plan.turn_from) % plan.turn


def example_plan() -> HandoverPlan:
    """A small invented plan for examples: 12 bit, -10 deg at code 0, half a degree a count.

    Returns
    -------
    HandoverPlan
        A plan of the simulated rover's shoulder with round numbers.

    Examples
    --------
    Its band holds the codes of the demo's shoulder:

    >>> example_plan().lowest_valid, example_plan().highest_valid
    (421, 3674)
    """
    return HandoverPlan(
        rig="Vine rover (simulated)",
        axis="shoulder",
        unit="deg",
        codes=CodeRange.of_bits(12),
        slope=0.5,
        offset=-10.0,
        low_code=421,
        high_code=3674,
        when_unpowered="drops",
        fault_action="Brake and hold. Do not let the motor coast.",
        hold_off_ms=30.0,
        provenance=Provenance(
            state="datasheet", record=None, date="2025-03-01", chain_hash="0" * 12, version="0.1.0"
        ),
        half_width_95=1.9,
    )


def _problems(plan: HandoverPlan) -> Iterator[Problem]:
    """Everything that keeps a plan from being handed over."""
    where = f"axis '{plan.axis}', hand-over"
    span = plan.high_code - plan.low_code
    if plan.codes.count < 4 or span > 1 << MOST_BITS or max(-plan.codes.low - 1, plan.codes.high) > _INT32:
        most = 1 << MOST_BITS
        limit = f"the code handed over takes 4 codes or more, a band of at most {most}, within 32 bit"
        found = f"the valid band spans {span} of the converter's {plan.codes.count} codes"
        yield Problem(where, found, limit, "Correct the converter.")
    elif plan.lowest_valid >= plan.highest_valid:
        found = f"the valid band runs from code {plan.low_code} to {plan.high_code}"
        codes = f"of the codes {plan.codes.low} to {plan.codes.high}"
        limit = f"{codes} it holds fewer than two that can be a position"
        yield Problem(where, found, limit, "Correct the stops or the converter.")
    yield from _number_problems(plan, where)
    yield from _curve_problems(plan, where)
    yield from _text_problems(plan, where)


def _number_problems(plan: HandoverPlan, where: str) -> Iterator[Problem]:
    """Line, interval and hold-off that are not usable numbers."""
    if not isfinite(plan.slope) or plan.slope == 0.0:
        found = f"the slope is {plan.slope} {plan.unit} a count"
        yield Problem(where, found, "a line needs a finite slope other than 0", "Calibrate again.")
    if not isfinite(plan.offset):
        found = f"the position at code 0 is {plan.offset} {plan.unit}"
        yield Problem(where, found, "a line needs a finite one", "Calibrate again.")
    if not (isfinite(plan.half_width_95) and plan.half_width_95 >= 0.0):
        found = f"the half-width is {plan.half_width_95} {plan.unit}"
        yield Problem(where, found, "it must be finite and not below 0", "Run the budget again.")
    if not 0.0 <= plan.hold_off_ms <= 60_000.0:
        found = f"the hold-off is {plan.hold_off_ms} ms"
        yield Problem(where, found, "it must be 0 to 60 000 ms", "Take 20 to 50 ms.")


def _curve_problems(plan: HandoverPlan, where: str) -> Iterator[Problem]:
    """Corrections that turn back or leave a seam, calibrated codes that hold no position."""
    table = plan.corrections
    if table is not None:
        try:
            CodeLine(offset=plan.offset, slope=plan.slope, corrections=table)
        except RangeError as fault:
            yield from (problem.within(where) for problem in fault.problems)
        if plan.turn is not None and table.period is None:
            found = "the axis comes round and its table of corrections does not"
            yield Problem(where, found, "", "Calibrate again.")
    if plan.domain is not None and isfinite(plan.slope) and plan.slope:
        yield from _domain_problems(plan, plan.domain, where)


def _domain_problems(plan: HandoverPlan, domain: tuple[float, float], where: str) -> Iterator[Problem]:
    """Calibrated codes that hold no position."""
    band, (low, high) = (plan.lowest_valid, plan.highest_valid), domain
    some = isfinite(high - low) and high - low >= LEAST_CODES
    points = plan.points if some else None
    if not some or (points is not None and points.count(*band) < LEAST_CODES):
        found = f"the calibrated points run from code {low:.6g} to {high:.6g}"
        limit = f"fewer than {LEAST_CODES} codes of the valid band, {band[0]} to {band[1]}"
        yield Problem(where, found, limit, "Calibrate again over the whole motion.")


def _text_problems(plan: HandoverPlan, where: str) -> Iterator[Problem]:
    """Mechanism, state and stem that are not among those known."""
    if plan.when_unpowered not in MECHANISMS:
        found = f"'{plan.when_unpowered}' does not say what the mechanism does with the motor off"
        yield Problem(where, found, "", nearest(plan.when_unpowered, MECHANISMS))
    state = plan.provenance.state
    if state not in STATES:
        yield Problem(where, f"the state '{state}' is not known", "", nearest(state, STATES))
    if not is_stem(plan.stem):
        found = f"'{plan.stem}' cannot be the stem of file and identifier names"
        yield Problem(where, found, "", f"Use '{stem_of(plan.stem)}'.")
