"""Which number play is laid to; expected sizes worked out by hand."""

import math
from pathlib import Path

import pytest

from anglewright.jobs.freemotion import play_share
from anglewright.jobs.opening import open_rig
from anglewright.rig import Axis
from anglewright.rigfile.document import parse_document
from anglewright.rigfile.reading import build_rig

GEARS = 2 * 0.1 / 48  # 0.1 mm at the pitch circle of 48 teeth of 1 mm, as an angle of the axis [rad]


def shoulder(root: Path, *changes: str) -> Axis:
    rig = open_rig(root / "examples" / "rover" / "rig.toml", changes=[f"shoulder.{each}" for each in changes])
    return rig.axis("shoulder")


def test_the_coupling_gets_what_the_gears_leave(root: Path) -> None:
    share = play_share(shoulder(root))
    assert share is not None
    assert share.number.key == "coupling.play"
    assert share.per_one == pytest.approx(0.5)
    assert share.others == pytest.approx((GEARS, GEARS))
    low, high = share.of(GEARS + 0.01, GEARS + 0.02)
    assert (low, high) == pytest.approx((0.02, 0.04))


def test_a_spread_of_the_gears_widens_what_the_coupling_gets(root: Path) -> None:
    share = play_share(shoulder(root, "drive.backlash=0.1 mm ± 0.05 mm"))
    assert share is not None
    assert share.others == pytest.approx((GEARS / 2, GEARS * 3 / 2))


def test_the_only_play_there_is_gets_all_of_it(root: Path) -> None:
    share = play_share(shoulder(root, "coupling.play=0 deg"))
    assert share is not None
    assert share.number.key == "drive.backlash"
    assert share.others == pytest.approx((0.0, 0.0), abs=1e-12)
    assert share.per_one == pytest.approx(2 / 0.048)


def test_a_gap_is_what_play_is_laid_to_where_it_is_worked_out_from_one(root: Path) -> None:
    """4 c / w at the shaft of the sensor, half of it at the axis."""
    text = (root / "examples" / "rover" / "rig.toml").read_text(encoding="utf-8")
    changed = text.replace('play = "3 deg"', 'gap = "0.1 mm"')
    assert changed != text
    share = play_share(build_rig(parse_document(changed, source="x"), source="x").axis("shoulder"))
    assert share is not None
    assert share.number.key == "coupling.gap"
    assert share.per_one == pytest.approx(4 / 5.2e-3 / 2)


def test_play_of_the_body_and_of_the_gears_cannot_be_told_apart(root: Path) -> None:
    assert play_share(shoulder(root, "coupling.play=0 deg", "mount.body_play=1 deg")) is None


def test_an_axis_without_play_has_no_number_for_it(root: Path) -> None:
    assert play_share(shoulder(root, "coupling.play=0 deg", "drive.backlash=0 mm")) is None


def test_what_is_only_assumed_may_be_half_or_twice_as_much(root: Path) -> None:
    text = (root / "examples" / "rover" / "rig.toml").read_text(encoding="utf-8")
    silent = text.replace('backlash = "0.10 mm"\n', "")
    assert silent != text
    share = play_share(build_rig(parse_document(silent, source="x"), source="x").axis("shoulder"))
    assert share is not None
    assert share.others == pytest.approx((GEARS / 2, GEARS * 2))
    assert math.degrees(share.others[1]) < 0.5
