"""Laws of the ladder of Thevenin equivalents, held against the nodal equations of the same circuit."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.linalg import expm

from anglewright.circuits import (
    OPEN,
    SHORT,
    Thevenin,
    divider,
    in_series,
    parallel,
    reached,
    sampled,
    with_shunt,
)
from anglewright.links.wiring import WireFault, Wiring

ohms = st.floats(1.0, 1e7)
volts = st.floats(-24.0, 24.0)
shares = st.floats(0.0, 1.0)
pulls = st.one_of(st.just(OPEN), ohms)


@given(ohms, ohms)
def test_side_by_side_is_less_than_either_and_does_not_mind_the_order(first, second):
    both = parallel(first, second)
    assert both == parallel(second, first)
    assert both <= min(first, second)
    assert both == pytest.approx(first * second / (first + second), rel=1e-12)


def test_open_and_short_wires_side_by_side():
    assert parallel(OPEN, 470.0) == 470.0
    assert parallel(SHORT, 470.0) == 0.0
    assert parallel(OPEN, OPEN) == OPEN


@given(volts, ohms, volts, ohms)
def test_a_shunt_gives_the_mean_weighted_by_conductance(source, source_ohm, far, shunt_ohm):
    # Millman's theorem, any textbook of circuit theory
    node = with_shunt(Thevenin(source, source_ohm), shunt_ohm, to_v=far)
    conductance = 1.0 / source_ohm + 1.0 / shunt_ohm
    assert node.volts == pytest.approx((source / source_ohm + far / shunt_ohm) / conductance, abs=1e-9)
    assert node.ohms == pytest.approx(1.0 / conductance, rel=1e-12)


@given(volts, ohms, st.tuples(volts, ohms), st.tuples(volts, ohms))
def test_two_shunts_may_come_in_either_order(source, source_ohm, one, two):
    start = Thevenin(source, source_ohm)
    first = with_shunt(with_shunt(start, one[1], to_v=one[0]), two[1], to_v=two[0])
    second = with_shunt(with_shunt(start, two[1], to_v=two[0]), one[1], to_v=one[0])
    assert first.volts == pytest.approx(second.volts, abs=1e-9)
    assert first.ohms == pytest.approx(second.ohms, rel=1e-12)


@given(volts, ohms, ohms)
def test_a_divider_is_a_source_with_a_shunt_to_ground(feed, top, bottom):
    tap, shunted = divider(top, bottom, top_v=feed), with_shunt(Thevenin(feed, top), bottom, to_v=0.0)
    assert tap.volts == pytest.approx(shunted.volts, abs=1e-9)
    assert tap.ohms == pytest.approx(shunted.ohms, rel=1e-12)


@given(volts, ohms, ohms)
def test_a_series_resistor_changes_no_open_voltage(source, source_ohm, series):
    node = in_series(Thevenin(source, source_ohm), series)
    assert (node.volts, node.ohms) == (source, source_ohm + series)


def test_open_wires_leave_the_tap_at_the_end_that_is_left_or_floating():
    assert divider(OPEN, 5e3, top_v=5.0).volts == 0.0
    assert divider(5e3, OPEN, top_v=5.0).volts == 5.0
    both = divider(OPEN, OPEN, top_v=5.0)
    assert np.isnan(both.volts)
    assert both.ohms == OPEN
    pulled = with_shunt(both, 100e3, to_v=3.3)
    assert (pulled.volts, pulled.ohms) == pytest.approx((3.3, 100e3), rel=1e-14)
    assert np.isnan(with_shunt(both, OPEN, to_v=3.3).volts)


@st.composite
def wirings(draw):
    """Any wiring with finite series resistor."""
    return Wiring(
        track_ohm=draw(st.floats(500.0, 1e6)),
        feed_v=draw(st.floats(1.8, 12.0)),
        series_ohm=draw(st.one_of(st.just(0.0), st.floats(1.0, 1e5))),
        capacitor_f=1e-7,
        pull_down_ohm=draw(pulls),
        pull_up_ohm=draw(pulls),
        pull_at_pin=draw(st.booleans()),
    )


def nodal(wiring, share, *, feed_open=False, ground_open=False):
    """Voltages at the wiper and the pin from Kirchhoff's current law at both nodes."""
    above = 0.0 if feed_open else 1.0 / ((1.0 - share) * wiring.track_ohm)
    below = 0.0 if ground_open else 1.0 / (share * wiring.track_ohm)
    down, up = 1.0 / wiring.pull_down_ohm, 1.0 / wiring.pull_up_ohm
    if wiring.series_ohm == 0.0:  # wiper and pin are one node
        node = (above + up) * wiring.feed_v / (above + below + down + up)
        return node, node
    link, at = 1.0 / wiring.series_ohm, 1 if wiring.pull_at_pin else 0
    matrix = np.array([[above + below + link, -link], [-link, link]])
    matrix[at, at] += down + up
    known = np.array([above * wiring.feed_v, 0.0])
    known[at] += up * wiring.feed_v
    return np.linalg.solve(matrix, known)


@given(wirings(), st.floats(0.001, 0.999))
def test_the_wiring_obeys_the_current_law_at_wiper_and_pin(wiring, share):
    wiper, pin = nodal(wiring, share)
    assert wiring.forward(share) == pytest.approx(pin, abs=1e-6 * wiring.feed_v)
    assert wiring.at_wiper(share) == pytest.approx(wiper, abs=1e-6 * wiring.feed_v)


@given(wirings(), st.floats(0.001, 0.999))
def test_broken_wires_obey_the_current_law_as_well(wiring, share):
    faults = (WireFault.OPEN_FEED, WireFault.OPEN_GROUND)
    feed, ground = (wiring.at_pin(share, fault=fault).volts for fault in faults)
    assert feed == pytest.approx(nodal(wiring, share, feed_open=True)[1], abs=1e-6 * wiring.feed_v)
    assert ground == pytest.approx(nodal(wiring, share, ground_open=True)[1], abs=1e-6 * wiring.feed_v)


@given(wirings(), shares)
def test_an_open_wiper_floats_unless_something_pulls_at_the_far_end(wiring, share):
    pin = wiring.at_pin(share, fault=WireFault.OPEN_WIPER)
    down, up = 1.0 / wiring.pull_down_ohm, 1.0 / wiring.pull_up_ohm
    if down + up == 0.0:
        assert np.isnan(pin.volts)
    else:
        assert pin.volts == pytest.approx(wiring.feed_v * up / (down + up), rel=1e-9, abs=1e-12)


@given(wirings(), shares)
def test_a_wiper_shorted_to_a_rail_reads_that_rail_or_is_pulled_off_it(wiring, share):
    low = wiring.at_pin(share, fault=WireFault.WIPER_TO_GROUND).volts
    high = wiring.at_pin(share, fault=WireFault.WIPER_TO_FEED).volts
    if not wiring.pull_at_pin or wiring.series_ohm == 0.0:
        assert (low, high) == pytest.approx((0.0, wiring.feed_v), abs=1e-9)
    assert 0.0 <= low <= wiring.forward(0.0) + 1e-9
    assert wiring.forward(1.0) - 1e-9 <= high <= wiring.feed_v * (1.0 + 1e-12)


@given(wirings())
def test_the_level_rises_with_the_wiper_and_stays_between_the_rails(wiring):
    levels = wiring.forward(np.linspace(0.0, 1.0, 201))
    assert np.all(np.diff(levels) > 0.0)
    assert levels[0] >= -1e-12
    assert levels[-1] <= wiring.feed_v * (1.0 + 1e-12)


@given(wirings(), shares)
def test_turning_the_circuit_upside_down_mirrors_the_level(wiring, share):
    mirrored = Wiring(
        track_ohm=wiring.track_ohm,
        feed_v=wiring.feed_v,
        series_ohm=wiring.series_ohm,
        capacitor_f=wiring.capacitor_f,
        pull_down_ohm=wiring.pull_up_ohm,
        pull_up_ohm=wiring.pull_down_ohm,
        pull_at_pin=wiring.pull_at_pin,
    )
    assert mirrored.forward(1.0 - share) == pytest.approx(
        wiring.feed_v - wiring.forward(share), abs=1e-9 * wiring.feed_v
    )


@given(shares, ohms, ohms)
def test_the_place_where_a_loaded_level_is_reached_is_where_it_came_from(share, track_ohm, pull_ohm):
    def level(at):
        return with_shunt(divider((1 - at) * track_ohm, at * track_ohm, top_v=5.0), pull_ohm, to_v=0.0).volts

    assert level(reached(level, level(share))) == pytest.approx(level(share), abs=2e-14)


def test_a_level_beyond_its_ends_is_reached_at_the_end_and_nan_nowhere():
    def level(share):
        return 1.0 + 2.0 * np.asarray(share) ** 3

    found = reached(level, np.array([0.5, 1.0, 1.25, 3.0, 7.0, np.nan]))
    assert found == pytest.approx([0.0, 0.0, 0.5, 1.0, 1.0, np.nan], abs=1e-12, nan_ok=True)


@given(
    st.floats(10.0, 1e5),
    st.floats(1e-12, 1e-9),
    st.floats(100.0, 1e4),
    st.floats(1e-12, 1e-10),
    st.floats(0.01, 5.0),
)
def test_a_sample_dies_away_as_the_equations_of_its_two_capacitors_say(source, pin, switch, hold, times):
    # independent: matrix exponential of the nodal equations, scipy
    time = times * ((source + switch) * hold + source * pin)
    rates = np.array(
        [
            [-1.0 / (source * pin) - 1.0 / (switch * pin), 1.0 / (switch * pin)],
            [1.0 / (switch * hold), -1.0 / (switch * hold)],
        ]
    )
    (left,) = expm(rates * time)[1:, 1]
    dying = sampled(source, pin_f=pin, switch_ohm=switch, hold_f=hold)
    assert dying.left(time) == pytest.approx(left, rel=1e-6, abs=1e-9)
    assert dying.left(0.0) == pytest.approx(1.0, rel=1e-9)
