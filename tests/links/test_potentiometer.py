"""Tracks of every kind: ends, wiper, contact, turns of wire, hysteresis, taper, many turns, a gap."""

import math
from dataclasses import replace

import numpy as np
import pytest

from anglewright.budget.builds import virtual_builds
from anglewright.budget.contributions import ErrorMap, Play, contributions
from anglewright.budget.states import State
from anglewright.budget.totals import budget_axis
from anglewright.budget.trials import HowMany
from anglewright.errors import RigError
from anglewright.links.track import past_gap, place_of, share_of, stepped
from anglewright.rig import at_nominal, datasheet_line, drawn, realise
from anglewright.rigfile.document import parse_document
from anglewright.rigfile.reading import build_rig

FRAME = """
[axis.arm]
motion = {{ {motion} }}
need = {{ error = "1 deg" }}
when_unpowered = "holds"
drive = {{ kind = "direct" }}
coupling = {{ kind = "rigid" }}
mount = {{ within = "0 deg" }}
sensor = {{ track = "{track}", electrical_travel = "{travel}", linearity = "{linearity}", {sensor} }}
wiring = {{ series = "0 ohm", {wiring} }}
converter = {{ bits = 16, noise = "0.5 LSB rms", offset = "0 LSB" }}
plan = {{ points = 9, reference = {{ per_point = "0 deg", shared = "0 deg" }} }}
"""
USUAL = {
    "motion": 'from = "0 deg", to = "263.3 deg"',
    "track": "10 kohm",
    "travel": "300 deg",
    "linearity": "0 %",
    "wiring": 'capacitor = "100 nF"',
}
STOPS = 'mechanical_travel = "3700 deg"'


def arm(sensor=STOPS, **given):
    text = FRAME.format(**USUAL | given, sensor=sensor)
    return build_rig(parse_document(text, source="arm.toml"), source="arm.toml").axis("arm")


def track(sensor=STOPS, **given):
    return realise(arm(sensor, **given), at_nominal).links[4]


def rows(axis):
    errors = ErrorMap(axis=axis, line=datasheet_line(axis), positions=axis.positions(7))
    return {row.quantity: row for row in contributions(errors, Play.TWO_SIDED) if row.link == "sensor"}


def complaints(sensor, **given):
    with pytest.raises(RigError) as refused:
        arm(sensor, **given)
    return [str(each).removeprefix("arm.toml, axis 'arm', ") for each in refused.value.problems]


EVERYTHING = (
    'end_resistance = "20 ohm ± 10 ohm", wiper_resistance = "100 ohm ± 50 ohm", contact_noise = "0.1 %", '
    'windings = 1500, hysteresis = "0.5 deg ± 0.2 deg", mechanical_travel = "endless"'
)


def test_what_is_not_given_is_not_there():
    axis = arm()
    names = {number.key for number in axis.part("sensor").numbers}
    assert names == {"sensor.track", "sensor.electrical_travel", "sensor.linearity"}
    assert [each.key for each in axis.assumptions if each.key.startswith("sensor")] == ["sensor.power"]
    link = track()
    assert (link.lag, link.windings, link.port.wiper_ohm, link.port.track_ohm) == (0.0, None, 0.0, 10e3)


# by hand: 5 ohm of 1010, and all but 5 ohm of it
@pytest.mark.parametrize(("place", "share"), [(0.0, 5.0 / 1010.0), (0.5, 0.5), (1.0, 1005.0 / 1010.0)])
def test_resistance_at_the_ends_keeps_the_output_off_both_rails(place, share):
    assert share_of(place, track_ohm=1e3, end_ohm=5.0) == pytest.approx(share, rel=1e-15)
    assert place_of(share, track_ohm=1e3, end_ohm=5.0) == pytest.approx(place, abs=1e-15)
    link = track('end_resistance = "5 ohm"', track="1 kohm")
    assert link.forward(math.radians(300.0) * (place - 0.5)) == pytest.approx(share, rel=1e-12)
    assert link.port.track_ohm == 1010.0


def test_a_sensor_with_ends_reads_at_the_clamping_what_it_was_clamped_at():
    link = replace(track('end_resistance = "50 ohm"', track="1 kohm"), reading=0.2)
    assert link.forward(0.0) == pytest.approx(0.2, rel=1e-15)
    assert link.forward(-math.radians(300.0)) == pytest.approx(50.0 / 1100.0, rel=1e-12)


def test_the_line_of_the_data_sheet_knows_the_nominal_ends_and_not_their_spread():
    known = budget_axis(arm('end_resistance = "50 ohm ± 20 ohm"')).of(State.DATASHEET)
    assert np.allclose(known.bias, 0.0, atol=1e-9)
    greatest = budget_axis(arm('end_resistance = "0 ohm +50 ohm / -0 ohm"')).of(State.DATASHEET)
    # the middle of what it can be, 25 ohm at each end, flattens the slope by 50 ohm in 10 050
    away = greatest.positions - math.radians(263.3 / 2.0)
    assert greatest.bias == pytest.approx(-away * 50.0 / 10_050.0, abs=1e-9)


def test_the_wiper_resistance_is_felt_only_through_a_load():
    wiper = 'wiper_resistance = "500 ohm"'
    bare, loaded = (
        realise(arm(wiper, wiring=w), at_nominal).links[5]
        for w in (USUAL["wiring"], 'pull = { down = "20 kohm" }')
    )
    x = np.linspace(0.1, 0.9, 9)
    assert np.allclose(bare.forward(x), 3.3 * x, rtol=1e-14)
    assert np.allclose(loaded.forward(x), 3.3 * x * 20e3 / (20e3 + 10e3 * x * (1.0 - x) + 500.0), rtol=1e-14)
    steps = loaded.explain(0.3)
    assert steps[1].result == pytest.approx(10e3 * 0.3 * 0.7 + 500.0, rel=1e-14)
    assert steps[-1].result == pytest.approx(loaded.forward(0.3), rel=1e-12)


def test_the_noise_of_the_contact_is_another_in_every_reading():
    row = rows(arm('contact_noise = "0.1 %"'))["contact_noise"]
    assert (row.persistence.value, row.meaning) == ("reading", "noise of the contact")
    # 0.1 % of 300 deg either way, any value as likely
    assert np.degrees(row.standard_uncertainty) == pytest.approx(0.3 / math.sqrt(3.0), rel=1e-6)
    quiet = rows(arm('contact_noise = "0.02 % rms"'))["contact_noise"]
    assert np.degrees(quiet.standard_uncertainty) == pytest.approx(0.06, rel=1e-6)


# The potentiometer handbook (1975), theoretical resolution: 10 turns 10 %, 172 turns 0.58 %
@pytest.mark.parametrize(("turns", "percent"), [(10, 10.0), (172, 0.58)])
def test_a_wound_track_moves_by_its_theoretical_resolution(turns, percent):
    link = track(f"windings = {turns}")
    levels = np.unique(link.forward(np.linspace(-2.6, 2.6, 40_001)))
    assert np.allclose(100.0 * np.diff(levels), percent, atol=0.005)


def test_steps_stay_within_half_a_step_of_the_straight_line():
    x = np.linspace(0.0, 1.0, 100_003)
    for between in (0.0, 0.003, -0.004):
        off = stepped(x, windings=120, between=between) - x
        assert np.max(np.abs(off)) <= 0.5 / 120 + 1e-12
        assert np.mean(off) == pytest.approx(0.0, abs=1e-5)
        assert np.std(off) == pytest.approx(1.0 / 120 / math.sqrt(12.0), rel=2e-3)


def test_without_rounding_a_wound_track_is_straight():
    wound, plain = replace(track("windings = 50"), rounded=False), track()
    u = np.linspace(-2.5, 2.5, 41)
    assert np.array_equal(wound.forward(u), plain.forward(u))
    shifted = replace(wound, between=0.004)
    assert np.allclose(shifted.forward(u), plain.forward(u) + 0.004, rtol=1e-14)
    assert np.allclose(shifted.backward(shifted.forward(u)), u, rtol=1e-12)


@pytest.mark.parametrize("state", [State.DATASHEET, State.ZEROED, State.CALIBRATED])
def test_first_order_and_virtual_builds_agree_on_steps(state):
    # a spread of the travel of a few steps: without it the planned places would share the phase of the steps
    travel = "300 deg" if state is not State.CALIBRATED else "300 deg ± 1.5 deg"
    axis = arm('windings = 1000, mechanical_travel = "endless"', travel=travel)
    first = budget_axis(axis).of(state)
    largest = max(first.shares, key=lambda row: row.share)
    assert (largest.quantity, largest.persistence) == ("windings", "motion")
    builds = virtual_builds(axis, how_many=HowMany(most=20_000), seed=3, states=(state,)).of(state)
    u = np.interp(builds.positions, first.positions, first.standard_uncertainty)
    assert builds.standard_uncertainty == pytest.approx(u, rel=0.03)
    # by hand: rectangular, a thousandth of 300 deg; zeroing takes one such error off the other
    alone = 0.3 / math.sqrt(12.0) * (math.sqrt(2.0) if state is State.ZEROED else 1.0)
    assert np.degrees(u.min()) == pytest.approx(alone, rel=0.08)


def test_more_readings_of_one_place_do_not_average_steps():
    one = arm("windings = 1000")
    many = replace(one, plan=replace(one.plan, readings=100))
    u = [budget_axis(axis).of(State.ZEROED).standard_uncertainty.max() for axis in (one, many)]
    assert u[1] == pytest.approx(u[0], rel=1e-3)


def test_hysteresis_is_the_play_of_a_wiper_that_gives_way_late(there_and_back):
    # independent: at each step the wiper moves only as far as it would otherwise be over half behind
    link, half = track('hysteresis = "2 deg"'), math.radians(1.0)
    wiper, expected = float(there_and_back[0]), []
    for shaft in there_and_back:
        if abs(shaft - wiper) > half:
            wiper = shaft - math.copysign(half, shaft - wiper)
        expected.append(0.5 + wiper / math.radians(300.0))
    path, _ = link.follow(there_and_back, np.arange(600.0), None)
    assert np.allclose(path, expected, atol=1e-12)


def test_hysteresis_is_one_contribution_that_one_sided_approach_cures():
    row = rows(arm('hysteresis = "2 deg ± 0.5 deg"'))["hysteresis"]
    assert (row.persistence.value, row.cured_by, row.lags) == ("motion", "one-sided approach", True)
    sizes = math.hypot(1.0, 0.25 / math.sqrt(3.0))
    assert np.degrees(row.standard_uncertainty) == pytest.approx(sizes, rel=1e-3)
    settled = arm('hysteresis = "2 deg"', motion=USUAL["motion"] + ', settles = "one-sided"')
    assert "hysteresis" not in {row.quantity for row in budget_axis(settled).of(State.ZEROED).shares}


@pytest.mark.parametrize(
    ("travel", "words"),
    [
        ("300 deg", "Single turn, 300 deg"),
        ("360 deg", "Single turn, 360 deg"),
        ("1080 deg", "Multi-turn, 1080 deg"),
        ("3600 deg +10 deg / -0 deg", "Ten-turn, 3600 deg"),
        ("3650 deg", "Multi-turn, 3650 deg"),
    ],
)
def test_a_sensor_is_named_by_its_turns(travel, words):
    assert arm(travel=travel).part("sensor").describe() == words


def test_a_travel_that_is_never_short_is_a_bias_of_the_line_that_takes_it_for_exact():
    axis = arm(travel="3600 deg +10 deg / -0 deg", motion='from = "0 deg", to = "3240 deg"')
    found = budget_axis(axis).of(State.DATASHEET)
    # the mean of the travel is 3605 deg: each degree reads as 3600 / 3605 of one, from the clamping on
    away = found.positions - math.radians(1620.0)
    assert found.bias == pytest.approx(away * (3600.0 / 3605.0 - 1.0), abs=1e-9)


# A turn less 340 deg of track leaves 20 deg; in its middle, 10 deg past the end, the nearer end changes
@pytest.mark.parametrize(("past_deg", "output"), [(0.0, 1.0), (9.9, 1.0), (10.1, 0.0), (19.9, 0.0)])
def test_in_the_gap_the_output_is_that_of_the_nearer_end(past_deg, output):
    link = track('mechanical_travel = "endless"', travel="340 deg")
    u = math.radians(170.0 + past_deg)
    assert link.forward(u) == output
    assert link.forward(-u) == 1.0 - output
    path, _ = link.follow(np.array([0.0, u]), np.array([0.0, 1.0]), None)
    assert path[-1] == output


def test_a_turn_further_an_endless_track_reads_the_same():
    link = track('mechanical_travel = "endless"', travel="340 deg")
    u = np.radians(np.linspace(-165.0, 165.0, 31))
    for turns in (-2, 1, 5):
        assert np.allclose(link.forward(u + 2.0 * math.pi * turns), link.forward(u), atol=1e-12)


def test_builds_that_come_round_past_the_gap_are_told_from_the_bench():
    # 300 deg of motion on 340 deg of track, clamped within 40 deg: some wipers pass the gap
    text = FRAME.replace('within = "0 deg"', 'within = "40 deg"')
    given = USUAL | {"motion": 'from = "0 deg", to = "300 deg"', "travel": "340 deg"}
    text = text.format(**given, sensor='mechanical_travel = "endless"')
    axis = build_rig(parse_document(text, source="arm.toml"), source="arm.toml").axis("arm")
    state = virtual_builds(axis, how_many=HowMany(most=10_000), seed=4, states=(State.DATASHEET,)).states[0]
    # at 0 deg, from 30 deg of 40 on, the wiper is over the middle of the gap: one in eight reads the upper
    # end of the track, which the line takes for 150 + 170 deg
    assert np.degrees(state.largest) == pytest.approx(320.0, abs=0.1)
    rare = 320.0 * math.sqrt(1.0 / 8.0 * 7.0 / 8.0)
    assert np.degrees(state.standard_uncertainty[0]) == pytest.approx(rare, rel=0.15)


def test_without_rounding_an_end_holds_as_it_does_with_stops():
    link = replace(track('mechanical_travel = "endless"', travel="340 deg"), rounded=False)
    assert (link.forward(50.0), link.forward(-50.0)) == (1.0, 0.0)


def test_a_place_on_the_track_is_left_as_it_is_to_the_last_bit():
    x = np.linspace(0.0, 1.0, 1001)
    assert np.array_equal(past_gap(x, travel_rad=math.radians(340.0)), x)
    assert np.array_equal(past_gap(x, travel_rad=math.radians(400.0)), np.where(x == 1.0, 0.0, x))
    assert math.isnan(past_gap(math.nan, travel_rad=1.0))


@pytest.mark.parametrize("sensor", [STOPS, 'mechanical_travel = "endless"'])
def test_a_track_with_stops_or_of_many_turns_has_no_gap(sensor):
    axis = arm(sensor, travel="3600 deg" if "endless" in sensor else "340 deg")
    assert axis.part("sensor").gap_rad == 0.0
    assert realise(axis, at_nominal).links[4].forward(1e3) == 1.0


REFUSED = [
    (
        'taper = "logarithmic"',
        {},
        "sensor.taper: the track is logarithmic, half its turn gives 10 to 20 % of the output, a position "
        "needs half. Take a sensor with a linear taper.",
    ),
    (
        'mechanical_travel = "endless"',
        {"travel": "340 deg", "motion": 'from = "0 deg", to = "355 deg"'},
        "sensor: the motion turns the shaft 355 deg, the track ends at 340 deg, a gap of 20 deg follows. "
        "Divide the ratio by at least 1.04, or take a sensor with more turns.",
    ),
    (
        'power = "2 W"',
        {"travel": "3600 deg +10 deg / -0 deg"},
        "sensor.mechanical_travel: the sensor's own stops are 300 deg apart, its electrical travel is "
        "3600 deg. Give the mechanical travel of its data sheet, which is not less.",
    ),
    (
        STOPS,
        {"motion": 'from = "0 deg", to = "360 deg", endless = true'},
        "sensor: the motion turns endlessly, the track ends at 300 deg. Take an endless sensor without a "
        "gap, a magnetic one for example.",
    ),
    (
        "windings = 5",
        {},
        "sensor.windings: it is '5', a whole number from 10 to 1000000 belongs here. Give the turns of wire "
        "of a wound track, the output goes from one to the next.",
    ),
    (
        'taper = "audio"',
        {},
        "sensor.taper: 'audio' is none of its words. Known: linear, logarithmic.",
    ),
    (
        'end_resistance = "5 ohm ± 10 ohm"',
        {},
        "sensor.end_resistance: '5 ohm ± 10 ohm' can be as low as -5 ohm, it cannot be less than nothing. "
        "Mend the value or its spread.",
    ),
    (
        'hysteresis = "-1 deg"',
        {},
        "sensor.hysteresis: '-1 deg' can be as low as -1 deg, it cannot be less than nothing. "
        "Mend the value or its spread.",
    ),
]


@pytest.mark.parametrize(("sensor", "given", "sentence"), REFUSED)
def test_a_track_that_cannot_be_is_refused_with_a_sentence(sensor, given, sentence):
    assert complaints(sensor, **given) == [sentence]


def test_off_its_end_a_track_with_ends_is_told_where_to_be_clamped():
    # 200 ohm at each end of 1 kohm: clamped where it reads 40 %, the wiper stands at 36 % of the track
    mount = 'mount = { within = "0 deg", reading = "40 %" }'
    text = FRAME.replace('mount = {{ within = "0 deg" }}', mount.replace("{", "{{").replace("}", "}}"))
    text = text.format(**USUAL | {"track": "1 kohm"}, sensor='end_resistance = "200 ohm"')
    with pytest.raises(RigError) as refused:
        build_rig(parse_document(text, source="arm.toml"), source="arm.toml")
    assert [str(each) for each in refused.value.problems] == [
        "arm.toml, axis 'arm', sensor: clamped where it reads 40 %, the motion takes the wiper from -7.88 % "
        "to 79.9 %, the track ends at 0 % and 100 %. Clamp it where it reads 50 % at the same mark: that "
        "centres the motion."
    ]


@pytest.mark.parametrize("turn", [-2.0, 0.1, 1.3])
def test_the_explanation_of_everything_ends_at_the_output(turn):
    link = track(EVERYTHING)
    steps = link.explain(turn)
    assert [step.symbol for step in steps] == ["r", "x", "x_n", "s"]
    assert steps[-1].result == pytest.approx(link.forward(turn), rel=1e-12)
    for step in steps:
        worked = eval(step.formula, {"__builtins__": {}, "floor": math.floor}, dict(step.numbers))
        assert worked == pytest.approx(step.result, rel=1e-12)


@pytest.mark.parametrize("side", [-1, 1])
def test_everything_together_held_still_rests_where_the_static_map_says(side):
    link = track(EVERYTHING)
    u = np.concatenate([np.linspace(-2.0 * side, 0.3, 50), np.full(20, 0.3)])
    whole, _ = link.follow(u, np.arange(70.0), None)
    assert whole[-1] == pytest.approx(link.forward(0.3, side=side), rel=1e-13)
    first, memory = link.follow(u[:31], np.arange(31.0), None)
    second, _ = link.follow(u[31:], np.arange(31.0, 70.0), memory)
    assert np.array_equal(np.concatenate([first, second]), whole)


@pytest.mark.parametrize("side", [-1, 0, 1])
def test_everything_together_is_undone_on_the_way_back(side):
    link, u = replace(track(EVERYTHING), rounded=False), np.linspace(-2.2, 2.2, 33)
    assert np.allclose(link.backward(link.forward(u, side=side), side=side), u, rtol=1e-12)
    each = [link.forward(float(turn), side=side) for turn in u]
    assert np.array_equal(link.forward(u, side=side), each)


def test_drawn_tracks_make_a_table_of_builds_and_readings():
    axis, u = arm(EVERYTHING), np.linspace(-2.0, 2.0, 5)
    link = realise(axis, drawn(np.random.default_rng(8), builds=40, readings=5)).links[4]
    table = link.forward(u, side=1)
    assert table.shape == (40, 5)
    assert np.all(np.diff(table, axis=1) > 0.0)
    assert link.lag.shape == (40, 1)
    assert link.noise_share.shape == (40, 5)
    noisy = np.std(table - replace(link, noise_share=0.0).forward(u, side=1))
    assert noisy == pytest.approx(1e-3 / math.sqrt(3.0), rel=0.1)


def test_a_budget_of_everything_names_each_of_them():
    found = rows(arm(EVERYTHING))
    assert set(found) == {"end_resistance", "wiper_resistance", "contact_noise", "windings", "hysteresis"}
    for row in found.values():
        assert np.all(np.isfinite(row.standard_uncertainty))
    assert np.max(found["wiper_resistance"].standard_uncertainty) == pytest.approx(0.0, abs=1e-12)
