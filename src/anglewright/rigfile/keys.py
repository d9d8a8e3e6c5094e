"""A table of a rig file held against the keys that its part declares."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from functools import singledispatchmethod
from itertools import pairwise
from typing import Any

from anglewright.errors import AnglewrightError, Problem, nearest
from anglewright.harmonics import UnknownWaves
from anglewright.links.fields import (
    ChoiceKey,
    CurveKey,
    FlagKey,
    Key,
    LimitKey,
    QuantityKey,
    StagesKey,
    TableKey,
    TeethKey,
    TurnLimitKey,
    WholeKey,
)
from anglewright.links.protocol import Part
from anglewright.quantities.reading import Quantity, read_quantity
from anglewright.quantities.spread import Shape, Spread
from anglewright.quantities.units import Kind
from anglewright.rig import Assumption
from anglewright.rigfile.kinds import kinds_in, part_named
from anglewright.shapes import UnknownShape

_LIMITS = {Kind.FRACTION: (0.5, "50 %", "1 %"), Kind.COUNT: (1000.0, "1000 LSB", "2 LSB")}
"""The largest limit of a departure, as a number and in words, and an example, by what it is given in."""

_PAIRS = 'Write pairs that rise, as in [["0.8 V", 820], ["1.6 V", 1810], ["2.5 V", 2800]].'

MOST_WAVE_RAD = 0.5236  # beyond 30 deg the reading of a turn might run backwards [rad]


@dataclass(slots=True)
class TableReader:
    """Reads keys of tables one after the other and keeps every problem and every assumption."""

    problems: list[Problem] = field(default_factory=list)
    assumptions: list[Assumption] = field(default_factory=list)

    def fields(
        self, table: Any, keys: Iterable[Key], *, where: str, extra: Iterable[str] = ()
    ) -> dict[str, Any]:
        """Fields of a part from its table; unknown keys are answered with the nearest known ones."""
        keys = tuple(keys)
        if not isinstance(table, Mapping):
            self.complain(where, f"'{table}' stands where a table should", 'Write it as { key = "value" }.')
            return {}
        known = [key.name for key in keys] + list(extra)
        for name in table:
            if name not in known:
                self.complain(where, f"key '{name}' is not known", nearest(name, known))
        values: dict[str, Any] = {}
        for key in keys:
            values |= self._beside(key, table, f"{where}.{key.name}")
        return values

    def _beside(self, key: Key, table: Mapping[str, Any], where: str) -> dict[str, Any]:
        """Field of a key, which another key of the table may replace, or without which it is idle."""
        raw = table.get(key.name)
        replaced = bool(key.unless) and key.unless in table
        idle = bool(key.only_with) and key.only_with not in table
        if not (replaced or idle):
            return self._read(key, raw, where)
        if raw is not None and replaced:
            self.complain(
                where, f"'{key.unless}' stands beside it and says the same", "Leave one of them out."
            )
        elif raw is not None:
            remedy = f"Give '{key.only_with}' too, or leave it out."
            self.complain(where, f"it plays no part without '{key.only_with}'", remedy)
        return {key.field: None}

    def complain(self, where: str, found: str, remedy: str, *, limit: str = "") -> None:
        """Keep a problem."""
        self.problems.append(Problem(where, found, limit, remedy))

    def assume(self, where: str, key: Key, value: str) -> None:
        """Keep an assumption, with the key's place within its axis."""
        place = where.rsplit(", ", 1)[-1]
        self.assumptions.append(Assumption(key=place, value=value, meaning=key.meaning))

    def quantity(self, text: Any, kinds: tuple[Kind, ...], where: str) -> Quantity | None:
        """A quantity, or None and a problem kept."""
        if not isinstance(text, str | int | float) or isinstance(text, bool):
            self.complain(
                where, f"{text!r} is not a quantity", 'Write a number with its unit in quotes, "10 kohm".'
            )
            return None
        try:
            return read_quantity(text, kinds=kinds)
        except AnglewrightError as fault:
            self.problems.extend(problem.within(where) for problem in fault.problems)
            return None

    @singledispatchmethod
    def _read(self, key: Key, raw: Any, where: str) -> dict[str, Any]:
        raise TypeError(f"no reader for {type(key).__name__}")

    @_read.register
    def _(self, key: QuantityKey, raw: Any, where: str) -> dict[str, Any]:
        if raw is None and key.required:
            self.complain(where, "it is missing", f"Give the {key.meaning}.")
            return {}
        if raw is None:
            if key.default is None:
                return {key.field: None}
            self.assume(where, key, key.default)
            raw = key.default
        if raw in key.words:
            return {key.field: None}
        quantity = self.quantity(raw, key.kinds, where)
        return {} if quantity is None else self._bounded(key, quantity, where)

    def _bounded(self, key: QuantityKey, quantity: Quantity, where: str) -> dict[str, Any]:
        spread, remedy = _spread(key, quantity), "Mend the value or its spread."
        low = spread.limits[0]
        if key.least is not None and low < key.least - 1e-15:
            least = "nothing" if key.least == 0.0 else f"{key.least:g}"
            limit = f"it cannot be less than {least}"
            found = f"'{quantity.text}' can be as low as {_typed(low, quantity)}"
            self.complain(where, found, remedy, limit=limit)
        elif key.above is not None and low <= key.above:
            reach = "" if spread.is_exact else " over its whole spread"
            self.complain(where, f"'{quantity.text}' is not above zero{reach}", remedy)
        else:
            return {key.field: spread}
        return {}

    @_read.register
    def _(self, key: LimitKey, raw: Any, where: str) -> dict[str, Any]:
        if raw is None and key.default is None:
            return {key.field: None}
        if raw is None:
            self.assume(where, key, str(key.default))
        quantity = self.quantity(key.default if raw is None else raw, (key.kind,), where)
        if quantity is None:
            return {}
        limit, (most, said, example) = abs(quantity.value) or quantity.above, _LIMITS[key.kind]
        if not 0.0 <= limit <= most:
            found, remedy = f"'{quantity.text}' cannot be", f'Write the limit, as in "{example}".'
            self.complain(where, found, remedy, limit=f"a limit lies in 0 to {said}")
            return {}
        return {key.field: UnknownShape(limit=limit)}

    @_read.register
    def _(self, key: CurveKey, raw: Any, where: str) -> dict[str, Any]:
        if raw is None:
            return {key.field: None}
        pairs = [pair for pair in raw if _is_pair(pair)] if isinstance(raw, list) else []
        if len(pairs) < 2 or len(pairs) < len(raw):
            self.complain(where, f"'{raw}' is not a row of two pairs or more", _PAIRS)
            return {}
        read = [
            [self.quantity(text, (kind,), where) for text, kind in zip(pair, key.kinds, strict=True)]
            for pair in pairs
        ]
        whole = [(first, second) for first, second in read if first is not None and second is not None]
        return self._rising(key, whole, where) if len(whole) == len(pairs) else {}

    def _rising(self, key: Key, pairs: list[tuple[Quantity, Quantity]], where: str) -> dict[str, Any]:
        """The pairs of a curve as plain numbers, or nothing and a problem kept where they do not rise."""
        for before, after in pairwise(pairs):
            if any(new.value <= old.value for old, new in zip(before, after, strict=True)):
                found = f"it does not rise from {_pair(before)} to {_pair(after)}"
                self.complain(where, found, "Put the pairs in order, and leave out what stands still.")
                return {}
        return {key.field: tuple((first.value, second.value) for first, second in pairs)}

    @_read.register
    def _(self, key: TurnLimitKey, raw: Any, where: str) -> dict[str, Any]:
        if raw is None and key.default is None:
            return {key.field: None}
        if raw is None:
            self.assume(where, key, str(key.default))
        quantity = self.quantity(key.default if raw is None else raw, (key.kind,), where)
        if quantity is None:
            return {}
        limit = abs(quantity.value) or quantity.above
        if key.kind is Kind.ANGLE and limit > MOST_WAVE_RAD:
            found, most = f"'{quantity.text}' cannot be", "a limit lies in 0 to 30 deg"
            self.complain(where, found, 'Write the limit, as in "1 deg".', limit=most)
            return {}
        return {key.field: UnknownWaves(limit=limit, orders=key.orders, sure=key.sure)}

    @_read.register
    def _(self, key: ChoiceKey, raw: Any, where: str) -> dict[str, Any]:
        word = key.default if raw is None else raw
        if word in key.choices:
            return {key.field: word}
        self.complain(where, f"'{word}' is none of its words", nearest(str(word), key.choices))
        return {}

    @_read.register
    def _(self, key: FlagKey, raw: Any, where: str) -> dict[str, Any]:
        if raw is None or isinstance(raw, bool):
            return {key.field: bool(raw)}
        self.complain(where, f"'{raw}' is not true or false", "Write true or false, without quotes.")
        return {}

    @_read.register
    def _(self, key: WholeKey, raw: Any, where: str) -> dict[str, Any]:
        if raw is None and key.default is not None:
            self.assume(where, key, str(key.default))
            raw = key.default
        if raw is None and key.required:
            self.complain(where, "it is missing", f"Give the {key.meaning}.")
            return {}
        if raw is None:
            return {key.field: None}
        quantity = self.quantity(raw, (key.kind,), where)
        if quantity is None:
            return {}
        if quantity.value != int(quantity.value) or not key.least <= quantity.value <= key.most:
            limit = f"a whole number from {key.least} to {key.most} belongs here"
            self.complain(where, f"it is '{quantity.text}'", f"Give the {key.meaning}.", limit=limit)
            return {}
        return {key.field: int(quantity.value)}

    @_read.register
    def _(self, key: TeethKey, raw: Any, where: str) -> dict[str, Any]:
        remedy = "Write the teeth from the axis to the sensor in pairs that mesh, as in [48, 24]."
        if raw is None:
            self.complain(where, "it is missing", remedy)
        elif not isinstance(raw, list) or not raw or len(raw) % 2:
            self.complain(where, f"'{raw}' is not a row of pairs", remedy)
        elif bad := [
            count for count in raw if not isinstance(count, int) or isinstance(count, bool) or count < 4
        ]:
            self.complain(
                where, f"a gear of {bad[0]} teeth cannot mesh", remedy, limit="4 teeth is the least"
            )
        else:
            return {key.field: tuple(raw)}
        return {}

    @_read.register
    def _(self, key: TableKey, raw: Any, where: str) -> dict[str, Any]:
        return self.fields({} if raw is None else raw, key.keys, where=where)

    @_read.register
    def _(self, key: StagesKey, raw: Any, where: str) -> dict[str, Any]:
        if not isinstance(raw, list) or len(raw) < 2:
            found = "it is missing" if raw is None else f"'{raw}' is not a row of two or more"
            remedy = 'Write them in their order, as in [{ kind = "rack", ... }, { kind = "gears", ... }].'
            self.complain(where, found, remedy)
            return {}
        stages = [self._stage(key, table, f"{where}.{place}") for place, table in enumerate(raw, start=1)]
        return {key.field: tuple(stages)} if all(stages) else {}

    def _stage(self, key: StagesKey, table: Any, where: str) -> Part | None:
        """One part of a row, or None with its problems kept."""
        kinds = [kind for kind in kinds_in(key.room) if kind != "stages"]
        kind = table.get("kind") if isinstance(table, Mapping) else None
        if kind not in kinds:
            found = f"kind '{kind}' is not known here" if kind is not None else "it has no kind"
            self.complain(where, found, nearest(str(kind), kinds))
            return None
        part, before = part_named(key.room, str(kind)), len(self.problems)
        fields = self.fields(table, part.KEYS, where=where, extra=("kind",))
        return part(**fields) if len(self.problems) == before else None


def _typed(value: float, quantity: Quantity) -> str:
    """A value in the unit that the quantity was typed in."""
    return f"{quantity.unit.from_si(value):.6g} {quantity.unit.name}".strip()


def _is_pair(raw: Any) -> bool:
    return isinstance(raw, list) and len(raw) == 2


def _pair(pair: tuple[Quantity, Quantity]) -> str:
    return f"({pair[0].text}, {pair[1].text})"


def _spread(key: QuantityKey, quantity: Quantity) -> Spread:
    shape = Shape.NORMAL if quantity.rms else key.shape
    spread = quantity.spread(persistence=key.persistence, shape=key.shape)
    if key.tolerance and spread.is_exact:
        reach = abs(quantity.value)
        return Spread(nominal=0.0, below=reach, above=reach, shape=shape, persistence=key.persistence)
    return spread
