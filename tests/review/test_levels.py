"""Levels of every open and short, against node equations written and solved here."""

import random
from collections.abc import Callable, Mapping

import numpy as np
import pytest

from anglewright.findings import Finding, Severity
from anglewright.links.wiring import WireFault
from anglewright.review.design import Circuit, design_of
from anglewright.review.levels import fault_codes
from anglewright.rig import Axis

Found = Callable[..., Mapping[str, Finding]]
OPEN, SHORT = 1e15, 1e-9  # ohm, of a broken and of a touching wire in the node equations


def solved(share: float, fault: WireFault, *, track: float, series: float, down: float) -> float:
    """Share of the feed at the pin with a pull-down there: conductances at wiper, lead and pin, solved."""
    upper = OPEN if fault is WireFault.OPEN_FEED else track * (1.0 - share)
    lower = OPEN if fault is WireFault.OPEN_GROUND else track * share
    lead = OPEN if fault is WireFault.OPEN_WIPER else 1e-3
    to_ground = SHORT if fault is WireFault.WIPER_TO_GROUND else OPEN
    to_feed = SHORT if fault is WireFault.WIPER_TO_FEED else OPEN
    matrix = np.zeros((3, 3))
    for a, b, ohms in ((0, 1, lead), (1, 2, series)):
        matrix[[a, b], [a, b]] += 1.0 / ohms
        matrix[[a, b], [b, a]] -= 1.0 / ohms
    for node, ohms in ((0, upper), (0, lower), (1, to_ground), (1, to_feed), (2, down)):
        matrix[node, node] += 1.0 / ohms
    fed = np.array([1.0 / upper, 1.0 / to_feed, 0.0])
    return float(np.linalg.solve(matrix, fed)[2])


@pytest.mark.parametrize("fault", WireFault)
@pytest.mark.parametrize("seed", range(4))
def test_every_level_agrees_with_the_node_equations(
    shoulder: Callable[..., Axis], fault: WireFault, seed: int
) -> None:
    rng = random.Random(seed)
    track, series, down = rng.uniform(2e3, 20e3), rng.uniform(100, 3e3), rng.uniform(50e3, 500e3)
    circuit = design_of(
        shoulder(
            f"sensor.track={track!r} ohm", f"wiring.series={series!r} ohm",
            f'wiring.pull={{down="{down!r} ohm", at="pin"}}',
        )
    )  # fmt: skip
    assert isinstance(circuit, Circuit)
    codes = fault_codes(circuit, fault)[0]
    for k in range(0, 1351, 135):
        x = 0.5 + (-135.0 + 0.2 * k) / 340.0
        exact = 4096.0 * solved(x, fault, track=track, series=series, down=down)
        assert codes[k] == pytest.approx(min(np.floor(exact + 1e-3), 4095.0), abs=1.0)


def test_an_open_ground_on_the_rover_stands_near_the_top(found: Found) -> None:
    finding = found()["open-ground"]
    # Worked out beforehand with the pull at the pin: codes 3724 (at -20 deg) to 4014 (at 115 deg).
    assert "codes 3724 (at -20 deg) to 4014 (at 115 deg)" in finding.text
    assert [step.result for step in finding.steps if step.unit == "count"] == [3724.0, 4014.0]
    assert finding.severity is Severity.CAUTION
    assert finding.remedy


def test_where_an_open_ground_hides_follows_from_the_valid_band(found: Found) -> None:
    finding = found("sensor.track=10 kohm")["open-ground"]
    # By hand: the level meets the upper edge of the band, as the finding names it, where
    # 4096 * 100 / (100 + 1 + 10 (1 - x)) = edge + 1; joint = 47.5 deg + 170 deg (x - 0.5).
    edge = float(finding.limit or 0.0)
    x = 1.0 - (4096.0 * 100.0 / (edge + 1.0) - 101.0) / 10.0
    assert finding.text.endswith(f"it cannot be seen below {47.5 + 170.0 * (x - 0.5):.1f} deg.")


def test_a_track_of_unknown_size_hides_it_over_more_of_the_range(found: Found) -> None:
    sure, unsure = found("sensor.track=10 kohm")["open-ground"], found()["open-ground"]
    assert "with the track anywhere in its tolerance" in unsure.text
    assert "tolerance" not in sure.text


def test_without_a_pull_an_open_wiper_floats(found: Found) -> None:
    keys = found(rig="no-pull")
    assert (keys["open-wiper"].severity, keys["open-wiper"].measured) == (Severity.CAUTION, None)
    assert "floating" in keys["open-wiper"].text
    # The other faults go to the rails, which lie outside the band.
    assert [keys[key].measured for key in ("open-feed", "open-ground")] == [0.0, 4095.0]
    assert {keys[key].severity for key in ("open-feed", "open-ground")} == {Severity.NOTE}


def test_a_pull_at_the_pin_brings_an_open_wiper_to_its_rail(found: Found) -> None:
    assert found()["open-wiper"].measured == 0.0
    assert found('wiring.pull={up="100 kohm", at="pin"}')["open-wiper"].measured == 4095.0


def test_a_pull_at_the_lead_cannot_see_the_lead_break(found: Found) -> None:
    keys = found('wiring.pull={down="100 kohm", at="lead"}')
    assert keys["lead-behind-pull"].severity is Severity.CAUTION
    assert "lead-behind-pull" not in found()


def test_two_equal_pulls_leave_an_open_wiper_in_the_middle_where_it_is_never_seen(found: Found) -> None:
    finding = found('wiring.pull={down="100 kohm", up="100 kohm", at="pin"}')["open-wiper"]
    assert "code 2048" in finding.text  # half of 4096
    assert finding.text.endswith("it cannot be seen anywhere.")
    assert finding.severity is Severity.CAUTION


def test_a_falling_output_turns_the_place_round(found: Found) -> None:
    rises, falls = found()["open-ground"].text, found("mount.output=falls")["open-ground"].text
    assert "codes 4014 (at -20 deg) to 3724 (at 115 deg)" in falls
    assert "below" in rises
    assert "above" in falls
