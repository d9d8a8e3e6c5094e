"""What a calibration shows by itself, against the need, the data sheet and the budget: findings."""

import math
from collections.abc import Mapping
from dataclasses import dataclass

from anglewright.budget.mistakes import SLOPE_MAY_DIFFER, known_factor
from anglewright.budget.states import planned_line
from anglewright.budget.totals import StateBudget
from anglewright.calibration.leftout import number_of, out_of_fit
from anglewright.calibration.result import Calibration
from anglewright.calibration.student import coverage_factor
from anglewright.calibration.uncertainty import ReadingError
from anglewright.findings import Finding, Severity
from anglewright.jobs.suspecting import slope_spread
from anglewright.links.protocol import TrackPort, VoltagePort
from anglewright.quantities.showing import show
from anglewright.rig import Axis, at_nominal, realise

AT_THE_LIMIT = math.sqrt(3.0)  # a part at its limit errs so much more than a size drawn below it [1]
PLAY_NOTE = 0.25  # of the permissible error that half the play takes up and is but a note [1]
VISITS_NOTE = 0.25  # of the permissible error, from which another visit is worth a word [1]
OUTLIER_NOTE = 0.25  # of the permissible error, up to which a point off the rest is but a note [1]


@dataclass(frozen=True, slots=True, kw_only=True)
class Said:
    """Key, text and remedy of a finding."""

    key: str
    text: str
    remedy: str


def finding_in_unit(axis: Axis, said: Said, *, severity: Severity, measured: float, limit: float) -> Finding:
    """A finding of a calibration whose size and limit are differences of position. [m or rad]"""
    return Finding(
        key=said.key,
        severity=severity,
        axis=axis.name,
        link="calibration",
        text=said.text,
        remedy=said.remedy,
        source="practice",
        measured=axis.unit.difference_from_si(measured),
        limit=axis.unit.difference_from_si(limit),
        unit=axis.unit.name,
    )


_MEND = "Turn the axis by hand through a known way and count; then mend the rig file, or what loses counts."
_LOOK = (
    "Look for a pull that was left on, a wrong ratio, a track, travel or levels of the output that are not "
    "those of the rig file."
)
_BITS = "Mend converter.bits, or log the whole code."


def slope_findings(axis: Axis, calibration: Calibration) -> list[Finding]:
    """A slope that the tolerances of the data sheet do not explain, with the factor where one is known."""
    ratio = calibration.slope / planned_line(axis).slope
    if abs(ratio - 1.0) <= SLOPE_MAY_DIFFER:
        return []
    may_differ = max(SLOPE_MAY_DIFFER, slope_spread(axis))
    if abs(ratio - 1.0) <= may_differ:
        return []
    known = known_factor(axis, ratio) if _counts(axis) else _other_bits(ratio, may_differ)
    off = f"{ratio:.3f} times that of the rig file; its parts hardly explain more than {may_differ:.0%}"
    finding = Finding(
        key="slope",
        severity=Severity.CAUTION,
        axis=axis.name,
        link="calibration",
        text=f"The slope is {known or off}.",
        remedy=_LOOK if not known else _MEND if _counts(axis) else _BITS,
        source="practice",
        measured=ratio,
        limit=may_differ,
        unit="",
    )
    return [finding]


def _counts(axis: Axis) -> bool:
    """Whether the sensor gives counts, a word or pulses, so that its scale may be off by a plain factor."""
    port = realise(axis, at_nominal).links[axis.index_of("sensor")].port
    return not isinstance(port, TrackPort | VoltagePort)


def _other_bits(ratio: float, may_differ: float) -> str:
    """A level that was converted with other bits than the rig file says; empty where no even number fits."""
    bits = 2 * round(math.log2(abs(ratio)) / 2.0) if ratio else 0
    if not bits or abs(abs(ratio) / 2.0**bits - 1.0) > may_differ:
        return ""
    which = f"{abs(bits)} bits {'fewer' if bits > 0 else 'more'}"
    return f"{ratio:.3g} times that of the rig file: the readings are those of a converter with {which}"


def play_findings(axis: Axis, calibration: Calibration) -> list[Finding]:
    """Play that was seen: a note up to half of the need in all, a stop where half of it is beyond."""
    play = calibration.play
    if not play.seen or play.value is None or play.low is None or play.high is None:
        return []
    share = play.value / 2.0 / axis.permissible
    severity = Severity.STOP if share > 1.0 else Severity.CAUTION if share > PLAY_NOTE else Severity.NOTE
    total, low, high = (show(value, axis.unit, digits=3) for value in (play.value, play.low, play.high))
    said = Said(
        key="play",
        text=f"Play is {total} in all, {low} to {high} (95 %): a reading may be off by half of it.",
        remedy="Take the play out, or come to rest from the same side always. More points do not cure it.",
    )
    return [finding_in_unit(axis, said, severity=severity, measured=play.value / 2.0, limit=axis.permissible)]


def visits_findings(axis: Axis, calibration: Calibration) -> list[Finding]:
    """Places that read otherwise at another visit: told from a quarter of the need, a caution from half."""
    reach = coverage_factor(math.inf) * calibration.error.visits
    if reach <= VISITS_NOTE * axis.permissible:
        return []
    severity = Severity.CAUTION if reach > 2.0 * VISITS_NOTE * axis.permissible else Severity.NOTE
    said = Said(
        key="visits",
        text=f"The same place reads otherwise at another visit, by ±{show(reach, axis.unit, digits=2)} "
        "(95 %) beyond noise, play and what the reference is said to be worth.",
        remedy="Look for what is loose: hub, clamp, magnet, gear; or set the reference more carefully. Three "
        "visits of each place from one side tell the repeatability.",
    )
    return [finding_in_unit(axis, said, severity=severity, measured=reach, limit=axis.permissible)]


def outlier_findings(axis: Axis, calibration: Calibration) -> list[Finding]:
    """Points off the rest by the robust rule: a note where each has its like from the other side.

    There a sharper check has looked at it already, and would have called it an odd point.
    """
    sides = {point.approach for point in calibration.points}
    found = []
    for outlier in calibration.outliers:
        small = abs(outlier.departure) <= OUTLIER_NOTE * axis.permissible
        severity = Severity.NOTE if small or sides >= {1, -1} else Severity.CAUTION
        place = show(calibration.points[outlier.point].reference, axis.unit, digits=4)
        number = number_of(calibration.points, outlier.point)
        off = -outlier.departure  # what it shows too much
        size, side = show(abs(off), axis.unit, digits=3), "more" if off > 0.0 else "less"
        said = Said(
            key="outlier",
            text=f"Point {number} at {place} shows {size} {side} than the rest.",
            remedy=out_of_fit(number),
        )
        found.append(finding_in_unit(axis, said, severity=severity, measured=off, limit=outlier.limit))
    return found


AS_PREDICTED, WORSE, BEYOND = "as predicted", "worse than predicted", "worse than the parts allow"

_PARTS: Mapping[str, tuple[str, str]] = {
    "structure": (
        "what the curve cannot follow",
        "look at the sensor's track or magnet, or take another model",
    ),
    "noise": ("the noise of one reading", "look at the wiring, and average more readings"),
    "visits": (
        "what the same place reads at another visit",
        "look for what is loose: hub, clamp, magnet, gear; or set the reference more carefully",
    ),
    "fit": ("the curve's own uncertainty", "take more points, and more readings of each"),
    "play": ("play", "look at the coupling and the drive, or come from one side always"),
    "reference": ("the reference's own error", "take a better reference"),
    "changes": ("what changes from day to day", "look at the feed and at the converter's reference"),
}
"""Each part of the error of one reading in words, and what to do when it is the largest."""


@dataclass(frozen=True, slots=True, kw_only=True)
class BesideBudget:
    """A calibration beside its budget: in words, which part of its error is the largest, what to do."""

    says: str
    most: str
    do: str

    @property
    def sentence(self) -> str:
        """The comparison, and what to do unless it went as it was foreseen."""
        return self.says if self.says == AS_PREDICTED else f"{self.says}: {self.do}"


def beside_budget(calibration: Calibration, *, foreseen: float) -> BesideBudget:
    """How a calibration compares with what the budget foresaw.

    Parameters
    ----------
    calibration : Calibration
        What was reached. [rad or m]
    foreseen : float
        Half-width of 95 % that the budget foresaw. [rad or m]

    Returns
    -------
    BesideBudget
        As predicted; worse than that, as parts at their limits or few points would have it; or worse than the
        parts allow.

    Notes
    -----
    Few points make Student's factor large: what many points would leave at the least is held against the
    half-width foreseen, times the root of three, as of parts that all stand at their limits.

    References
    ----------
    gum-g
    practice
    """
    error = calibration.error
    sizes = {
        "structure": error.structure,
        "noise": error.noise,
        "visits": error.visits,
        "fit": error.fit,
        "play": error.play,
        "reference": error.reference,
        "changes": error.changes,
    }
    most, do = _PARTS[max(_PARTS, key=sizes.__getitem__)]
    says = AS_PREDICTED if calibration.half_width_95 <= foreseen else WORSE
    if calibration.half_width_95 * _least_share(error) > AT_THE_LIMIT * foreseen:
        says = BEYOND
    return BesideBudget(says=says, most=most, do=do)


def budget_findings(axis: Axis, calibration: Calibration, planned: StateBudget) -> list[Finding]:
    """A calibration that reaches less than was foreseen; a caution where not even parts at limits would."""
    measured = calibration.half_width_95
    compared = beside_budget(calibration, foreseen=planned.half_width_95)
    if compared.says == AS_PREDICTED:
        return []
    reached, foreseen = (show(value, axis.unit, digits=3) for value in (measured, planned.half_width_95))
    severity = Severity.CAUTION if compared.says == BEYOND else Severity.NOTE
    said = Said(
        key="worse-than-budget",
        text=f"The calibration reaches ±{reached}; the budget foresaw ±{foreseen}: {compared.says}. "
        f"Most of it is {compared.most}.",
        remedy=f"{compared.do.capitalize()}; or mend a number of the rig file that is too good.",
    )
    return [finding_in_unit(axis, said, severity=severity, measured=measured, limit=planned.half_width_95)]


def _least_share(error: ReadingError) -> float:
    """Share of a half-width that many points would leave at least: few make Student's factor large. [1]

    The lower limit of its standard uncertainty, passed downwards once in a thousand times, by chi-squared.
    """
    dof = error.dof
    if math.isinf(dof):
        return 1.0
    from scipy.special import chdtri

    known = coverage_factor(math.inf) / coverage_factor(dof)
    return known * math.sqrt(dof / float(chdtri(dof, 0.001)))
