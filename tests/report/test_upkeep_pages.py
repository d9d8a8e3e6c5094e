"""The plot of the zero over the days, the sticker and the card of a machine before use."""

import re
import xml.etree.ElementTree as ET
from dataclasses import replace
from itertools import pairwise

import pytest

from anglewright.findings import Severity
from anglewright.report.history import BOTTOM, LEFT, RIGHT, TOP, HistoryPlot, Kept, Noted, draw_history
from anglewright.report.lettering import width_of
from anglewright.report.readycard import CardAxis, CardCheck, ReadyCard, render_ready_card
from anglewright.report.sticker import Sticker, render_sticker

SVG = "{http://www.w3.org/2000/svg}"
PLOT = HistoryPlot(
    title="Zero of shoulder over the days",
    description="Two records.",
    unit="deg",
    permissible=1.0,
    kept=(
        Kept(day=100, name="2026-04-10-1", moved=-0.5, half_95=0.2, usable=False),
        Kept(day=110, name="2026-04-20-1", moved=0.0, half_95=0.1, in_use=True),
        Kept(day=110, name="2026-04-20-2", moved=2.5, half_95=0.1, kind="zero"),
    ),
    noted=(Noted(day=105, text="hub <b>replaced</b>"), Noted(day=105, text="dusted")),
)
CARD = ReadyCard(
    rig_name="<Rover>",
    machine="practice",
    headline="NOT READY: <Rover>. shoulder (signs).",
    ready=False,
    date="2026-05-13",
    caution="Mind it.",
    axes=(
        CardAxis(
            name="shoulder",
            stands_at="stow, -20 deg",
            how="arm <down>",
            a_to_b="410 to 433",
            reads="422",
            position="-20 deg",
            record="2026-05-12-1",
            ready=False,
            checks=(
                CardCheck(name="reading", severity=None),
                CardCheck(name="signs", severity=Severity.STOP),
                CardCheck(name="noise", severity=Severity.NOTE),
            ),
        ),
    ),
    findings=(),
)
STICKER = Sticker(
    rig_name="<Rover>",
    axis_name="shoulder",
    machine="",
    record="2026-05-12-1",
    rows=(("slope", "0.04 deg/count"),),
)


def places(svg: str, css: str, tag: str) -> list[ET.Element]:
    return [each for each in ET.fromstring(svg).iter(f"{SVG}{tag}") if each.get("class") == css]


def test_each_record_has_its_own_sign_and_stands_by_its_day() -> None:
    svg = str(draw_history(PLOT))
    (ring,), (live,), (diamond,) = (
        places(svg, "ring", "circle"), places(svg, "live", "circle"), places(svg, "dot", "path"),
    )  # fmt: skip
    assert float(ring.get("cx", 0)) < float(live.get("cx", 0))
    assert diamond is not None
    # Half of the way between the days 100 and 110 stands the line of day 105, halfway between their signs.
    (line,) = places(svg, "frame", "path")
    found = re.match(r"M([\d.]+)", line.get("d", ""))
    assert found is not None
    middle = (float(ring.get("cx", 0)) + float(live.get("cx", 0))) / 2
    assert float(found[1]) == pytest.approx(middle, abs=0.2)
    assert "1, 2" in {text.text for text in ET.fromstring(svg).iter(f"{SVG}text")}


def test_everything_lies_within_the_box_however_far_a_zero_moved() -> None:
    for far in (0.001, 2.5, 250.0):
        kept = (*PLOT.kept[:2], replace(PLOT.kept[2], moved=far))
        svg = str(draw_history(replace(PLOT, kept=kept)))
        for css, tag in (("ring", "circle"), ("live", "circle")):
            for sign in places(svg, css, tag):
                assert LEFT <= float(sign.get("cx", 0)) <= RIGHT
                assert TOP <= float(sign.get("cy", 0)) <= BOTTOM


def test_names_below_the_plot_never_lie_on_each_other() -> None:
    many = tuple(
        Kept(day=100 + k, name=f"2026-04-{k:02d}-1", moved=0.0, half_95=0.1, in_use=k == 29)
        for k in range(30)
    )
    svg = str(draw_history(replace(PLOT, kept=many)))
    rows: dict[str, list[tuple[float, float]]] = {}
    for each in ET.fromstring(svg).iter(f"{SVG}text"):
        if each.text and each.text.startswith("2026-04"):
            x, half = float(each.get("x", 0)), width_of(each.text) / 2
            rows.setdefault(each.get("y", ""), []).append((x - half, x + half))
    assert sum(len(row) for row in rows.values()) > 5
    for row in rows.values():
        row.sort()
        assert all(before[1] <= after[0] + 0.2 for before, after in pairwise(row))


def test_simulated_data_is_marked_as_such() -> None:
    marked = str(draw_history(replace(PLOT, simulated=True)))
    assert "Simulated data" in marked
    assert "Simulated data" not in str(draw_history(PLOT))


def test_one_day_alone_stands_in_the_middle() -> None:
    svg = str(draw_history(replace(PLOT, kept=PLOT.kept[:1], noted=())))
    (ring,) = places(svg, "ring", "circle")
    assert float(ring.get("cx", 0)) == pytest.approx((LEFT + RIGHT) / 2, abs=0.1)


@pytest.mark.parametrize("text", [render_ready_card(CARD), render_sticker(STICKER)], ids=["card", "sticker"])
def test_pages_load_nothing_and_show_names_without_running_them(text: str) -> None:
    assert "default-src 'none'" in text
    assert "<script" not in text
    assert "&lt;Rover&gt;" in text
    assert "<Rover>" not in text


def test_each_check_of_the_card_has_a_shape_and_a_word() -> None:
    body = render_ready_card(CARD).partition("</style>")[2]
    words = re.findall(r'class="said (\w+)">\s*<svg class="mark (\w+)"', body)
    assert words == [("good", "good"), ("stop", "stop"), ("note", "note")]
    assert (
        body.count("M6 12.5l4.2 4.5L18 7.5") == 1
    )  # the tick of the good one; the page as a whole is not ready
    good = render_ready_card(replace(CARD, ready=True)).partition("</style>")[2]
    assert good.count("M6 12.5l4.2 4.5L18 7.5") == 2
