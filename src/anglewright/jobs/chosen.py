"""The result of choosing: what is kept and in which order, what is refused and why, what to buy."""

from collections.abc import Iterator
from dataclasses import dataclass, replace

from anglewright.jobs.findingtable import finding_json, findings_table
from anglewright.jobs.shown import Json, Shown, Table
from anglewright.quantities.showing import show
from anglewright.rig import Axis
from anglewright.selection.buying import Line, mismatch, parts_list
from anglewright.selection.judging import Judged
from anglewright.selection.needs import Places
from anglewright.selection.offers import DriveOffer, SensorOffer
from anglewright.selection.opening import opening, told
from anglewright.selection.ranking import front, rules_out
from anglewright.selection.reasons import reasons

STATE = "calibrated"
"""The state that half-widths are of: calibrated by the plan of the axis, first order."""


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class Choice:
    """One sensor at one drive, and how it does. [m or rad, units of money, 1]"""

    sensor: SensorOffer
    drive: DriveOffer
    half_width: float
    cost: float
    margin: float
    year: int


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class ChooseResult(Shown):
    """Every choice held against the need of an axis; `kept` and `refused` are their places in order.

    `applied` says what was written into the rig file, and where; `with_parts` that the list is asked for.
    """

    judged: Judged
    kept: Places
    refused: Places
    applied: str = ""
    picked: int | None = None
    with_parts: bool = False

    @property
    def axis(self) -> Axis:
        """The axis whose need it is."""
        return self.judged.need.axis

    def choice(self, place: int) -> Choice:
        """The choice at a place."""
        judged = self.judged
        sensor = judged.sensors[judged.sensor[place]].offer
        drive = judged.drives.offers[judged.drive[place]]
        return Choice(
            sensor=sensor,
            drive=drive,
            half_width=float(judged.half_width[place]),
            cost=float(judged.cost[place]),
            margin=float(judged.margin[place]),
            year=sensor.price_with(drive).year,
        )

    @property
    def exit_code(self) -> int:
        """1 where nothing meets the need. [1]"""
        return 0 if len(self.kept) else 1

    @property
    def headline(self) -> str:
        """How many meet the need, and the first of them; or that none does."""
        axis, count = self.axis, len(self.judged.sensor)
        need = f"±{show(axis.permissible, axis.unit, digits=3)}"
        if self.applied:
            return self.applied
        if not len(self.kept):
            return f"{axis.name}: none of {count} choices meets the need of {need}."
        first = self.choice(int(self.kept[0]))
        drive = first.drive.name[:1].lower() + first.drive.name[1:]
        return (
            f"{axis.name}: {len(self.kept)} of {count} choices meet the need of {need}. The cheapest is "
            f"'{first.sensor.name}', {drive}: good to ±{self._width(first)}, for about {first.cost:.3g} "
            "units of money."
        )

    @property
    def summary(self) -> str:
        """What was not checked, what rules out the most, and the smallest change that opens one."""
        return "\n".join([*self.unchecked, *(() if len(self.kept) else self._nothing())])

    @property
    def unchecked(self) -> tuple[str, ...]:
        """What the rig does not say, so that it was not held against anything."""
        found = []
        if self.axis.motion.speed is None:
            found.append("Speed is not checked: the motion names no speed.")
        if self.axis.duty.strokes is None:
            found.append("Life is not checked: the need names no strokes (and no hunting moves).")
        if self.axis.stops_assumed and not self.axis.motion.endless:
            found.append("The stops of the mechanism are assumed; write them down.")
        return tuple(found)

    def _nothing(self) -> Iterator[str]:
        most = next(iter(rules_out(self.judged).items()), None)
        if most is not None:
            yield f"What rules out the most is {most[0]}: {most[1]} of {len(self.judged.sensor)} choices."
        found = opening(self.judged)
        if found is None:
            yield "No change of a single need makes one possible; the nearest is the first of those below."
        else:
            yield told(self.judged, found)

    def _width(self, choice: Choice) -> str:
        if choice.half_width != choice.half_width:
            return "-"
        return show(choice.half_width, self.axis.unit, digits=3)

    def best_of_each(self, places: Places) -> list[tuple[int, int]]:
        """Rank, from 1, and place of the first choice with each sensor."""
        seen: set[int] = set()
        found = []
        for rank, place in enumerate(places.tolist(), start=1):
            sensor = int(self.judged.sensor[place])
            if sensor not in seen:
                seen.add(sensor)
                found.append((rank, place))
        return found

    def tables(self) -> tuple[Table, ...]:
        """The kept ones, the front, the refused ones, what to buy."""
        tables = []
        if len(self.kept):
            kept = self.best_of_each(self.kept)
            note = f"Ranked by cost, then margin; the best of each sensor out of {len(self.kept)}. Errors: "
            note += f"95 %, {STATE} by the plan. Costs: middle of a dated band, sensor and drive."
            tables.append(self._choices("Kept: the cheapest with each sensor", kept, note=note))
            ranks = {place: rank for rank, place in enumerate(self.kept.tolist(), start=1)}
            best = [(ranks[place], place) for place in front(self.judged, self.kept).tolist()]
            tables.append(self._choices("Front: nothing cheaper is as exact", best))
        tables += [table for table in (self._nearest(), self._refused()) if table.rows]
        return (*tables, *(self._buying() if self.with_parts else ()))

    def _choices(self, title: str, ranked: list[tuple[int, int]], *, note: str = "") -> Table:
        rows = []
        for rank, place in ranked:
            choice = self.choice(place)
            money = f"{choice.cost:.4g} ({choice.year})"
            shown = (f"±{self._width(choice)}", money, f"{100.0 * choice.margin:.0f} %")
            rows.append((str(rank), choice.sensor.name, choice.drive.name, *shown))
        names = ("no", "sensor", "drive", "95 %", "cost (year)", "margin")
        return Table(title=title, columns=names, rows=tuple(rows), right=("no", *names[3:]), note=note)

    def _nearest(self) -> Table:
        """The refused choice that misses by the least, and what would make it fit."""
        rows: tuple[tuple[str, ...], ...] = ()
        title = "Best of the refused"
        if len(self.refused):
            place = int(self.refused[0])
            choice = self.choice(place)
            title += f": '{choice.sensor.name}', {choice.drive.name}"
            rows = tuple((each.text, each.cure) for each in reasons(self.judged, place))
        return Table(title=title, columns=("refused for", "it would fit with"), rows=rows)

    def _refused(self) -> Table:
        """The nearest choice of every sensor of which none is kept."""
        kept = {int(self.judged.sensor[place]) for place in self.kept}
        places = [place for _, place in self.best_of_each(self.refused)]
        rows = []
        for place in (each for each in places if int(self.judged.sensor[each]) not in kept):
            choice = self.choice(place)
            texts = "; ".join(each.text for each in reasons(self.judged, place))
            rows.append((choice.sensor.name, choice.drive.name, texts))
        title = "Sensors that no drive makes fit, each at its nearest"
        return Table(title=title, columns=("sensor", "drive", "refused for"), rows=tuple(rows))

    @property
    def bought(self) -> Choice | None:
        """The choice whose parts are listed: the one written into the rig, else the first."""
        place = self.picked if self.picked is not None else next(iter(self.kept.tolist()), None)
        return None if place is None else self.choice(place)

    def _buying(self) -> tuple[Table, ...]:
        choice = self.bought
        if choice is None:
            return ()
        rows = tuple(_bought_row(line) for line in parts_list(choice.sensor, choice.drive))
        names = ("buy", "in use", "spare", "what", "look at", "lead time")
        title = f"What to buy for '{choice.sensor.name}', {choice.drive.name}"
        buying = Table(title=title, columns=names, rows=rows, right=names[:3])
        finding = mismatch(self.axis.name, choice.sensor, drive=choice.drive)
        return (buying, *((findings_table([finding], title="What must match"),) if finding else ()))

    def as_json(self) -> Json:
        """As DEFINITIONS section 12 has it, and more."""
        found_opening = None if len(self.kept) else opening(self.judged)
        found: Json = {
            "axis": self.axis.name,
            "unit": self.axis.unit.name,
            "permissible_error": self._in_unit(self.axis.permissible),
            "state": STATE,
            "kept": [self._kept_json(place) for place in self.kept.tolist()],
            "front": [self._kept_json(place) for place in front(self.judged, self.kept).tolist()],
            "refused": [self._refused_json(place) for place in self.refused.tolist()],
            "rules_out": rules_out(self.judged),
            "opened_by": found_opening.change if found_opening else None,
            "unchecked": list(self.unchecked),
            "applied": self.applied or None,
        }
        return found | (self._parts_json() if self.with_parts else {})

    def _in_unit(self, value_si: float) -> float | None:
        return self.axis.unit.difference_from_si(value_si) if value_si == value_si else None

    def _kept_json(self, place: int) -> Json:
        choice = self.choice(place)
        return {
            "sensor": choice.sensor.name,
            "drive": choice.drive.name,
            "half_width_95": self._in_unit(choice.half_width),
            "cost": choice.cost,
            "year": choice.year,
            "margin": choice.margin,
            "state": STATE,
        }

    def _refused_json(self, place: int) -> Json:
        choice = self.choice(place)
        told = reasons(self.judged, place)
        return {
            "sensor": choice.sensor.name,
            "drive": choice.drive.name,
            "half_width_95": self._in_unit(choice.half_width),
            "cost": choice.cost,
            "reasons": [{"check": each.check, "text": each.text, "cure": each.cure} for each in told],
        }

    def _parts_json(self) -> Json:
        choice = self.bought
        if choice is None:
            return {"parts": [], "findings": []}
        lines = [_line_json(line) for line in parts_list(choice.sensor, choice.drive)]
        finding = mismatch(self.axis.name, choice.sensor, drive=choice.drive)
        return {"parts": lines, "findings": [finding_json(finding)] if finding else []}


def _bought_row(line: Line) -> tuple[str, ...]:
    return (str(line.quantity), str(line.in_use), str(line.spare), line.what, line.note, "")


def _line_json(line: Line) -> Json:
    return {
        "quantity": line.quantity,
        "in_use": line.in_use,
        "spare": line.spare,
        "what": line.what,
        "look_at": line.note,
        "lead_time": None,
    }


def with_applied(result: ChooseResult, *, place: int, said: str) -> ChooseResult:
    """The same result after a choice was written into the rig file."""
    return replace(result, picked=place, applied=said)
