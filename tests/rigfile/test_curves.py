"""Keys that hold a known curve, or a limit given in counts."""

import pytest

from anglewright.links.fields import CurveKey, LimitKey
from anglewright.quantities.units import Kind
from anglewright.rigfile.keys import TableReader
from anglewright.shapes import UnknownShape

CURVE = CurveKey(name="table", field="curve", meaning="codes at voltages", kinds=(Kind.VOLTAGE, Kind.COUNT))
LIMIT = LimitKey(name="inl", field="bend", meaning="limit of the bend", kind=Kind.COUNT)
WRITE = 'Write pairs that rise, as in [["0.8 V", 820], ["1.6 V", 1810], ["2.5 V", 2800]].'


def read(key, table):
    reader = TableReader()
    return reader.fields(table, (key,), where="converter"), [str(each) for each in reader.problems]


def test_a_curve_becomes_pairs_in_si_units():
    fields, problems = read(CURVE, {"table": [["800 mV", 820], ["1.6 V", "1810 LSB"]]})
    assert (fields, problems) == ({"curve": ((0.8, 820.0), (1.6, 1810.0))}, [])


@pytest.mark.parametrize(("key", "field"), [(CURVE, "curve"), (LIMIT, "bend")])
def test_what_has_no_default_stays_none_where_the_file_is_silent(key, field):
    reader = TableReader()
    assert reader.fields({}, (key,), where="converter") == {field: None}
    assert (reader.problems, reader.assumptions) == ([], [])


@pytest.mark.parametrize("raw", ["0.8 V", [], [["0.8 V", 820]], [["0.8 V", 820], ["1.6 V"]], [820, 1810]])
def test_what_is_no_row_of_pairs_is_refused(raw):
    sentence = f"converter.table: '{raw}' is not a row of two pairs or more. {WRITE}"
    assert read(CURVE, {"table": raw}) == ({}, [sentence])


@pytest.mark.parametrize("last", [["0.8 V", 1810], ["1.6 V", 820], ["0.7 V", 1810]])
def test_a_curve_that_does_not_rise_is_refused(last):
    fields, problems = read(CURVE, {"table": [["0.1 V", 3], ["0.8 V", 820], last]})
    assert fields == {}
    assert problems == [
        f"converter.table: it does not rise from (0.8 V, 820) to ({last[0]}, {last[1]}). "
        "Put the pairs in order, and leave out what stands still."
    ]


def test_each_number_of_a_curve_is_read_with_its_unit():
    fields, problems = read(CURVE, {"table": [[0.8, 820], ["1.6 A", True]]})
    assert fields == {}
    assert problems == [
        "converter.table: '0.8' has no unit, a voltage is asked for. Write it in V, mV or uV.",
        "converter.table: '1.6 A' is a current, a voltage is asked for. Write it in V, mV or uV.",
        'converter.table: True is not a quantity. Write a number with its unit in quotes, "10 kohm".',
    ]


def test_a_limit_in_counts_becomes_an_unknown_shape_of_that_many():
    assert read(LIMIT, {"inl": "4 LSB"}) == ({"bend": UnknownShape(limit=4.0)}, [])
    assert read(LIMIT, {"inl": "0 LSB ± 4 LSB"}) == ({"bend": UnknownShape(limit=4.0)}, [])


def test_a_limit_in_counts_is_no_share():
    _, problems = read(LIMIT, {"inl": "1 %"})
    assert len(problems) == 1
    assert problems[0].startswith("converter.inl: '1 %' is a fraction, a number of counts is asked for.")
