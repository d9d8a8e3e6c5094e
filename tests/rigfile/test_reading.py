"""A rig file becomes a rig: every number in SI units, every silence an assumption, every name as typed."""

import math

import pytest
import tomlkit

from anglewright.budget.totals import budget_axis
from anglewright.quantities.spread import Persistence, Shape
from anglewright.quantities.units import Kind
from anglewright.rig import RawForm, Unpowered, at_nominal, fingerprint, realise
from anglewright.rigfile.document import load_document, parse_document, with_changes
from anglewright.rigfile.reading import build_rig, read_rig

SHORT = """
[axis.pan]
motion = { from = "0 deg", to = "90 deg" }
need = { error = "5 deg" }
when_unpowered = "holds"
"""
NAMES = [
    "gelenk 1",
    "épaule",
    "肩",
    'say "hi"',
    "it's",
    "../x",
    "a/b\\c",
    "C:\\x",
    "<b>&amp;",
    "*/ int",
    "%s{}",
    "-20",
    "a.b",
]


@pytest.fixture
def shoulder(root):
    return read_rig(root / "examples" / "rover" / "rig.toml").axis("shoulder")


def test_the_shoulder_is_read_in_si_units(shoulder):
    # by hand from the file: degrees times pi / 180, kohm times 1000 and so on
    sensor, wiring, mount = shoulder.part("sensor"), shoulder.part("wiring"), shoulder.part("mount")
    assert shoulder.unit.name == "deg"
    assert (shoulder.motion.low, shoulder.motion.high) == pytest.approx((-math.pi / 9, 23 * math.pi / 36))
    assert shoulder.motion.speed.nominal == pytest.approx(math.pi / 2)
    assert shoulder.permissible == pytest.approx(math.pi / 180)
    assert shoulder.when_unpowered is Unpowered.DROPS
    assert shoulder.raw is RawForm.COUNTS
    assert sensor.track_ohm.limits == pytest.approx((8e3, 12e3))
    assert sensor.travel_rad.limits == pytest.approx((math.radians(335), math.radians(345)))
    assert sensor.mechanical_rad is None
    assert sensor.shape.limit == pytest.approx(0.01)
    assert mount.error_rad.limits == pytest.approx((-math.pi / 60, math.pi / 60))
    assert (wiring.pull_down_ohm.nominal, wiring.pull_up_ohm, wiring.pull_at) == (100e3, None, "pin")
    assert wiring.capacitor_f.nominal == pytest.approx(1e-7)
    noise = shoulder.part("converter").noise_counts
    assert (noise.nominal, noise.standard_uncertainty, noise.shape) == (0.0, 1.5, Shape.NORMAL)
    assert noise.persistence is Persistence.READING
    assert shoulder.part("converter").reference_v is None


def test_marks_plan_and_stops_are_read(shoulder):
    plan = shoulder.plan
    assert sorted(shoulder.marks) == ["pin", "stow"]
    assert shoulder.marks["pin"].at.half_width == pytest.approx(math.radians(0.05))
    assert shoulder.marks["stow"].how == "arm on the lower rest"
    assert (plan.zero_at, plan.points, plan.readings, plan.both_sides, plan.model) == (
        "pin",
        9,
        4,
        True,
        "line",
    )
    assert plan.reference.per_point.half_width == pytest.approx(math.radians(0.1))
    assert plan.reference.scale.is_exact
    assert (shoulder.stops.low, shoulder.stops.high) == pytest.approx((math.radians(-28), math.radians(123)))
    assert not shoulder.stops_assumed


def test_what_the_file_is_silent_on_is_assumed_and_said():
    axis = build_rig(parse_document(SHORT, source="short.toml"), source="short.toml").axis("pan")
    assumed = {each.key: each.value for each in axis.assumptions}
    assert assumed["sensor.track"] == "10 kohm ± 20 %"
    assert assumed["coupling.play"] == "4 deg"
    assert assumed["converter.bits"] == "12"
    assert assumed["stops"] == "5 % of the range beyond each end"
    assert assumed["marks"] == "middle of the range"
    assert axis.stops_assumed
    assert (axis.stops.low, axis.stops.high) == pytest.approx((math.radians(-4.5), math.radians(94.5)))
    assert axis.mark("middle").at.nominal == pytest.approx(math.radians(45.0))
    assert axis.part("drive").describe() == "On the axis itself"
    assert all(each.meaning for each in axis.assumptions)


def test_a_file_that_says_nearly_everything_assumes_what_is_left(root):
    rig = read_rig(root / "examples" / "rover" / "rig.toml")
    assert [each.key for each in rig.axis("shoulder").assumptions] == ["plan.reference.scale"]
    assert (rig.name, rig.simulated) == ("Vine rover", True)


def test_a_changed_play_is_the_only_change(root):
    document = load_document(root / "examples" / "rover" / "rig.toml")
    before, after = (
        build_rig(each, source="rig.toml").axis("shoulder")
        for each in (document, with_changes(document, ["shoulder.coupling.play=1.5 deg"]))
    )
    assert after.part("coupling").play_rad.nominal == pytest.approx(math.radians(1.5))
    assert [a == b for a, b in zip(before.parts, after.parts, strict=True)].count(False) == 1


@pytest.mark.parametrize("name", NAMES)
def test_a_name_goes_through_as_typed(root, name):
    document = load_document(root / "examples" / "rover" / "rig.toml")
    document["rig"] = name
    document["axis"] = {name: document["axis"]["shoulder"]}
    document["axis"][name]["marks"] = {name: {"at": "47.5 deg", "how": name}}
    document["axis"][name]["mount"]["clamped_at"] = name
    document["axis"][name]["plan"]["zero_at"] = name
    rig = build_rig(parse_document(tomlkit.dumps(document), source="x.toml"), source="x.toml")
    axis = rig.axis(name)
    assert (rig.name, axis.name, axis.clamped_at, axis.mark(name).how) == (name, name, name, name)
    assert budget_axis(axis).axis.name == name
    changed = with_changes(document, [f"{name}.coupling.play=0 deg"])
    assert changed["axis"][name]["coupling"]["play"] == "0 deg"


@pytest.mark.parametrize(
    ("raw", "code", "shown"),
    [
        ("counts", 2048.0, 2048.0),
        ("volts", 2048.0, 3.3 * 2048.5 / 4096.0),
        ("fraction", 2048.0, 2048.5 / 4096.0),
        ("turns", 2048.0, 2048.5 / 4096.0 * 340.0 / 360.0),
    ],
)
def test_the_raw_reading_is_shown_as_the_controller_shows_it(root, raw, code, shown):
    # the middle of a code, (n + 1/2) / 2^N of the full scale; 340 deg of track are 340 / 360 turns
    from anglewright.rig import code_of_raw, raw_of_code

    document = load_document(root / "examples" / "rover" / "no-pull.toml")
    axis = build_rig(with_changes(document, [f"shoulder.converter.raw={raw}"]), source="x").axis("shoulder")
    assert raw_of_code(axis, code) == pytest.approx(shown, rel=1e-9)
    assert code_of_raw(axis, shown) == pytest.approx(code, rel=1e-9)


def test_the_fingerprint_follows_the_chain_and_not_its_spreads(root):
    document = load_document(root / "examples" / "rover" / "rig.toml")

    def print_of(*changes):
        return fingerprint(build_rig(with_changes(document, changes), source="x").axis("shoulder"))

    plain = print_of()
    assert len(plain) == 16
    assert print_of("shoulder.sensor.track=10 kohm ± 1 %") == plain
    assert print_of("shoulder.need.error=2 deg", "shoulder.plan.points=5") == plain
    others = [
        print_of(change)
        for change in (
            "shoulder.drive.gears=[24, 12]",
            "shoulder.sensor.track=5 kohm",
            "shoulder.wiring.feed=5 V",
            "shoulder.wiring.pull.at=lead",
            "shoulder.mount.output=falls",
            "shoulder.converter.bits=10",
            'shoulder.marks.pin={ at = "47 deg" }',
        )
    ]
    assert len({plain, *others}) == len(others) + 1


@pytest.mark.parametrize(
    "change",
    ["coupling.play=1.5 deg ± 0.1 deg", "converter.noise=2 LSB rms", "drive.backlash=0.05 mm",
     "mount.body_play=1 deg", "sensor.contact_noise=0.1 %"],
)  # fmt: skip
def test_noise_and_free_motion_known_better_undo_no_calibration(root, change):
    """The curve lies in the middle of both, so that a record holds whatever their size."""
    document = load_document(root / "examples" / "rover" / "rig.toml")
    plain, better = (
        build_rig(with_changes(document, changes), source="x").axis("shoulder")
        for changes in ([], [f"shoulder.{change}"])
    )
    assert fingerprint(better) == fingerprint(plain)


def test_the_unit_of_the_axis_is_the_one_its_range_is_written_in():
    text = SHORT.replace('"0 deg"', '"0 turn"').replace('"90 deg"', '"0.25 turn"')
    axis = build_rig(parse_document(text, source="x"), source="x").axis("pan")
    assert (axis.unit.name, axis.unit.kind) == ("turn", Kind.ANGLE)
    assert axis.motion.high == pytest.approx(math.pi / 2)


def test_a_chain_realised_at_its_nominal_numbers_is_reproducible(shoulder):
    one, two = (realise(shoulder, at_nominal).forward(0.3) for _ in range(2))
    assert one == two
