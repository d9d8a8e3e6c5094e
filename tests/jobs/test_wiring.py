"""A wire, a contact and a line of the schematic for each signal of a sensor, under the terms of the trade.

What the wires are called is from memory of common data sheets: A, B and index of incremental sensors; data,
clock and select of synchronous serial ones. Common practice, no source.
"""

import re
from collections.abc import Mapping
from dataclasses import dataclass, fields, replace
from typing import Any

import pytest

from anglewright.jobs.drawing import listed, schematic_of
from anglewright.jobs.wiring import WireResult, wire, wire_notes, wires_of
from anglewright.links.protocol import Port, Values, WordPort
from anglewright.links.serial import SerialPart
from anglewright.links.signals import SignalWire
from anglewright.report.schematic import draw_schematic
from anglewright.rig import Axis, Rig
from anglewright.rigfile.reading import build_rig

TRACK = {"kind": "potentiometer", "track": "10 kohm", "electrical_travel": "340 deg"}
LINES = {"kind": "incremental", "lines": 100}
PAIR = {"kind": "gear-pair", "driving_teeth": 32, "first_teeth": 17, "second_teeth": 16}
HOMED = {"kind": "homed"}
KINDS: Mapping[str, tuple[dict[str, Any], dict[str, Any], list[str]]] = {
    "track": (TRACK, {}, ["wiper"]),
    "magnetic": ({"kind": "magnetic"}, {}, ["signal"]),
    "pulses": ({"kind": "pulse-width"}, {}, ["pulses"]),
    "lines": (LINES, HOMED, ["A", "B"]),
    "indexed": (LINES | {"index": "yes"}, HOMED, ["A", "B", "index"]),
    "word": ({"kind": "serial"}, {}, ["data", "clock", "select"]),
    "pair": (PAIR, {}, ["data", "clock", "first select", "second select"]),
}
SEVERAL = [name for name, (_, _, signals) in KINDS.items() if len(signals) > 1]


def rig_of(name: str, **wiring: Any) -> Rig:
    """An axis with one of the kinds of sensor."""
    sensor, mount, _ = KINDS[name]
    axis = {
        "motion": {"from": "-60 deg", "to": "60 deg"},
        "need": {"error": "5 deg", "homing": "allowed"},
        "when_unpowered": "holds",
        "marks": {"a": {"at": "0 deg"}},
        "drive": {"gears": [24, 24]},
        "sensor": sensor,
        "mount": {"clamped_at": "a", **mount},
        "plan": {"zero_at": "a"},
    }
    table = {"wiring": wiring} if wiring else {}
    return build_rig({"rig": "kinds", "axis": {name: axis | table}}, source="kinds.toml")


def axis_of(name: str) -> Axis:
    """The axis itself."""
    return rig_of(name).axis(name)


def result(name: str) -> WireResult:
    """What `wire` says of it."""
    return wire(rig_of(name))


@pytest.mark.parametrize("name", KINDS)
def test_each_signal_has_a_wire_of_its_own_between_feed_and_ground(name: str) -> None:
    wires = wires_of(axis_of(name))
    assert [each.name for each in wires] == ["feed", *KINDS[name][2], "ground"]
    assert [each.contact for each in wires] == list(range(1, len(wires) + 1))


@pytest.mark.parametrize("name", KINDS)
def test_pin_table_wire_list_json_and_schematic_have_the_same_contacts(name: str) -> None:
    found = result(name)
    pins, lengths = found.tables()[:2]
    count = len(KINDS[name][2]) + 2
    assert len(pins.rows) == len(lengths.rows) == len(found.as_json()["wires"]) == count
    assert found.schematic.contacts == tuple(f"{row[0]} {row[1]}" for row in pins.rows)


@pytest.mark.parametrize("name", KINDS)
def test_each_contact_is_drawn_once_with_a_line_of_its_own(name: str) -> None:
    svg = draw_schematic(result(name).schematic)
    texts = re.findall(r">([^<]+)</text>", svg)
    signals = KINDS[name][2]
    for contact in result(name).schematic.contacts:
        assert texts.count(contact) == 1
    into_controller = set(re.findall(r'class="signal" d="M0 ([\d.]+)H', svg))
    assert len(into_controller) == len(signals)
    assert svg.count('class="bar"') == len(signals) + 2


@pytest.mark.parametrize(
    ("name", "said"),
    [
        ("track", "3 contacts, wiper in the middle."),
        ("lines", "4 contacts, A and B between feed and ground."),
        ("word", "5 contacts, data, clock and select between feed and ground."),
    ],
)
def test_the_headline_counts_contacts_and_names_the_signals(name: str, said: str) -> None:
    assert result(name).headline == f"Wire {name}: {said}"


def test_a_select_for_each_sensor_of_a_pair_and_one_clock_for_both() -> None:
    ends = {each.name: (each.at_sensor, each.at_controller) for each in wires_of(axis_of("pair"))}
    assert ends["data"] == ("data output", "input of the controller")
    assert ends["clock"] == ("clock input of every sensor", "output of the controller")
    assert ends["second select"] == ("select input of the second sensor", "output of the controller")


@pytest.mark.parametrize("name", KINDS)
def test_only_a_track_may_be_plugged_in_backwards(name: str) -> None:
    note = wire_notes(axis_of(name))[0]
    assert ("only turns the direction round" in note) == (name == "track")
    assert ("can destroy this sensor" in note) == (name != "track")
    assert ("signals among themselves" in note) == (name in SEVERAL)


@pytest.mark.parametrize(
    ("name", "count", "part"),
    [
        ("track", 0, ""),
        ("magnetic", 0, ""),
        ("pulses", 1, "no pulse comes"),
        ("lines", 1, "to and fro by one"),
        ("indexed", 2, "never ends"),
        ("word", 2, "or what its data sheet names"),
        ("pair", 3, "one sensor at a time"),
    ],
)
def test_what_an_open_wire_looks_like_is_said_of_the_wires_that_are_there(
    name: str, count: int, part: str
) -> None:
    plain = len(wire_notes(axis_of("track")))
    own = wire_notes(axis_of(name))[plain:]
    assert len(own) == count
    assert part in " ".join(own)


def counts(a: list[int], b: list[int], decode: int) -> list[int]:
    """Counts of two tracks as registers of counters make them: edges of A, of A both ways, of both."""
    found, total = [], 0
    for before, after in zip(zip(a, b, strict=True), zip(a[1:], b[1:], strict=True), strict=False):
        rose, fell = after[0] > before[0], after[0] < before[0]
        if rose or (fell and decode > 1):
            total += (1 if after[1] == 0 else -1) * (1 if rose else -1)
        if decode == 4 and after[1] != before[1]:
            total += 1 if (after[1] > before[1]) == (after[0] == 1) else -1
        found.append(total)
    return found


@pytest.mark.parametrize("decode", [1, 2, 4])
@pytest.mark.parametrize("level", [0, 1])
@pytest.mark.parametrize("lost", ["A", "B"])
def test_with_one_track_open_a_counter_does_as_the_note_says(lost: str, level: int, decode: int) -> None:
    a, b = [0, 1, 1, 0] * 12 + [0], [0, 0, 1, 1] * 12 + [0]
    assert counts(a, b, decode)[-1] == 12 * decode
    held = [level] * len(a)
    both_ways = [
        counts(*((held, track_b) if lost == "A" else (track_a, held)), decode)
        for track_a, track_b in ((a, b), (a[::-1], b[::-1]))
    ]
    within_one = all(max(each) - min(each) <= 1 for each in both_ways)
    one_way = both_ways[0][-1] == both_ways[1][-1] != 0
    assert within_one or one_way


def test_every_signal_has_the_resistance_of_its_cable() -> None:
    rig = rig_of("indexed", length="2 m", gauge=24)
    wires = wires_of(rig.axis("indexed"))
    # Gauge 24 is 84.2 milliohm a metre by the gauge's own law, ASTM B258, from memory.
    assert [(each.length, each.ohms) for each in wires] == [("2 m", "170 mohm")] * 5


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class BusPort(WordPort):
    """Of a kind from outside: words over one wire that it names itself."""

    @property
    def wires(self) -> tuple[SignalWire, ...]:
        """One for all."""
        return (SignalWire(name="bus", at_sensor="bus, both ways"),)

    @property
    def wire_notes(self) -> tuple[str, ...]:
        """One of its own."""
        return ("Mind the bus.",)


@dataclass(frozen=True, slots=True, kw_only=True)
class BusPart(SerialPart):
    """A kind from outside."""

    def sends(self, values: Values) -> BusPort:
        """Words over a bus."""
        return BusPort(positions=self.positions_a_turn, delay_s=values["delay_s"])


def test_a_kind_from_outside_names_its_own_wires() -> None:
    axis = axis_of("word")
    sensor = axis.part("sensor")
    assert isinstance(sensor, SerialPart)
    own = BusPart(**{each.name: getattr(sensor, each.name) for each in fields(sensor)})
    outside = replace(axis, parts=tuple(own if each is sensor else each for each in axis.parts))
    assert [each.at_sensor for each in wires_of(outside)][1:-1] == ["bus, both ways"]
    assert schematic_of(outside).contacts == ("1 feed", "2 bus", "3 ground")
    assert wire_notes(outside)[-1] == "Mind the bus."


def test_a_port_that_says_nothing_of_its_wires_has_one_signal() -> None:
    assert Port().wires == (SignalWire(name="signal"),)
    assert Port().wire_notes == ()


def test_names_are_listed_as_in_a_sentence() -> None:
    assert [listed(names) for names in (["A"], ["A", "B"], ["A", "B", "index"])] == [
        "A",
        "A and B",
        "A, B and index",
    ]
