"""A short table with a column for each name that is known beforehand."""

from pathlib import Path

import pytest

from anglewright.errors import DataError
from anglewright.tables.named import named_columns
from anglewright.tables.source import HEAD


def written(folder: Path, text: str) -> Path:
    path = folder / "rest.csv"
    path.write_text(text, encoding="utf-8")
    return path


@pytest.mark.parametrize(
    "text",
    [
        "t,arm,lift\n0,1,2\n1,3,4\n",
        "t;ARM;lift (counts)\n0;1;2\n1;3;4\n",
        "t\tarm_raw\tLift\n0\t1\t2\n1\t3\t4\n",
        "# a log\nt,lift,arm\n0,2,1\n1,4,3\n",
    ],
)
def test_columns_are_found_by_name_whatever_stands_around_it(tmp_path: Path, text: str) -> None:
    found = named_columns(written(tmp_path, text), ["arm", "lift"])
    assert {name: values.tolist() for name, values in found.items()} == {"arm": [1, 3], "lift": [2, 4]}


def test_a_name_that_begins_another_is_not_taken_for_it(tmp_path: Path) -> None:
    path = written(tmp_path, "t,arm_2,arm2\n0,1,5\n1,3,6\n")
    assert {k: v.tolist() for k, v in named_columns(path, ["arm", "arm_2"]).items()} == {"arm_2": [1, 3]}
    assert {k: v.tolist() for k, v in named_columns(path, ["arm2"]).items()} == {"arm2": [5, 6]}


def test_cells_that_are_no_numbers_are_left_out(tmp_path: Path) -> None:
    found = named_columns(written(tmp_path, "t,arm\n0,1\n1,\n2,x\n3,4\n"), ["arm"])
    assert found["arm"].tolist() == [1, 4]


def test_a_table_without_the_names_says_which_it_has(tmp_path: Path) -> None:
    path = written(tmp_path, "t,raw\n0,1\n1,2\n")
    with pytest.raises(DataError) as caught:
        named_columns(path, ["arm", "lift"])
    assert str(caught.value) == (
        f"{path}: no column has the name of an axis (t, raw). Name the raw columns after the axes: arm, lift."
    )


def test_a_long_recording_is_refused_before_it_is_read(tmp_path: Path) -> None:
    path = written(tmp_path, "t,arm\n" + "0,1\n" * (HEAD // 4))
    with pytest.raises(DataError) as caught:
        named_columns(path, ["arm"])
    assert str(caught.value) == (
        f"{path}: it is a long recording, and a few seconds are wanted here. "
        "Cut out the rest, where nothing moves."
    )
