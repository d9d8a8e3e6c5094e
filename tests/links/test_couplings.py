"""Couplings of every kind: play from the gap, preload, windup, friction wheels, and what they refuse."""

import math

import numpy as np
import pytest

from anglewright.budget.contributions import ErrorMap, Play, contributions
from anglewright.budget.states import State
from anglewright.budget.totals import budget_axis
from anglewright.links.coupling import play_of_gap
from anglewright.rig import at_nominal, datasheet_line, drawn, realise

ANGLES = {"low": "0 deg", "high": "90 deg", "travel": "340 deg"}
DIRECT = '{ kind = "direct" }'


@pytest.fixture
def joint_of(axis_of):
    """An axis of 90 deg, driven directly, with a coupling of one's own choice."""
    return lambda coupling: axis_of(DIRECT, coupling=coupling, **ANGLES)


@pytest.fixture
def refused(complaint_of):
    """The lines with which a coupling is refused."""
    return lambda coupling: complaint_of(DIRECT, coupling=coupling, **ANGLES)


def link_of(axis):
    return realise(axis, at_nominal).links[2]


def half_deg(axis):
    return math.degrees(float(np.mean(link_of(axis).lag)))


# The handbook of the trade (common practice, no source): a 6 mm shaft, 4.5 mm across its flat
@pytest.mark.parametrize(("gap", "play_deg"), [("0.1 mm", 4.4), ("0.2 mm", 8.8), ("0.3 mm", 13.2)])
def test_a_gap_on_the_flat_is_worth_its_play(joint_of, gap, play_deg):
    width_mm = 2.0 * math.sqrt(3.0**2 - 1.5**2)  # chord 1.5 mm off the middle of a circle of 6 mm
    axis = joint_of(f'{{ kind = "d-bore", gap = "{gap}", flat_width = "{width_mm:.6f} mm" }}')
    assert 2.0 * half_deg(axis) == pytest.approx(play_deg, abs=0.05)


@pytest.mark.parametrize("gap_mm", [0.02, 0.05, 0.1])
def test_the_play_of_a_small_gap_is_that_of_the_drawn_flats(gap_mm):
    # independent: turn the flat's two edges about the shaft's middle until one reaches the bore's flat
    half_width, high = 2.598, 1.5
    turns = np.radians(np.arange(0.0, 12.0, 1e-4))
    edge = high * np.cos(turns) + half_width * np.sin(turns)  # height of the edge that rises
    meets = turns[int(np.argmax(edge >= high + gap_mm))]
    assert play_of_gap(gap_mm, 2.0 * half_width) == pytest.approx(2.0 * meets, rel=0.02)


def test_without_a_width_the_usual_flat_is_assumed(joint_of):
    axis = joint_of('{ kind = "d-bore", gap = "0.1 mm" }')
    assumed = {each.key: each.value for each in axis.assumptions}
    assert assumed["coupling.flat_width"] == "5.2 mm"
    assert "coupling.play" not in assumed
    assert 2.0 * half_deg(axis) == pytest.approx(4.41, abs=0.005)


def test_without_a_gap_nothing_about_it_is_assumed(joint_of):
    axis = joint_of('{ kind = "d-bore" }')
    assumed = {each.key: each.value for each in axis.assumptions if each.key.startswith("coupling")}
    assert assumed == {"coupling.play": "4 deg"}
    assert 2.0 * half_deg(axis) == pytest.approx(4.0, rel=1e-12)


def play_row(axis):
    errors = ErrorMap(axis=axis, line=datasheet_line(axis), positions=axis.positions(5))
    return [each for each in contributions(errors, Play.TWO_SIDED) if each.link == "coupling"]


def test_gap_and_width_make_one_contribution_that_one_sided_approach_cures(joint_of):
    (row,) = play_row(
        joint_of('{ kind = "d-bore", gap = "0.1 mm ± 0.05 mm", flat_width = "5.2 mm ± 0.1 mm" }')
    )
    assert (row.persistence.value, row.cured_by) == ("motion", "one-sided approach")
    assert row.meaning == "play from the gap on the flat"
    # half the play, and its own spread: 0.05 / sqrt 3 mm of the gap and 0.1 / sqrt 3 mm of the width, by hand
    parts = [2.0 * 0.1 / 5.2, 2.0 * 0.05 / math.sqrt(3.0) / 5.2, 2.0 * 0.1 / 5.2**2 * 0.1 / math.sqrt(3.0)]
    assert row.standard_uncertainty == pytest.approx(math.hypot(*parts), rel=1e-3)


def test_a_loose_print_outweighs_the_rest_of_its_budget(joint_of):
    # 10 to 15 deg of play is a worn or loose print (common practice, no source)
    states = budget_axis(joint_of('{ kind = "d-bore", gap = "0.28 mm" }')).states
    (calibrated,) = (each for each in states if each.state is State.CALIBRATED)
    assert sum(row.share for row in calibrated.shares if row.link == "coupling") > 0.5


@pytest.mark.parametrize(
    ("spring", "friction", "felt"),
    [("20 N mm", "5 N mm", 0.0), ("4 N mm", "5 N mm", 2.0), ("6 N mm", "5 N mm ± 30 %", 2.0)],
)
def test_a_spring_removes_the_play_only_where_it_surely_beats_the_friction(joint_of, spring, friction, felt):
    axis = joint_of(f'{{ play = "4 deg", preload = "{spring}", friction = "{friction}" }}')
    assert half_deg(axis) == pytest.approx(felt, abs=1e-12)
    assert bool(play_row(axis)) == bool(felt)


def test_the_spring_is_explained(joint_of):
    holding = link_of(joint_of('{ play = "4 deg", preload = "20 N mm", friction = "5 N mm" }')).explain(0.0)
    assert [(step.symbol, step.result) for step in holding] == [("h", pytest.approx(4.0))]
    assert holding[0].meaning.endswith("above 1, no play is felt")
    weak = link_of(joint_of('{ play = "4 deg", preload = "4 N mm", friction = "5 N mm" }')).explain(0.0)
    assert [(step.symbol, step.result) for step in weak] == [
        ("h", pytest.approx(0.8)),
        ("r", pytest.approx(2.0)),
    ]
    assert weak[0].meaning.endswith("not above 1, the play stays")


# torque over stiffness, by hand: 5 N mm on 2 N mm/deg; 0.02 N m on 10 N m/rad = 2 mrad
WINDUPS = [
    ('{ kind = "flexible", friction = "5 N mm", stiffness = "2 N mm/deg" }', 2.5),
    ('{ kind = "flexible", friction = "0.02 N m", stiffness = "10 N m/rad" }', math.degrees(2e-3)),
    (
        '{ kind = "elastic-tube", friction = "5 N mm", stiffness = "2 N mm/deg", hysteresis = "0 deg" }',
        2.5,
    ),
    (
        '{ kind = "elastic-tube", friction = "5 N mm", stiffness = "2 N mm/deg", hysteresis = "1 deg" }',
        3.0,
    ),
]


@pytest.mark.parametrize(("coupling", "lag_deg"), WINDUPS)
def test_a_coupling_winds_up_by_torque_over_stiffness(joint_of, coupling, lag_deg):
    link = link_of(joint_of(coupling))
    assert math.degrees(1.0 - link.forward(1.0, side=1)) == pytest.approx(lag_deg, rel=1e-9)
    assert math.degrees(link.forward(1.0, side=-1) - 1.0) == pytest.approx(lag_deg, rel=1e-9)
    assert link.explain(1.0)[-1].result == pytest.approx(lag_deg, rel=1e-9)


def test_a_wound_coupling_moves_as_a_spring_that_drags_a_dry_friction(joint_of, there_and_back):
    # independent: at each step the far side gives way just as far as the spring's torque exceeds the friction
    torque, stiffness = 5e-3, 0.1
    link = link_of(joint_of('{ kind = "flexible", friction = "5 N mm", stiffness = "0.1 N m/rad" }'))
    far, expected = float(there_and_back[0]), []
    for near in there_and_back:
        pull = stiffness * (near - far)
        if abs(pull) > torque:
            far += (abs(pull) - torque) / stiffness * math.copysign(1.0, pull)
        expected.append(far)
    path, _ = link.follow(there_and_back, np.arange(600.0), None)
    assert np.allclose(path, expected, atol=1e-12)


def test_the_stiffness_assumed_for_a_tube_is_that_of_a_soft_one(joint_of):
    # G J / L with 1 MPa, 6 and 10 mm, 15 mm long: any textbook of the strength of materials
    polar = math.pi / 32.0 * (10e-3**4 - 6e-3**4)
    assert joint_of('{ kind = "elastic-tube" }').part("coupling").stiffness_nm_per_rad.nominal == (
        pytest.approx(1e6 * polar / 15e-3, rel=0.02)
    )


def test_friction_wheels_turn_by_their_diameters(joint_of):
    axis = joint_of('{ kind = "friction", driving = "60 mm", driven = "20 mm" }')
    assert link_of(axis).forward(math.radians(30.0)) == pytest.approx(math.radians(90.0), rel=1e-12)
    assert link_of(axis).lag == 0.0


def test_a_tolerance_of_a_friction_wheel_changes_the_slope_for_good(joint_of):
    axis = joint_of('{ kind = "friction", driving = "40 mm ± 0.4 mm", driven = "40 mm" }')
    (row,) = play_row(axis)
    assert row.persistence.value == "build"
    # 1 % over sqrt 3 of the travel from the clamping to the end
    away = np.abs(axis.positions(5) - axis.motion.clamp.nominal)
    assert row.standard_uncertainty == pytest.approx(0.01 / math.sqrt(3.0) * away, rel=1e-3, abs=1e-9)


def test_drawn_couplings_differ_from_build_to_build(joint_of):
    rng = np.random.default_rng(5)
    for kind in ("flexible", "elastic-tube"):
        halves = realise(joint_of(f'{{ kind = "{kind}" }}'), drawn(rng, builds=40)).links[2].lag
        assert np.shape(halves) == (40, 1)
        assert np.min(halves) > 0.0
        assert np.max(halves) > 1.5 * np.min(halves)


REFUSED = [
    (
        '{ play = "3 deg", gap = "0.1 mm" }',
        "coupling.play: 'gap' stands beside it and says the same. Leave one of them out.",
    ),
    (
        '{ flat_width = "5 mm" }',
        "coupling.flat_width: it plays no part without 'gap'. Give 'gap' too, or leave it out.",
    ),
    (
        '{ friction = "5 N mm" }',
        "coupling.friction: it plays no part without 'preload'. Give 'preload' too, or leave it out.",
    ),
    (
        '{ gap = "0.1 mm", flat_width = "0 mm" }',
        "coupling.flat_width: '0 mm' is not above zero. Mend the value or its spread.",
    ),
    (
        '{ gap = "0.1 mm ± 0.2 mm" }',
        "coupling.gap: '0.1 mm ± 0.2 mm' can be as low as -0.1 mm, it cannot be less than nothing. "
        "Mend the value or its spread.",
    ),
    (
        '{ preload = "20 N mm", friction = "5 N mm ± 100 %" }',
        "coupling.friction: '5 N mm ± 100 %' is not above zero over its whole spread. "
        "Mend the value or its spread.",
    ),
    (
        '{ kind = "flexible", stiffness = "0 N m/rad" }',
        "coupling.stiffness: '0 N m/rad' is not above zero. Mend the value or its spread.",
    ),
    (
        '{ kind = "friction", driving = "40 mm" }',
        "coupling.driven: it is missing. Give the diameter of the driven wheel, on the sensor's shaft, "
        "where the two roll.",
    ),
]


@pytest.mark.parametrize(("coupling", "sentence"), REFUSED)
def test_a_coupling_that_cannot_be_is_refused_with_a_sentence(refused, coupling, sentence):
    assert refused(coupling) == [sentence]
