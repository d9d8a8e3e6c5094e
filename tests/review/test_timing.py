"""Source resistance, sampling, filter, lag, and the slide of the pin while a wire opens."""

import math
from collections.abc import Callable, Mapping

import pytest

from anglewright.findings import Finding, Severity

Found = Callable[..., Mapping[str, Finding]]


def test_source_resistance_corner_and_lag_without_a_pull(found: Found) -> None:
    keys = found(rig="no-pull")
    # Worked out beforehand: 3.5 kohm at mid travel, 454.7 Hz with 100 nF, 0.0315 deg at 90 deg/s.
    assert keys["source-resistance"].measured == pytest.approx(3500.0)
    assert keys["corner"].measured == pytest.approx(454.7, abs=0.05)
    assert keys["lag"].measured == pytest.approx(0.0315, abs=1e-9)
    assert "3.5 kohm" in keys["source-resistance"].text
    assert "454.7 Hz" in keys["corner"].text
    assert "0.0315 deg" in keys["lag"].text
    assert {keys[key].severity for key in ("source-resistance", "corner", "lag")} == {Severity.NOTE}


def test_a_pull_stands_beside_the_source(found: Found) -> None:
    # By hand: 3.5 kohm beside 100 kohm; at the lead 2.5 kohm beside it, then 1 kohm.
    assert found()["source-resistance"].measured == pytest.approx(3.5e3 * 1e5 / 103.5e3)
    lead = found('wiring.pull={down="100 kohm", at="lead"}')["source-resistance"]
    assert lead.measured == pytest.approx(1e3 + 2.5e3 * 1e5 / 102.5e3)


def test_a_track_of_fifty_kilohms_is_too_much_for_the_converter(found: Found) -> None:
    finding = found("sensor.track=50 kohm", rig="no-pull")["source-resistance"]
    # 50/4 + 1 kohm; the data sheets named in the source are optimised for 10 kohm or less.
    assert (finding.measured, finding.limit) == (pytest.approx(13.5e3), 10e3)
    assert finding.severity is Severity.CAUTION


@pytest.mark.parametrize(
    ("bits", "capacitor", "severity"),
    # Charge sharing by hand: 10 bit and 14 pF need 2047 * 14 pF = 28.66 nF, 12 bit 114.67 nF.
    [(10, "28.7 nF", Severity.NOTE), (10, "28.6 nF", Severity.CAUTION),
     (12, "115 nF", Severity.NOTE), (12, "100 nF", Severity.CAUTION)],
)  # fmt: skip
def test_the_reservoir_keeps_a_sample_within_half_a_code(
    found: Found, bits: int, capacitor: str, severity: Severity
) -> None:
    finding = found(f"converter.bits={bits}", f"wiring.capacitor={capacitor}")["reservoir"]
    assert finding.severity is severity
    assert finding.steps[1].result == pytest.approx(14e-3 * (2 ** (bits + 1) - 1))
    assert "(assumed)" in finding.text


def test_without_a_capacitor_the_sample_needs_nine_time_constants(found: Found) -> None:
    keys = found("wiring.capacitor=0 F", rig="no-pull")
    # Settling to half a code of 12 bit takes 13 ln 2 = 9.01 time constants (SLYW038): 3.5 kohm, 14 pF.
    assert keys["settling"].measured == pytest.approx(9.01 * 3500.0 * 14e-6, rel=1e-3)
    assert keys["settling"].severity is Severity.CAUTION
    assert not {"reservoir", "corner", "lag", "slide"} & set(keys)


def test_a_corner_near_the_motion_is_a_caution(found: Found) -> None:
    corner = found("wiring.capacitor=100 uF", rig="no-pull")["corner"]
    assert corner.severity is Severity.CAUTION
    # By hand: a sine of 67.5 deg amplitude with 90 deg/s at its steepest has 90 / (2 pi 67.5) Hz.
    assert corner.limit == pytest.approx(10.0 * 90.0 / (2.0 * math.pi * 67.5))


def test_a_lag_beyond_the_need_is_a_caution(found: Found) -> None:
    lag = found("wiring.capacitor=10 uF", rig="no-pull")["lag"]
    assert (lag.measured, lag.severity) == (pytest.approx(3.15), Severity.CAUTION)


def test_without_a_top_speed_the_lag_is_a_time(found: Found) -> None:
    keys = found('motion={ from = "-20 deg", to = "115 deg" }', rig="no-pull")
    assert "trails the axis by 350 us" in keys["lag"].text
    assert (keys["lag"].measured, keys["corner"].limit) == (None, None)


@pytest.mark.parametrize(
    ("pull", "capacitor", "hold_ms", "severity"),
    # By hand: 3 * 100 kohm * 100 nF = 30 ms; 3 * 220 kohm * 100 nF = 66 ms; never below 20 ms;
    # at the lead the series resistor adds to the pull; two pulls stand side by side.
    [('{down="100 kohm", at="pin"}', "100 nF", 30.0, Severity.NOTE),
     ('{down="220 kohm", at="pin"}', "100 nF", 66.0, Severity.CAUTION),
     ('{down="100 kohm", at="pin"}', "10 nF", 20.0, Severity.NOTE),
     ('{down="100 kohm", at="lead"}', "100 nF", 30.3, Severity.NOTE),
     ('{down="200 kohm", up="200 kohm", at="pin"}', "100 nF", 30.0, Severity.NOTE)],
)  # fmt: skip
def test_the_hold_off_is_three_time_constants_of_pull_and_capacitor(
    found: Found, pull: str, capacitor: str, hold_ms: float, severity: Severity
) -> None:
    slide = found(f"wiring.pull={pull}", f"wiring.capacitor={capacitor}")["slide"]
    assert slide.measured == pytest.approx(hold_ms)
    assert slide.severity is severity


def test_the_sampling_of_a_user_guide_comes_out(found: Found) -> None:
    # User's guide of the MSP430x4xx family: (10 kohm + 2 kohm) * 9.011 * 40 pF + 800 ns = 5.125 us; a track
    # of 36 kohm behind 1 kohm is 10 kohm at mid travel.
    changes = (
        "sensor.track=36 kohm",
        "wiring.capacitor=0 F",
        "converter.sampling_time=4.4 us",
        "converter.sampling_capacitor=40 pF",
        "converter.sampling_resistance=2 kohm",
    )
    settling = found(*changes, rig="no-pull")["settling"]
    assert settling.measured == pytest.approx(5.125 - 0.8, abs=1e-3)
    assert settling.severity is Severity.NOTE
    short = found(*changes, "converter.sampling_time=4.3 us", rig="no-pull")["settling"]
    assert short.severity is Severity.CAUTION


@pytest.mark.parametrize(
    ("bits", "sampling", "least"),
    # Charge sharing, C >= (2 ** (N + 1) - 1) C_s: 12 bits and 8 pF 65.5 nF; 10 bits and 14 pF 28.7 nF.
    [(12, "8 pF", 65.5), (10, "14 pF", 28.7)],
)
def test_the_reservoir_of_the_handbook(found: Found, bits: int, sampling: str, least: float) -> None:
    sampler = ("converter.sampling_time=1 us", f"converter.sampling_capacitor={sampling}")
    changes = (*sampler, f"converter.bits={bits}")
    for nano, severity in ((least + 0.1, Severity.NOTE), (least - 0.1, Severity.CAUTION)):
        reservoir = found(*changes, f"wiring.capacitor={nano:.1f} nF", rig="no-pull")["reservoir"]
        assert reservoir.severity is severity
        assert reservoir.steps[-1].result == pytest.approx(least, abs=0.05)


def test_the_source_resistance_of_a_divider_is_all_that_stands_beside_it(found: Found) -> None:
    divided = ("wiring.divider={upper='20 kohm', lower='33 kohm'}", "wiring.pull={}", "wiring.series=0 ohm")
    # By hand: 2.5 kohm and 20 kohm beside 33 kohm.
    source = found("sensor.track=10 kohm", *divided)["source-resistance"]
    assert source.measured == pytest.approx(22.5e3 * 33e3 / 55.5e3)
