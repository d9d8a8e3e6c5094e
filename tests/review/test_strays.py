"""Leakage, the controller's own pull, a shared ground; expected values by the hand arithmetic beside them."""

from collections.abc import Callable, Mapping

import pytest

from anglewright.findings import Finding, Severity

Found = Callable[..., Mapping[str, Finding]]
BARE = ("wiring.pull={}", "wiring.series=0 ohm")


def test_a_microampere_through_a_quarter_of_5_kilohms(found: Found) -> None:
    finding = found(*BARE, "sensor.track=5 kohm", "wiring.feed=5 V")["leakage"]
    # Handbook of checks: 1 uA through R_T/4 of 5 kohm is 1.25 mV = 0.025 % of 5 V; 0.025 % of 170 deg.
    assert finding.steps[0].result == pytest.approx(1.25)
    assert finding.measured == pytest.approx(0.025e-2 * 170.0)
    assert finding.text == (
        "A leakage of 1 uA (assumed) through 1.25 kohm makes 1.25 mV, 0.025 % of the feed: 0.0425 deg."
    )


@pytest.mark.parametrize(
    ("leakage", "severity"),
    # By hand: 1 deg is 3.3 V / 170 = 19.41 mV, through 3.5 kohm 5.546 uA.
    [("5.5 uA", Severity.NOTE), ("5.6 uA", Severity.CAUTION)],
)
def test_a_stated_leakage_is_held_against_the_need(found: Found, leakage: str, severity: Severity) -> None:
    finding = found("sensor.track=10 kohm", f"wiring.leakage={leakage}", rig="no-pull")["leakage"]
    assert finding.severity is severity
    assert "(assumed)" not in finding.text


def test_a_pull_left_on_costs_three_to_seven_per_cent(found: Found) -> None:
    finding = found(*BARE, "sensor.track=10 kohm")["own-pull"]
    # Workshop rule for a 10 kohm track: 20 to 50 kohm are worth 3 to 7 % of full scale; exactly 2.837 and
    # 6.673 %, the loading of a tenth and a half of a track (handbook of checks, k = 0.2 and 0.5).
    assert [abs(step.result) / 33.0 for step in finding.steps[:2]] == pytest.approx(
        [2.83732, 6.67256], abs=1e-5
    )
    assert finding.measured == pytest.approx(6.67256e-2 * 170.0, rel=1e-6)
    assert finding.text == (
        "The controller's own pull-up of 50 to 20 kohm falsifies the reading by 2.8 to 6.7 % of full "
        "scale, up to 11.3 deg, if it is left on."
    )
    assert finding.severity is Severity.NOTE


def test_a_pull_that_is_on_is_a_caution(found: Found) -> None:
    finding = found("sensor.track=10 kohm", "wiring.pull={own='50 kohm'}", "wiring.series=0 ohm")["own-pull"]
    assert finding.severity is Severity.CAUTION
    assert finding.text == (
        "The controller's own pull of 50 kohm is on: a pull-up falsifies the reading by 2.8 % of full "
        "scale, up to 4.82 deg."
    )


def test_a_driven_output_hardly_minds_a_pull(found: Found) -> None:
    finding = found(*BARE, "sensor={kind='magnetic'}")["own-pull"]
    # By hand: at the low end of the motion, 45 deg of the turn, the output is 20 % of 3.3 V; 100 ohm against
    # 20 kohm take 0.8 of 3.3 V / 201.
    assert finding.steps[1].result == pytest.approx(1e3 * 0.8 * 3.3 / 201.0, rel=1e-6)


def test_a_metre_of_shared_ground_lifts_the_reading(found: Found) -> None:
    finding = found(*BARE)["shared-ground"]
    # Wire tables, ASTM B258: a metre of gauge 24 copper has 84.2 milliohm; 84.2 mV of 3.3 V, of 170 deg.
    assert finding.steps[0].result == pytest.approx(84.2, abs=0.05)
    assert finding.measured == pytest.approx(84.2e-3 / 3.3 * 170.0, rel=1e-3)
    assert finding.text.startswith(
        "Each ampere of a motor through a metre of ground wire, gauge 24 (assumed) lifts"
    )


def test_the_wire_of_the_file_is_taken_where_there_is_one(found: Found) -> None:
    finding = found(*BARE, "wiring.lead={length='2 m', gauge=24}")["shared-ground"]
    assert finding.steps[0].result == pytest.approx(168.4, abs=0.1)
    assert "the sensor's ground wire lifts" in finding.text


def test_without_analogue_wiring_there_is_nothing_of_it(found: Found) -> None:
    keys = found("sensor={kind='serial'}", "wiring={}", "converter={}")
    assert {"leakage", "own-pull", "shared-ground"}.isdisjoint(keys)
