"""A planned model that cannot be stops the work; one that can be is not spoken of."""

from collections.abc import Callable, Mapping

import pytest

from anglewright.findings import Finding, Severity

Found = Callable[..., Mapping[str, Finding]]


@pytest.mark.parametrize("model", ["best", "line", "polynomial 2", "polynomial 4", "table", "loaded divider"])
def test_a_model_that_suits_a_track_is_not_spoken_of(found: Found, model: str) -> None:
    assert "planned-model" not in found(f"plan.model={model}")


@pytest.mark.parametrize("model", ["harmonics", "fixed slope", "straightened"])
def test_a_model_that_cannot_be_true_of_a_track_is_a_stop(found: Found, model: str) -> None:
    finding = found(f"plan.model={model}")["planned-model"]
    assert finding.severity is Severity.STOP
    assert f"'{model}' cannot be true of this axis" in finding.text
    assert "loaded divider" in finding.remedy
    assert model not in finding.remedy


@pytest.mark.parametrize(("points", "stops"), [(2, True), (3, True), (4, True), (5, True), (6, False)])
def test_four_degrees_take_a_position_more_than_five_parameters(
    found: Found, points: int, stops: bool
) -> None:
    # up and down: 2 n points at n positions; 5 parameters take 8 points at 6 positions
    findings = found("plan.model=polynomial 4", f"plan.points={points}")
    assert ("planned-model" in findings) is stops


@pytest.mark.parametrize(("points", "stops"), [(7, True), (8, False)])
def test_from_one_side_they_take_eight_points(found: Found, points: int, stops: bool) -> None:
    findings = found("plan.model=polynomial 4", f"plan.points={points}", "plan.approach=one side")
    assert ("planned-model" in findings) is stops
