"""Job: how to wire the sensor of an axis: pin table, wire list with what to mind, and the schematic."""

from dataclasses import dataclass
from pathlib import Path

from anglewright.jobs.drawing import (
    is_long,
    is_track,
    lead_fields,
    listed,
    schematic_of,
    signal_wires,
    wire_ohms,
)
from anglewright.jobs.mounting import drawing_file, held_look
from anglewright.jobs.opening import the_axis
from anglewright.jobs.shown import Json, Shown, Table
from anglewright.links.signals import SignalWire
from anglewright.quantities.showing import show, show_spread
from anglewright.quantities.spread import Spread
from anglewright.quantities.units import UNITS
from anglewright.report.document import Wire, WiringSheet
from anglewright.report.drafting import as_file
from anglewright.report.schematic import Schematic, draw_schematic
from anglewright.review.cautions import BEFORE_WORK, WHO_DECIDES
from anglewright.rig import Axis, Rig
from anglewright.rigfile.storing import write_whole
from anglewright.simulation.faults.protocol import sensor_port
from anglewright.sources import cite

NO_POWER = (
    "Power off and the connector off for all of this; feed and ground are measured against each other before "
    "the sensor is plugged in for the first time."
)
SILENT = "not given"
SOURCE = "practice"
"""Where every sentence beside the wire list comes from."""


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class WireResult(Shown):
    """Wires of one axis, with the file of its schematic where one was written."""

    axis: Axis
    wires: tuple[Wire, ...]
    notes: tuple[str, ...]
    rig_notes: tuple[str, ...]
    file: Path | None = None

    @property
    def headline(self) -> str:
        """How many wires, and which lie between feed and ground."""
        signals = listed(each.name for each in self.wires[1:-1])
        where = "in the middle" if len(self.wires) == 3 else "between feed and ground"
        return f"Wire {self.axis.name}: {len(self.wires)} contacts, {signals} {where}."

    @property
    def schematic(self) -> Schematic:
        """The circuit, ready to be drawn."""
        return schematic_of(self.axis)

    @property
    def cautions(self) -> tuple[str, ...]:
        """What comes first."""
        return (NO_POWER, BEFORE_WORK, WHO_DECIDES)

    @property
    def parts(self) -> tuple[tuple[str, str], ...]:
        """Name and value of everything between connector and pin."""
        plan = self.schematic
        stages = (*plan.stages, *((plan.own,) if plan.own else ()))
        labels = (each for stage in stages for each in (stage.series, stage.up, stage.down, stage.capacitor))
        return tuple((label[0], label[1]) for label in labels if label)

    def tables(self) -> tuple[Table, ...]:
        """Pin table, wire list, parts, what to mind."""
        told = (*self.cautions, *self.notes, *self.rig_notes)
        tables = (
            Table(title="Pins", columns=_PINS, rows=tuple(map(_pin_row, self.wires))),
            Table(title="Wires", columns=_WIRES, rows=tuple(map(_wire_row, self.wires))),
            Table(title="Parts between connector and pin", columns=("part", "value"), rows=self.parts),
            Table(title="What to mind", columns=(cite(SOURCE),), rows=tuple((each,) for each in told)),
        )
        return tuple(table for table in tables if table.rows)

    def as_json(self) -> Json:
        """Wires, parts, sentences with their source."""
        return {
            "axis": self.axis.name,
            "wires": [
                {
                    "contact": each.contact,
                    "carries": each.name,
                    "at_sensor": each.at_sensor,
                    "at_controller": each.at_controller,
                    "length": each.length or None,
                    "gauge": each.gauge or None,
                    "resistance": each.ohms or None,
                    "colour": None,
                }
                for each in self.wires
            ],
            "parts": [{"part": name, "value": value} for name, value in self.parts],
            "notes": [{"text": text, "source": cite(SOURCE)} for text in self.notes],
            "cautions": list(self.cautions),
            "file": str(self.file) if self.file else None,
        }


_PINS = ("contact", "carries", "at the sensor", "at the controller")
_WIRES = ("contact", "length", "gauge", "resistance", "colour found")


def _pin_row(each: Wire) -> tuple[str, ...]:
    return (f"{each.contact}", each.name, each.at_sensor, each.at_controller)


def _wire_row(each: Wire) -> tuple[str, ...]:
    """The colour is left to be found."""
    return (f"{each.contact}", each.length or SILENT, each.gauge or SILENT, each.ohms or SILENT, "")


def wire(
    rig: Rig, *, axis: str | None = None, svg: str | Path | None = None, look: str = "screen"
) -> WireResult:
    """How to wire the sensor of an axis.

    Parameters
    ----------
    rig : Rig
        The machine.
    axis : str, optional
        Name of an axis; the only one where there is but one.
    svg : str or Path, optional
        File for the schematic.
    look : str
        How the schematic's file looks: ``screen``, ``light``, ``dark`` or ``print``.

    Returns
    -------
    WireResult
        Pin table, wire list, parts, and what to mind.

    Raises
    ------
    UsageError
        No such axis or look.
    DataError
        The file cannot be written, or there is one that is no drawing.

    Examples
    --------
    A plug put in backwards only turns the direction round, as the wiper lies in the middle:

    >>> from anglewright.jobs.opening import open_rig
    >>> wire(open_rig("examples/rover/rig.toml"), axis="shoulder").headline
    'Wire shoulder: 3 contacts, wiper in the middle.'
    """
    held_look(look, svg)
    chosen = the_axis(rig, axis)
    file = None if svg is None else drawing_file(svg)
    result = WireResult(
        axis=chosen, wires=wires_of(chosen), notes=wire_notes(chosen), rig_notes=rig.notes, file=file
    )
    if file:
        write_whole(file, as_file(draw_schematic(result.schematic), look=look))
    return result


def wiring_sheet(axis: Axis) -> WiringSheet:
    """The wiring of an axis as the report shows it."""
    notes = (NO_POWER, *wire_notes(axis))
    return WiringSheet(schematic=schematic_of(axis), wires=wires_of(axis), notes=notes)


def wires_of(axis: Axis) -> tuple[Wire, ...]:
    """Each wire of the cable, the signals between feed and ground; its colour is left to be found."""
    ends = ("end of the track where the reading is highest", "end of the track where the reading is lowest")
    feed, ground = ends if is_track(axis) else ("feed of the sensor", "ground of the sensor")
    rows = (
        SignalWire(name="feed", at_sensor=feed, at_controller="feed"),
        *signal_wires(axis),
        SignalWire(name="ground", at_sensor=ground, at_controller="ground of the controller, its own wire"),
    )
    each = enumerate(zip(rows, lead_fields(axis), strict=True), start=1)
    return tuple(_wire(axis, contact, *row) for contact, row in each)


def _wire(axis: Axis, contact: int, row: SignalWire, field: str) -> Wire:
    wiring = axis.part("wiring")
    length, gauge, given = (getattr(wiring, each, None) for each in ("lead_length_m", "lead_gauge", field))
    ohms = show_spread(given, UNITS["ohm"]) if isinstance(given, Spread) else wire_ohms(wiring)
    return Wire(
        contact=contact,
        name=row.name,
        at_sensor=row.at_sensor,
        at_controller=row.at_controller,
        length=show(length.nominal, UNITS["m"]) if isinstance(length, Spread) else "",
        gauge=f"{gauge}" if gauge is not None and isinstance(length, Spread) else "",
        ohms=ohms,
    )


def wire_notes(axis: Axis) -> tuple[str, ...]:
    """What to mind as the cable is made and laid: common practice, no source."""
    wiring = axis.part("wiring")
    length = getattr(wiring, "lead_length_m", None)
    told = f"; this one has {show(length.nominal, UNITS['m'])}" if isinstance(length, Spread) else ""
    twist = f"Twist or shield {'this' if is_long(wiring) else 'a'} cable beyond about a metre"
    return (
        _connector_note(axis),
        "Never trust wire colours: find each wire with a meter, then write the colour found into the list.",
        "Strain relief near the sensor, so that no pull reaches its solder or its contacts.",
        "A service loop, checked at both extremes of the motion: nothing taut, nothing pinched.",
        f"Away from motor leads, across them where it must be. {twist}{told}.",
        "Pull at every crimp: most faults in service are crimps and flexing cable.",
        "A ground wire of the sensor's own, never shared with a motor.",
        *sensor_port(axis).wire_notes,
    )


def _connector_note(axis: Axis) -> str:
    """What a plug put in backwards does: feed and ground change over, and with several signals these too."""
    if is_track(axis):
        where = "Connector with a lock, the signal in the middle"
        return f"{where}: put in backwards it then only turns the direction round."
    many = len(signal_wires(axis)) > 1
    between = "the signals between feed and ground" if many else "the signal in the middle"
    changed = "feed and ground over, and signals among themselves," if many else "feed and ground over"
    note = f"Connector with a lock and a key, {between}: put in backwards it changes {changed}"
    return f"{note} and can destroy this sensor."
