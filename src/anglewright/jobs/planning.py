"""Job: at which positions to calibrate, from which side, how often; and a blank sheet to fill."""

from dataclasses import dataclass
from pathlib import Path

from anglewright.handover.identifiers import stems
from anglewright.jobs.opening import chosen_axes
from anglewright.jobs.shown import Json, Shown, Table, counted
from anglewright.quantities.showing import show
from anglewright.rig import Axis, Rig
from anglewright.rigfile.storing import write_whole
from anglewright.tables.writing import decimal, one_line

SIDES = {1: "up", -1: "down"}

USUAL_REFERENCES: tuple[tuple[bool, str, str], ...] = (
    (True, "school protractor, dial read by hand", "± 1 deg"),
    (True, "telephone as a level", "± 0.5 to 1 deg"),
    (True, "digital level", "± 0.2 deg"),
    (True, "machinist's square", "± 0.1 deg"),
    (True, "line of 1 mm at a radius of 200 mm", "0.29 deg"),
    (True, "pin with 0.1 mm of clearance at 150 mm", "0.04 deg"),
    (False, "tape", "± 1 mm"),
    (False, "steel rule", "± 0.5 mm"),
    (False, "calliper", "± 0.05 mm"),
)
"""References for turning and for straight axes, and how well they are usually known.

Common practice, no source; the line and the pin follow from their lengths: 1 mm over 200 mm, 0.1 over 150.
"""


@dataclass(frozen=True, slots=True, kw_only=True)
class Visit:
    """One line of the plan: where to go and from which side. [m or rad]"""

    position: float
    side: int


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class AxisPlan:
    """The visits of one axis, in the order in which to make them."""

    axis: Axis
    visits: tuple[Visit, ...]
    sheet: Path | None


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class PlanResult(Shown):
    """Plans of one or several axes."""

    plans: tuple[AxisPlan, ...]

    @property
    def headline(self) -> str:
        """How many places, how often."""
        return " ".join(_headline(plan.axis, alone=len(self.plans) == 1) for plan in self.plans)

    def tables(self) -> tuple[Table, ...]:
        """The visits, with what to mind, and what references are usually worth."""
        kinds = {plan.axis.motion.rotary for plan in self.plans}
        return (*(_table(plan) for plan in self.plans), _references(kinds))

    def as_json(self) -> Json:
        """The visits of each axis."""
        return {
            "axes": [
                {
                    "axis": plan.axis.name,
                    "unit": plan.axis.unit.name,
                    "readings": plan.axis.plan.readings,
                    "zero_at": plan.axis.plan.zero_at,
                    "sheet": str(plan.sheet) if plan.sheet else None,
                    "visits": [
                        {"position": plan.axis.unit.from_si(visit.position), "approach": SIDES[visit.side]}
                        for visit in plan.visits
                    ],
                }
                for plan in self.plans
            ]
        }


def _headline(axis: Axis, *, alone: bool) -> str:
    plan = axis.plan
    sides = "going up and coming down" if plan.both_sides else "from below only"
    whose = "" if alone else f"{axis.name}: "
    readings = counted(plan.readings, "reading")
    return f"{whose}Visit {plan.points} positions {sides}, {readings} at each."


def plan_calibration(rig: Rig, *, axis: str | None = None, out: str | Path | None = None) -> PlanResult:
    """The positions to calibrate at, and on request a blank sheet for each axis.

    Parameters
    ----------
    rig : Rig
        The machine.
    axis : str, optional
        Name of an axis; all of them where none is named.
    out : str or Path, optional
        A CSV file to fill; of several axes each has one, with the axis's name at the end of its own.

    Returns
    -------
    PlanResult
        Visits in order.

    Raises
    ------
    UsageError
        There is no axis of that name.
    DataError
        The sheet exists already, or cannot be written.
    """
    plans = []
    for each in chosen_axes(rig, axis):
        visits = _visits(each)
        stem = stems(list(rig.axes))[each.name] if axis is None and len(rig.axes) > 1 else None
        sheet = None if out is None else _write(each, visits, Path(out), stem=stem)
        plans.append(AxisPlan(axis=each, visits=visits, sheet=sheet))
    return PlanResult(plans=tuple(plans))


def _visits(axis: Axis) -> tuple[Visit, ...]:
    up = [Visit(position=float(q), side=1) for q in axis.positions(axis.plan.points)]
    down = [Visit(position=visit.position, side=-1) for visit in reversed(up)]
    return (*up, *down) if axis.plan.both_sides else tuple(up)


def _write(axis: Axis, visits: tuple[Visit, ...], out: Path, *, stem: str | None) -> Path:
    path = out if stem is None else out.with_name(f"{out.stem}-{stem}{out.suffix}")
    unit = axis.unit
    lines = [
        f"# {one_line(axis.name)}: write where the axis really stood and what the controller showed",
        f"# as {axis.raw.value}; repeat lines at will",
        f"reference_{unit.name},raw,approach,aim_{unit.name}",
    ]
    for visit in visits:
        lines += [
            f",,{SIDES[visit.side]},{decimal(visit.position, unit, fine=axis.permissible)}"
        ] * axis.plan.readings
    write_whole(path, "\n".join(lines) + "\n", fresh=True)
    return path


def _references(kinds: set[bool]) -> Table:
    """What references are usually known to, for turning axes, straight ones or both."""
    rows = tuple((name, worth) for rotary, name, worth in USUAL_REFERENCES if rotary in kinds)
    note = (
        "Write what yours is worth in the rig file, under plan.reference: three times better than the need."
    )
    return Table(
        title="References, and how well they are usually known",
        columns=("reference", "usually"),
        rows=rows,
        note=note,
    )


def _table(plan: AxisPlan) -> Table:
    axis = plan.axis
    rows = tuple(
        (
            str(index),
            show(visit.position, axis.unit, digits=5),
            f"from {'below' if visit.side > 0 else 'above'}",
            "",
            "",
        )
        for index, visit in enumerate(plan.visits, 1)
    )
    note = (
        "Sensor power on, motor power physically removed, load supported: before the first reading. "
        "Come to each place from the side named, and overshoot before you turn back. "
        "A level measures against gravity: level the chassis first, or zero the level on it."
    )
    names = ("no.", "go to", "come", "reference reads", "raw")
    return Table(
        title=f"{axis.name}: {axis.plan.readings} readings at each",
        columns=names,
        rows=rows,
        right=names[:2],
        note=note,
    )
