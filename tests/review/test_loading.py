"""What pulls do to the reading, against the cubic of the loaded divider and a search written here."""

from collections.abc import Callable, Mapping

import numpy as np
import pytest

from anglewright.findings import Finding, Severity

Found = Callable[..., Mapping[str, Finding]]


def at_lead(kohm: float) -> str:
    return f'wiring.pull={{down="{kohm} kohm", at="lead"}}'


def test_a_pull_down_of_ten_tracks_at_the_lead(found: Found) -> None:
    finding = found(at_lead(100))["loading"]
    # Worked out beforehand: 1.44933 % of travel = 2.4639 deg of the joint, always low.
    assert finding.steps[-2].result == pytest.approx(1.44933, abs=5e-6)
    assert finding.measured == pytest.approx(2.4639, abs=5e-5)
    assert "always low, by up to 1.44933 % of travel = 2.4639 deg" in finding.text
    assert finding.severity is Severity.CAUTION


def test_the_same_at_the_pin_behind_a_series_resistor(found: Found) -> None:
    finding = found()["loading"]
    # Worked out beforehand: 2.10802 % at x = 0.71739 = 3.5836 deg.
    assert finding.steps[-2].result == pytest.approx(2.10802, abs=5e-6)
    assert finding.measured == pytest.approx(3.5836, abs=5e-5)
    assert "2.10802 % of travel = 3.5836 deg" in finding.text
    assert "x = 0.71739" in finding.text


@pytest.mark.parametrize("k", [0.01, 0.02, 0.05, 0.1, 0.2, 0.5, 1.0, 2.0])
def test_the_place_of_the_largest_departure_is_the_root_of_the_cubic(found: Found, k: float) -> None:
    # (2 - 3x)(1 + k x(1-x)) - k x(1-x)(1-2x) = 0, the derivative of k x2(1-x) / (1 + k x(1-x)) by hand.
    x, rest = np.poly1d([1.0, 0.0]), np.poly1d([-1.0, 1.0])
    load = k * x * rest
    roots = ((2.0 - 3.0 * x) * (1.0 + load) - load * (1.0 - 2.0 * x)).roots
    at = next(float(root.real) for root in roots if abs(root.imag) < 1e-12 and 0.3 < root.real < 1.0)
    largest = k * at**2 * (1.0 - at) / (1.0 + k * at * (1.0 - at))
    finding = found("sensor.track=10 kohm", at_lead(10.0 / k))["loading"]
    assert finding.measured == pytest.approx(170.0 * largest, rel=1e-9)
    assert f"x = {at:.5f}" in finding.text


@pytest.mark.parametrize(("kohm", "bound"), [(20, 7.5), (200, 0.75), (1000, 0.15)])
def test_the_bounds_of_an_analogue_computer_handbook_hold(found: Found, kohm: float, bound: float) -> None:
    # Published by rclab, page on potentiometer loading: 10 k with 20 k, 200 k, 1 M.
    percent = found("sensor.track=10 kohm", at_lead(kohm))["loading"].steps[-2].result
    assert 0.9 * bound < percent + 0.1 * bound
    assert percent < bound


def test_a_pull_up_reads_always_high_by_the_mirrored_amount(found: Found) -> None:
    down = found('wiring.pull={down="100 kohm", at="pin"}')["loading"]
    up = found('wiring.pull={up="100 kohm", at="pin"}')["loading"]
    # A pull-up seen from the feed is a pull-down: x becomes 1 - x.
    assert up.measured == pytest.approx(down.measured)
    assert "always high" in up.text


@pytest.mark.parametrize("kohm", [20, 50])
def test_an_internal_pull_up_left_on_costs_three_to_seven_per_cent(found: Found, kohm: float) -> None:
    # Workshop rule for a 10 kohm track: 20 to 50 kohm are worth 3 to 7 % of full scale.
    change = f'wiring.pull={{up="{kohm} kohm", at="lead"}}'
    assert 2.5 < -found("sensor.track=10 kohm", change)["loading"].steps[-2].result < 7.0


def test_both_pulls_may_read_either_way_and_the_largest_is_taken(found: Found) -> None:
    finding = found('wiring.pull={down="220 kohm", up="100 kohm", at="pin"}')["loading"]
    x = np.linspace(0.5 - 135 / 340, 0.5 + 135 / 340, 2_000_001)
    source = 1.0 / (10e3 * x * (1.0 - x) + 1e3)
    share = (x * source + 1e-5) / (source + 1e-5 + 1.0 / 220e3)
    assert finding.measured == pytest.approx(170.0 * float(np.max(np.abs(x - share))), rel=1e-7)
    assert "always" not in finding.text


def test_a_light_pull_is_only_noted(found: Found) -> None:
    assert found(at_lead(1000))["loading"].severity is Severity.NOTE


def test_without_a_pull_nothing_loads_and_the_price_is_named(found: Found) -> None:
    finding = found(rig="no-pull")["loading"]
    assert (finding.severity, finding.measured) == (Severity.NOTE, 0.0)
    assert "nothing holds the pin" in finding.text
