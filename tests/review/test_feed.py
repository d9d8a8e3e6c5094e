"""The divider that cures a feed too high, clipping, and outputs that are not tracks."""

from collections.abc import Callable, Mapping

import eseries
import numpy as np
import pytest

from anglewright.findings import Finding, Severity
from anglewright.review.divider import divider_for, highest, preferred_values

Found = Callable[..., Mapping[str, Finding]]
CLIPS = ("wiring.feed=5 V", "converter.reference=3.3 V")


@pytest.mark.parametrize(
    ("kohm", "feed", "part", "volts"),
    # Handbook of checks, divider for a 5 V sensor on 3.3 V: 18k/33k 3.235 V nominal, 3.258 V with 1 % parts,
    # 3.348 V with 5 % (fails), 3.421 V with 1 % parts and 5.25 V; 20k/33k 3.113 V, and 3.293 V with 1 % parts
    # and 5.25 V.
    [(18, 5.0, 0.0, 3.235), (18, 5.0, 0.01, 3.258), (18, 5.0, 0.05, 3.348), (18, 5.25, 0.01, 3.421),
     (20, 5.0, 0.0, 3.113), (20, 5.25, 0.01, 3.293)],
)  # fmt: skip
def test_the_dividers_of_the_handbook_give_its_voltages(
    kohm: float, feed: float, part: float, volts: float
) -> None:
    top = highest(feed, upper_ohm=np.array(1e3 * kohm), lower_ohm=np.array(33e3), part=part)
    assert float(top) == pytest.approx(volts, abs=6e-4)


def test_the_search_finds_the_divider_of_the_handbook() -> None:
    found = divider_for(5.0, asked_v=5.25, limit_v=3.3)
    assert found is not None
    assert (found.upper_ohm, found.lower_ohm) == (20e3, 33e3)
    assert found.nominal_v == pytest.approx(3.113, abs=5e-4)
    assert found.top.result == pytest.approx(3.293, abs=5e-4)


@pytest.mark.parametrize(("asked", "limit"), [(5.25, 3.3), (12.6, 5.0), (5.1, 2.5), (4.2, 3.0), (26.0, 3.3)])
def test_no_other_pair_of_the_series_leaves_more(asked: float, limit: float) -> None:
    found = divider_for(asked, asked_v=asked, limit_v=limit)
    assert found is not None
    values = [digit * 10.0**power for digit in eseries.series(eseries.E24) for power in range(1, 4)]
    most = 0.0
    for upper in values:
        for lower in values:
            top = asked * lower * 1.01 / (lower * 1.01 + upper * 0.99)
            if 10e3 <= upper + lower <= 100e3 and top < limit:
                most = max(most, top)
    assert found.top.result == pytest.approx(most, rel=1e-12)
    assert 10e3 <= found.total_ohm <= 100e3


def test_a_limit_that_no_pair_keeps_has_no_divider() -> None:
    # By hand: the least share of such a pair is 100 ohm under 91 kohm, a little over a thousandth.
    assert divider_for(1e4, asked_v=1e4, limit_v=3.3) is None


def test_the_values_are_those_of_the_series() -> None:
    values = preferred_values()
    assert (len(values), values.min(), values.max()) == (72, 100.0, 91e3)
    assert all(eseries.find_nearest(eseries.E24, value) == pytest.approx(value) for value in values)


def test_5_volts_on_3_3_volts_is_told_the_divider_and_its_price(found: Found) -> None:
    above = found(*CLIPS)["feed-above-reference"]
    assert above.severity is Severity.STOP
    # By hand: k = 10/53; the loading is largest at x = 0.671, k x2 (1 - x) / (1 + k x (1 - x)) = 2.68 %, of
    # 170 deg 4.56 deg; with 3.3/5 the clip point is 66 %.
    assert above.remedy == (
        "Feed the sensor from the converter's reference, or divide it down, 20 kohm over 33 kohm, 1 % parts: "
        "3.113 V at the pin, at most 3.293 V with 5.25 V above them. The divider takes the place of series "
        "resistor and pull. It loads the track, by up to 2.68 % of travel = 4.56 deg: calibrate with it in "
        "place."
    )
    x, k = 0.671, 10.0 / 53.0
    by_hand = 170.0 * k * x**2 * (1.0 - x) / (1.0 + k * x * (1.0 - x))
    assert above.steps[-1].result == pytest.approx(by_hand, rel=1e-4)


def test_a_stated_feed_is_taken_at_its_limit(found: Found) -> None:
    above = found("wiring.feed=5 V ± 1 %", "converter.reference=3.3 V ± 1 %")["feed-above-reference"]
    assert above.steps[1].numbers["V_most"] == pytest.approx(5.05)
    assert above.steps[1].result < 3.267  # 3.3 V less 1 %


def test_the_divider_cures_it(found: Found) -> None:
    divided = ("wiring.divider={upper='20 kohm', lower='33 kohm'}", "wiring.pull={}", "wiring.series=0 ohm")
    cured = found(*CLIPS, *divided)
    assert not {"feed-above-reference", "feed-below-reference"} & set(cured)
    # the loading that was foretold, within what the straight line through both ends leaves of it
    assert cured["loading"].measured == pytest.approx(4.56, abs=0.01)


def test_end_resistance_moves_the_place_and_not_the_voltage_of_clipping(found: Found) -> None:
    above = found(*CLIPS, "sensor.track=10 kohm", "sensor.end_resistance=500 ohm")["feed-above-reference"]
    # By hand: 66 % of 11 kohm are 7260 ohm, 6760 of them on the track: 67.6 %.
    assert above.steps[0].result == pytest.approx(67.6)
    assert "clips at 67.6 % of the track, at 77.42 deg" in above.text  # 47.5 + 0.176 * 170


def test_a_driven_output_clips_at_its_own_level(found: Found) -> None:
    above = found("sensor={kind='magnetic'}", *CLIPS)["feed-above-reference"]
    # By hand: 10 to 90 % of 5 V; 3.3 V is 66 %, (66 - 10)/80 = 70 % of the turn, 47.5 + 0.2 * 180 = 83.5 deg.
    assert above.measured == pytest.approx(4.5)
    assert above.limit == 3.3
    assert above.text == (
        "The sensor is fed with 5 V and gives up to 4.5 V, the converter's full scale is 3.3 V: the reading "
        "clips at 70 % of the output, at 83.5 deg, and the pin can be damaged."
    )


def test_a_window_below_full_scale_does_not_clip(found: Found) -> None:
    # By hand: 90 % of 3.6 V is 3.24 V.
    keys = found("sensor={kind='magnetic'}", "wiring.feed=3.6 V", "converter.reference=3.3 V")
    assert not {"feed-above-reference", "feed-below-reference"} & set(keys)


def test_a_feed_that_is_measured_cancels(found: Found) -> None:
    keys = found("converter.reference=3.3 V ± 2 %", "converter.feed_channel={ratio='50 % ± 0.2 %'}")
    assert "feed-spread" not in keys
    assert keys["feed-measured"].text.startswith(
        "The feed is measured and divided out, so that feed and reference cancel: its divider, 50 % ± 0.2 %, "
    )


def test_a_driven_output_has_levels_for_every_open_and_short(found: Found) -> None:
    keys = found("sensor={kind='magnetic'}")
    # By hand: without feed or ground nothing drives the output, and the pull-down holds the pin at nothing.
    for key in ("open-feed", "open-ground", "open-wiper", "wiper-to-ground"):
        assert (keys[key].measured, keys[key].severity) == (0.0, Severity.NOTE)
    assert keys["open-wiper"].text.startswith("An open signal wire leaves code 0; the valid band is ")
    floats = found("sensor={kind='magnetic'}", "wiring.pull={}")["open-feed"]
    assert (floats.severity, floats.measured) == (Severity.CAUTION, None)


def test_a_driven_output_sees_its_own_resistance(found: Found) -> None:
    keys = found("sensor={kind='magnetic', source_resistance='150 ohm'}", "wiring.pull={}")
    assert keys["source-resistance"].measured == pytest.approx(1150.0)
