"""What the report's strip shows of couplings, cables and leaks: values in units that people read."""

import pytest

from anglewright.jobs.strip import inside
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
