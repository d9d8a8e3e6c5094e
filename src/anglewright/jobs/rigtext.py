"""The text of a new rig file: what was answered as it was answered, every default beside it as a comment."""

from dataclasses import dataclass
from fractions import Fraction

from anglewright.errors import AnglewrightError, Problem, UsageError
from anglewright.links.fields import (
    ChoiceKey,
    Key,
    LimitKey,
    QuantityKey,
    TableKey,
    TeethKey,
    TurnLimitKey,
    WholeKey,
)
from anglewright.quantities.reading import read_quantity
from anglewright.quantities.units import Kind, Unit
from anglewright.rigfile.axisfile import OVER_TRAVEL, PER_POINT, PLAN_KEYS
from anglewright.rigfile.kinds import USUAL, part_named

FEWEST_TEETH = 8  # of a real gear; smaller numbers are taken as a ratio (common practice, no source) [1]
LEAST_TEETH = 24  # of the smaller gear that a plain ratio is turned into [1]
MOST_RATIO = 200  # beyond this, either way, a ratio is a slip of the pen [1]
_FINEST = 60  # denominator of a ratio that is written as a decimal number [1]


@dataclass(frozen=True, slots=True, kw_only=True)
class Answers:
    """The five answers: what moves, from and to, how exact, kind of sensor, ratio (``2`` or ``48:24``)."""

    moves: str
    low: str
    high: str
    error: str
    sensor: str = "potentiometer"
    ratio: str = "1"


def teeth_of(ratio: str) -> tuple[int, int]:
    """Teeth from axis to sensor for ``48:24``, or of gears that make a ratio such as ``2`` or ``2:1``.

    Raises
    ------
    UsageError
        It is neither, or out of all proportion.

    Examples
    --------
    >>> teeth_of("48:24"), teeth_of("2"), teeth_of("1.5"), teeth_of("2:1")
    ((48, 24), (48, 24), (36, 24), (48, 24))
    """
    first, second = _two(ratio)
    exact = Fraction(first) / Fraction(second)
    if not Fraction(1, MOST_RATIO) <= exact <= MOST_RATIO:
        raise _no_ratio(ratio)
    if min(first, second) >= FEWEST_TEETH and first.denominator == second.denominator == 1:
        return int(first), int(second)
    exact = exact.limit_denominator(_FINEST)
    grown = max(1, -(-LEAST_TEETH // min(exact.numerator, exact.denominator)))
    return exact.numerator * grown, exact.denominator * grown


def _two(ratio: str) -> tuple[Fraction, Fraction]:
    """Both sides of a ratio; of a plain number, the number and 1. Neither is zero."""
    first, colon, second = ratio.partition(":")
    try:
        sides = Fraction(first.strip()), Fraction(second.strip() if colon else "1")
    except (ValueError, ZeroDivisionError):
        raise _no_ratio(ratio) from None
    if min(sides) <= 0:
        raise _no_ratio(ratio)
    return sides


def _no_ratio(ratio: str) -> UsageError:
    remedy = "Write the teeth from axis to sensor, 48:24, or turns of the sensor per turn of the axis, 2."
    return UsageError(Problem("ratio", f"'{ratio}' is no ratio", "", remedy))


def rig_text(answers: Answers) -> str:
    """The rig file of five answers.

    Parameters
    ----------
    answers : Answers
        What moves, from where to where, how exact, which sensor, which ratio.

    Returns
    -------
    str
        TOML; every default stands in it as a comment that says "assumed".

    Raises
    ------
    UsageError
        The ratio cannot be read.
    """
    name, teeth, ends = _quoted(answers.moves), teeth_of(answers.ratio), _ends(answers)
    lines = [
        "# Lines that begin with a hash and say 'assumed' hold the defaults (common practice, no source):",
        "# take the hash away and write your own value.",
        'rig = "my rig"',
        "",
        f"[axis.{name}]",
        f"motion = {{ from = {_quoted(answers.low)}, to = {_quoted(answers.high)} }}",
        f"need = {{ error = {_quoted(answers.error)} }}",
        'when_unpowered = "drops"               # assumed, the worst: holds | sinks | drops | springs',
        *_places(name, ends),
    ]
    for room, usual in USUAL.items():
        drive = "direct" if teeth[0] == teeth[1] else "gears"
        kind = {"drive": drive, "sensor": answers.sensor}.get(room, usual)
        lines += ["", f"[axis.{name}.{room}]", f'kind = "{kind}"']
        lines += [line for key in part_named(room, kind).KEYS for line in _line(key, teeth)]
    return "\n".join([*lines, *_plan(name, ends)]) + "\n"


def _places(name: str, ends: tuple[float, float, Unit] | None) -> list[str]:
    """Stops and the one mark, as the program assumes them."""
    if ends is None:
        return []
    low, high, unit = ends[0], ends[1], ends[2].name
    beyond, middle = OVER_TRAVEL * (high - low), (low + high) / 2.0
    stops = f'stops = {{ low = "{low - beyond:.9g} {unit}", high = "{high + beyond:.9g} {unit}" }}'
    mark = f'middle = {{ at = "{middle:.9g} {unit}", within = "0 {unit}", how = "say how to find it" }}'
    return [
        _assumed(stops, "where the mechanism itself ends"),
        "",
        f"[axis.{name}.marks]",
        _assumed(mark, "a place that can be found again"),
    ]


def _plan(name: str, ends: tuple[float, float, Unit] | None) -> list[str]:
    """The plan of the calibration, as the program assumes it."""
    if ends is None:
        return []
    shared, per_point = f"0 {ends[2].name}", PER_POINT[ends[2].kind]
    reference = f'reference = {{ per_point = "{per_point}", shared = "{shared}", scale = "0 %" }}'
    lines = [line for key in PLAN_KEYS for line in _line(key, (1, 1))]
    return ["", f"[axis.{name}.plan]", *lines, _assumed(reference, "error of the reference")]


def _ends(answers: Answers) -> tuple[float, float, Unit] | None:
    """Both ends in the unit of the first, or None: the reader of the file says what is wrong with them."""
    try:
        low = read_quantity(answers.low, kinds=(Kind.ANGLE, Kind.LENGTH))
        high = read_quantity(answers.high, kinds=low.unit.kind)
    except AnglewrightError:
        return None
    return low.unit.from_si(low.value), low.unit.from_si(high.value), low.unit


def _line(key: Key, teeth: tuple[int, int]) -> list[str]:
    """One key of a part as a comment, or the teeth as given."""
    if isinstance(key, TeethKey):
        return [f"{key.name} = [{teeth[0]}, {teeth[1]}]"]
    if isinstance(key, TableKey):
        return [f"# {key.name} = {key.example}"] if key.example else []
    if not isinstance(key, QuantityKey | LimitKey | TurnLimitKey | ChoiceKey | WholeKey):
        return []
    default = key.default
    if default is None:
        return []
    shown = str(default) if isinstance(default, int) else _quoted(str(default))
    if isinstance(key, QuantityKey) and key.only_with:
        return [_remarked(f"{key.name} = {shown}", f"plays a part beside {key.only_with}: {key.meaning}")]
    return [_assumed(f"{key.name} = {shown}", key.meaning)]


def _assumed(text: str, meaning: str) -> str:
    return _remarked(text, f"assumed: {meaning}")


def _remarked(text: str, remark: str) -> str:
    return f"# {text:<40} # {remark}"


def _quoted(text: str) -> str:
    """A TOML text in quotes."""
    import json

    return json.dumps(text, ensure_ascii=False).replace("\x7f", "\\u007f")
