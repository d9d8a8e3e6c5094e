"""Feed against reference, power, shorted wires; expected values by the hand arithmetic beside them."""

from collections.abc import Callable, Mapping

import pytest

from anglewright.findings import Finding, Severity

Found = Callable[..., Mapping[str, Finding]]


def test_5_volts_on_a_3_3_volt_converter_is_a_stop_with_the_clip_point(found: Found) -> None:
    above = found("wiring.feed=5 V", "converter.reference=3.3 V")["feed-above-reference"]
    assert (above.severity, above.measured, above.limit) == (Severity.STOP, 5.0, 3.3)
    # 3.3/5 = 66 %, as users of such a circuit report it; at the joint 47.5 + (0.66 - 0.5) * 170 = 74.7 deg.
    assert above.steps[0].result == pytest.approx(66.0)
    assert "clips at 66 % of the track, at 74.7 deg" in above.text


def test_3_3_volts_on_a_5_volt_converter_ends_at_675_of_1023(found: Found) -> None:
    below = found("wiring.feed=3.3 V", "converter.reference=5 V", "converter.bits=10")["feed-below-reference"]
    # Users of such a circuit report a top of 670 of 1023; 3.3/5 of full scale is 675.
    assert (below.severity, below.measured, below.limit) == (Severity.CAUTION, 675.0, 1023.0)
    assert "the codes end at 675 of 1023" in below.text


def test_a_ratiometric_converter_needs_no_word_about_the_feeds_tolerance(found: Found) -> None:
    keys = found()
    assert keys["ratiometric"].severity is Severity.NOTE
    assert not {"feed-spread", "feed-above-reference", "feed-below-reference"} & set(keys)


def test_a_fixed_reference_lets_the_feed_through(found: Found) -> None:
    spread = found("wiring.feed=3.3 V ± 2 %", "converter.reference=3.3 V ± 1 %")["feed-spread"]
    # By hand: 3 % of 0.89706 of a travel that is 170 deg of the joint.
    assert spread.measured == pytest.approx(0.03 * (0.5 + 135.0 / 340.0) * 170.0)
    assert spread.severity is Severity.CAUTION


def test_a_fine_feed_is_noted_and_an_unstated_one_is_not_taken_for_exact(found: Found) -> None:
    fine = found("wiring.feed=3.3 V ± 0.1 %", "converter.reference=3.3 V ± 0.1 %")["feed-spread"]
    assert fine.severity is Severity.NOTE
    unstated = found("converter.reference=3.3 V")["feed-spread"]
    assert (unstated.severity, unstated.measured) == (Severity.CAUTION, None)
    assert "no tolerance is stated" in unstated.text


@pytest.mark.parametrize(
    ("track", "power", "milliwatts", "severity"),
    # Ohm's law by hand: 10 kohm on 5 V takes 2.5 mW, 8 kohm 3.125 mW.
    [("10 kohm", "1 W", 2.5, Severity.NOTE), ("10 kohm ± 20 %", "1 W", 3.125, Severity.NOTE),
     ("10 kohm", "4 mW", 2.5, Severity.CAUTION), ("10 kohm", "2 mW", 2.5, Severity.STOP)],
)  # fmt: skip
def test_the_power_is_taken_at_the_lowest_track(
    found: Found, track: str, power: str, milliwatts: float, severity: Severity
) -> None:
    changes = (f"sensor.track={track}", f"sensor.power={power}", "wiring.feed=5 V")
    finding = found(*changes)["track-power"]
    assert finding.measured == pytest.approx(milliwatts)
    assert finding.severity is severity


@pytest.mark.parametrize(("series", "severity"), [("500 ohm", Severity.NOTE), ("490 ohm", Severity.CAUTION)])
def test_a_driven_pin_asks_for_500_ohm_on_5_volts(found: Found, series: str, severity: Severity) -> None:
    finding = found("wiring.feed=5 V", f"wiring.series={series}")["pin-current"]
    assert finding.limit == pytest.approx(500.0)  # Ohm's law: 5 V / 10 mA
    assert finding.severity is severity


def test_a_shorted_lead_sends_50_milliamperes_through_a_sliver_of_a_hundredth(found: Found) -> None:
    # Ohm's law: 5 V over 1 % of 10 kohm. The stop at -36 deg leaves 50 % - 83.5 * 2 / 340 of the track;
    # a travel of 167 / 0.49 deg makes that 1 %.
    travel = f"sensor.electrical_travel={167.0 / 0.49!r} deg"
    changes = ("sensor.track=10 kohm", "wiring.feed=5 V", "stops={low='-36 deg', high='123 deg'}", travel)
    short = found(*changes)["lead-short"]
    assert short.measured == pytest.approx(50.0)
    assert short.severity is Severity.CAUTION


def test_a_wiper_that_can_reach_the_end_of_the_track_is_limited_by_nothing(found: Found) -> None:
    short = found("stops.low=-60 deg")["lead-short"]
    assert (short.severity, short.measured) == (Severity.CAUTION, None)
    assert "nothing limits" in short.text


@pytest.mark.parametrize(
    ("hottest", "watts"),
    # Data sheet of a ten-turn potentiometer: 2 W at 70 degC falling to nothing at 125 degC, 0.909 W at 100.
    [("20 degC", 2.0), ("70 degC", 2.0), ("100 degC", 0.909), ("125 degC", 0.0), ("150 degC", 0.0)],
)
def test_the_rating_falls_with_the_temperature(found: Found, hottest: str, watts: float) -> None:
    derating = f"sensor.derating={{full_to='70 degC', none_at='125 degC', hottest='{hottest}'}}"
    power = found("sensor.power=2 W", derating)["track-power"]
    assert power.limit == pytest.approx(1e3 * watts, abs=0.1)
    assert power.severity is (Severity.NOTE if watts else Severity.STOP)
    assert "in the hottest surroundings" in power.text


def test_half_a_derating_is_none(found: Found) -> None:
    power = found("sensor.derating={full_to='70 degC'}")["track-power"]
    assert "to be derated where it is hot" in power.text


def test_ends_are_counted_in_power_and_in_a_sliver(found: Found) -> None:
    ends = ("sensor.track=10 kohm", "sensor.end_resistance=500 ohm", "wiring.feed=5 V", "sensor.power=3 mW")
    keys = found(*ends, "stops={low='-37.5 deg', high='123 deg'}")
    # Ohm's law: 5 V over 11 kohm are 2.273 mW. The stop at -37.5 deg, 85 deg from mid-track at twice,
    # is the end of the track itself: 500 ohm are left there, 10 mA.
    assert keys["track-power"].measured == pytest.approx(25.0 / 11.0)
    assert keys["lead-short"].measured == pytest.approx(10.0)


@pytest.mark.parametrize(
    ("changes", "microamperes"),
    # Ohm's law at the high end of the motion, x = 0.5 + 135/340 of 3.3 V: through 100 kohm, 1 kohm and the
    # source of x (1 - x) 10 kohm; no pull, no current; a pull-up at the low end alike.
    [((), 1e6 * 3.3 * (0.5 + 135 / 340) / (101e3 + 10e3 * (0.25 - (135 / 340) ** 2))),
     (("wiring.pull={}",), 0.0),
     (('wiring.pull={up="100 kohm", at="lead"}',),
      1e6 * 3.3 * (0.5 + 135 / 340) / (100e3 + 10e3 * (0.25 - (135 / 340) ** 2)))],
)  # fmt: skip
def test_the_wiper_carries_what_hangs_behind_it(
    found: Found, changes: tuple[str, ...], microamperes: float
) -> None:
    current = found("sensor.track=10 kohm", *changes)["wiper-current"]
    assert current.measured == pytest.approx(microamperes, rel=1e-9)
    assert current.severity is Severity.NOTE


def test_a_divider_that_is_a_short_is_a_stop(found: Found) -> None:
    changes = ("wiring.divider={upper='100 ohm', lower='100 ohm'}", "wiring.series=0 ohm", "wiring.pull={}")
    # Ohm's law: at x = 0.897 of 3.3 V through 200 ohm and 64.8 ohm of a track of 702 ohm some 11 mA.
    current = found("sensor.track=702 ohm", *changes)["wiper-current"]
    assert current.measured == pytest.approx(
        1e6 * 3.3 * 0.89706 / (200.0 + 702 * 0.89706 * 0.10294), rel=1e-3
    )
    assert current.severity is Severity.STOP
