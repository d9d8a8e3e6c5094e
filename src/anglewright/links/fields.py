"""How the keys of a rig file become the fields of a part: declared once, beside the part.

The reader of rig files, the what-if of ``--set``, the budget and the documents all walk these
declarations, so a new kind of part needs no list anywhere else.
"""

from dataclasses import dataclass
from typing import Any

from anglewright.quantities.spread import Persistence, Shape
from anglewright.quantities.units import Kind


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class Key:
    """One key of a part's table: its name in the file, the field it fills, what it means.

    `example` is a usual value of a key that has no default, as one would write it in the file. `unless`
    names a key of the same table that takes its place, `only_with` one without which it plays no part; the
    field is then None and nothing is assumed.
    """

    name: str
    field: str
    meaning: str
    required: bool = False
    example: Any = None
    unless: str = ""
    only_with: str = ""


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class QuantityKey(Key):
    """A quantity as people write it; becomes a `Spread` in SI units.

    `default` is used, and shown as assumed, where the file is silent; without one the field stays None.
    With `tolerance` a plain "3 deg" means 0 give or take 3 deg. `words` are texts that mean "no number
    of its own" and leave the field None. `least` and `above` bound everything the number can be, spread
    included.
    """

    kinds: tuple[Kind, ...]
    default: str | None = None
    persistence: Persistence = Persistence.BUILD
    shape: Shape = Shape.RECTANGULAR
    words: tuple[str, ...] = ()
    least: float | None = None
    above: float | None = None
    cured_by: str = "calibration"
    tolerance: bool = False


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class LimitKey(Key):
    """A stated limit of a departure of unknown shape; becomes an `UnknownShape`.

    A fraction of full output, or counts where `kind` says so. Without a default the field stays None where
    the file is silent.
    """

    kind: Kind = Kind.FRACTION
    default: str | None = None
    cured_by: str = "a longer table"


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class CurveKey(Key):
    """A known curve as pairs that rise in both columns: ``[["0.8 V", 820], ["2.5 V", 2800]]``.

    Becomes a row of pairs in SI units; None where the file is silent.
    """

    kinds: tuple[Kind, Kind]


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class TurnLimitKey(Key):
    """A stated limit of a departure that comes round with the shaft; becomes `UnknownWaves`.

    `orders` are the numbers of waves a turn that it may have. With `sure` its height is the limit itself and
    only the phase is unknown. Without a default, and not required, the field stays None.
    """

    kind: Kind = Kind.ANGLE
    default: str | None = None
    orders: tuple[int, ...] = (1, 2, 3, 4)
    sure: bool = False
    cured_by: str = "a table over the whole turn"


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class ChoiceKey(Key):
    """One word out of a few."""

    choices: tuple[str, ...]
    default: str


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class FlagKey(Key):
    """True or false; false where the file is silent."""


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class WholeKey(Key):
    """A whole number within limits; ``12 bit`` reads as 12 where `kind` says so.

    Without a default, and not required, the field stays None where the file is silent.
    """

    least: int
    most: int
    default: int | None = None
    kind: Kind = Kind.COUNT


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class TeethKey(Key):
    """Numbers of teeth from the axis to the sensor, in pairs that mesh."""


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class TableKey(Key):
    """A small table inside the part's table, ``pull = { down = "100 kohm", at = "pin" }``."""

    keys: tuple[Key, ...]


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class StagesKey(Key):
    """Parts of one room in a row, each a table with its kind: ``[{ kind = "rack", ... }, ...]``."""

    room: str


ONE_SIDED = "one-sided approach"
"""Cure of play and backlash: always come to rest from the same side, or preload."""
