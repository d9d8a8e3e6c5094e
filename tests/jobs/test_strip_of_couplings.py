"""What the report's strip shows of couplings, cables and leaks: values in units that people read."""

import pytest

from anglewright.jobs.inside import inside
from anglewright.rigfile.keys import TableReader
from anglewright.rigfile.kinds import part_named

SHOWN = [
    ("coupling", "d-bore", {"gap": "0.2 mm"}, "gap", "0.2 mm"),
    ("coupling", "flexible", {"friction": "5 N mm"}, "friction", "5 N mm"),
    ("coupling", "flexible", {"stiffness": "20 N m/rad"}, "stiffness", "20 N m/rad"),
    ("wiring", "analogue", {"leakage": "2 uA ± 1 uA"}, "leakage", "2 uA ± 1 uA"),
]


@pytest.mark.parametrize(("room", "kind", "table", "name", "text"), SHOWN)
def test_a_value_is_shown_in_its_unit(room, kind, table, name, text):
    part, reader = part_named(room, kind), TableReader()
    facts = inside(part(**reader.fields(table, part.KEYS, where=room)))
    assert reader.problems == []
    assert next(fact.value for fact in facts if fact.name == name) == text


ALONG = [("from", "0 mm"), ("to", "560 mm"), ("speed", "150 mm/s"), ("strength", "30 N")]
ROUND = [("from", "-20 deg"), ("to", "115 deg"), ("speed", "90 deg/s"), ("strength", "12 N m")]


@pytest.mark.parametrize(("rotary", "values"), [(False, ALONG), (True, ROUND)])
def test_a_motion_shows_lengths_along_a_line_and_angles_round_a_shaft(rotary, values):
    reader, part = TableReader(), part_named("motion", "motion")
    fields = reader.fields(dict(values), part.KEYS, where="motion")
    facts = {fact.name: fact.value for fact in inside(part(**fields, rotary=rotary))}
    assert reader.problems == []
    assert facts.items() >= dict(values).items()


def test_a_rate_and_a_temperature_bring_their_units():
    reader, part = TableReader(), part_named("converter", "counter")
    facts = inside(part(**reader.fields({"top_rate": "250 kHz"}, part.KEYS, where="converter")))
    assert next(fact.value for fact in facts if fact.name == "top_rate") == "250 kHz"
    reader, part = TableReader(), part_named("sensor", "potentiometer")
    table = {"track": "10 kohm", "electrical_travel": "340 deg", "derating": {"hottest": "70 degC"}}
    facts = inside(part(**reader.fields(table, part.KEYS, where="sensor")))
    assert reader.problems == []
    assert next(fact.value for fact in facts if fact.name == "derating.hottest") == "70 degC"
