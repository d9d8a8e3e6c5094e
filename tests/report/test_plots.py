import re
import xml.etree.ElementTree as ET
from dataclasses import replace
from itertools import pairwise

import pytest

from anglewright.errors import RangeError
from anglewright.findings import Severity
from anglewright.report.document import AxisSheet, Calibration
from anglewright.report.graph import NARROW_PX, WIDE_PX
from anglewright.report.plots import bar, residual_plot, severity_mark
from anglewright.report.scales import ticks


@pytest.fixture
def calibration(shoulder: AxisSheet) -> Calibration:
    assert shoulder.calibration is not None
    return shoulder.calibration


def texts(svg: str) -> list[str]:
    return [element.text or "" for element in ET.fromstring(svg).iter("text")]


@pytest.mark.parametrize("width", [WIDE_PX, NARROW_PX])
def test_the_residuals_have_units_direct_labels_and_the_band(
    shoulder: AxisSheet, calibration: Calibration, width: int
) -> None:
    svg = residual_plot(shoulder.extent, calibration, width=width)
    assert {"position, deg", "reading less reference, deg", "going up", "coming down", "permissible"} < set(
        texts(svg)
    )
    assert svg.count('class="band"') == 1


def test_each_point_is_a_triangle_that_points_the_way_the_axis_went(
    shoulder: AxisSheet, calibration: Calibration
) -> None:
    svg = residual_plot(shoulder.extent, calibration)
    for css, tip in (("up", "-"), ("down", "")):
        marks = max(re.findall(rf'class="point {css}" d="([^"]*)"', svg), key=len)
        assert len(re.findall(rf"h11l-5\.5 {tip}9\.5Z", marks)) == 9  # nine positions each way


def test_zero_lies_between_equal_limits_of_the_band(shoulder: AxisSheet, calibration: Calibration) -> None:
    svg = residual_plot(shoulder.extent, calibration)
    zero = float(re.findall(r'class="zero" d="M\S+ ([\d.]+)', svg)[0])
    top, bottom = (float(y) for y in re.findall(r'class="edge" d="M\S+ ([\d.]+)', svg))
    assert zero - top == pytest.approx(bottom - zero, abs=0.11)  # places are rounded to 0.1 px


def test_labels_beside_the_plot_never_lie_on_each_other(
    shoulder: AxisSheet, calibration: Calibration
) -> None:
    flat = replace(calibration, points=tuple(replace(p, residual=1.0) for p in calibration.points))
    svg = residual_plot(shoulder.extent, flat)
    heights = sorted(float(y) for y in re.findall(r'y="([\d.]+)" class="label', svg))
    assert len(heights) == 3
    assert min(high - low for low, high in pairwise(heights)) >= 13


def test_one_point_alone_can_be_drawn(shoulder: AxisSheet, calibration: Calibration) -> None:
    alone = replace(shoulder, frames=shoulder.frames[:1], start_frame=0)
    svg = residual_plot(alone.extent, replace(calibration, points=calibration.points[:1]))
    assert "going up" in texts(svg)
    assert "coming down" not in texts(svg)


def test_a_hostile_unit_stays_text(shoulder: AxisSheet, calibration: Calibration) -> None:
    svg = residual_plot(replace(shoulder.extent, unit='"><script>'), calibration)
    assert "<script>" not in svg
    assert 'position, "><script>' in texts(svg)


@pytest.mark.parametrize(
    ("low", "high", "expected"),
    [
        (0.0, 1.0, (0.0, 0.2, 0.4, 0.6, 0.8, 1.0)),
        (-1.15, 1.15, (-1.0, -0.5, 0.0, 0.5, 1.0)),
        (0.0, 0.003, (0.0, 0.0005, 0.001, 0.0015, 0.002, 0.0025, 0.003)),
        (1e6, 1e6 + 7, (1e6, 1e6 + 1, 1e6 + 2, 1e6 + 3, 1e6 + 4, 1e6 + 5, 1e6 + 6, 1e6 + 7)),
    ],
)
def test_scales_have_round_numbers(low: float, high: float, expected: tuple[float, ...]) -> None:
    assert ticks(low, high) == pytest.approx(expected, abs=1e-12)


def test_a_scale_of_no_length_is_refused() -> None:
    with pytest.raises(RangeError) as caught:
        ticks(1.0, 1.0)
    assert str(caught.value) == "scale of a plot: it runs from 1 to 1. Widen it."


@pytest.mark.parametrize(("share", "width"), [(-0.1, "0.00"), (0.25, "25.00"), (3.0, "100.00")])
def test_a_bar_never_leaves_its_bed(share: float, width: str) -> None:
    assert f'class="fill" y="4" width="{width}"' in bar(share)


def test_the_need_is_a_tick_at_its_place() -> None:
    tick = next(e for e in ET.fromstring(bar(0.5, need=0.2)).iter("rect") if e.get("class") == "need")
    assert float(tick.get("x", "")) + float(tick.get("width", "")) / 2 == pytest.approx(20.0)


def test_severities_differ_in_shape_not_in_colour_alone() -> None:
    shapes = {re.sub(r'class="[^"]*"', "", severity_mark(severity)) for severity in Severity}
    assert len(shapes) == 3
