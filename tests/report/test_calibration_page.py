"""The page of a calibration and its plots: what stands where, and as Chromium shows and prints it."""

import re
import xml.etree.ElementTree as ET
from dataclasses import replace
from itertools import pairwise
from pathlib import Path

import pytest
from playwright.sync_api import Browser

from anglewright.errors import DataError
from anglewright.findings import Finding, Severity
from anglewright.report.calibrationpage import CalibrationPage, PointRow, render_calibration_page
from anglewright.report.document import (
    AxisSheet,
    Calibration,
    Extent,
    Fact,
    Loop,
    OnTrial,
    Point,
    ReportDocument,
)
from anglewright.report.graph import NARROW_PX, WIDE_PX, Label, Scale, boxed, labelled
from anglewright.report.history import HistoryPlot, Kept, Noted
from anglewright.report.html import render_html
from anglewright.report.pictures import pictures_of
from anglewright.report.plots import curve_plot, loop_plot, residual_plot

PHONE, DESK, A4_INSIDE = 390, 1320, 688
EXTENT = Extent(name="shoulder", unit="deg", permissible=1.0, low=-20.0, high=115.0)
PLACES = (-20.0, 25.0, 70.0, 115.0)
HISTORY = HistoryPlot(
    title="Zero of shoulder over the days",
    description="Two records.",
    unit="deg",
    permissible=1.0,
    kept=(
        Kept(day=100, name="2026-04-10-1", moved=-0.5, half_95=0.2),
        Kept(day=110, name="2026-04-20-1", moved=0.0, half_95=0.1, in_use=True),
    ),
    noted=(Noted(day=105, text="hub tightened"),),
)


def code(q: float) -> float:
    """24 codes a degree, 2048 at 47.5 deg."""
    return 2048.0 + 24.0 * (q - 47.5)


def finding(severity: Severity, text: str) -> Finding:
    """A finding of a made-up calibration."""
    return Finding(
        key="play", severity=severity, axis="shoulder", link="calibration", text=text, remedy="Mend it.",
        source="practice",
    )  # fmt: skip


POINTS = tuple(
    Point(position=q, residual=-0.4 * side, side=side, raw=code(q - 0.4 * side))
    for side in (1, -1)
    for q in PLACES
)
CALIBRATION = Calibration(
    record="2026-05-12-1",
    date_text="2026-05-12",
    headline="shoulder fails",
    points=POINTS,
    facts=(Fact(name="Model", value="line"), Fact(name="One reading, 95 %", value="±0.9 deg")),
    curve=tuple((code(q), q) for q in PLACES),
    often=((-20.0, 0.9), (115.0, 0.8)),
    loop=Loop(
        up=tuple((q, -0.4) for q in PLACES),
        down=tuple((q, 0.4) for q in PLACES),
        gap_text="Widest at 25 deg: coming down reads 0.8 deg more than going up.",
    ),
    on_trial=(
        OnTrial(name="line", parameters=2, missed=0.05, missed_text="0.05 deg", used=True),
        OnTrial(name="polynomial 2", parameters=3, missed=2.4, missed_text="2.4 deg"),
        OnTrial(name="table", parameters=9, missed=None, missed_text="table has 9 parameters and takes 12"),
    ),
    because="Why line: no other is surely nearer.",
    history=HISTORY,
)
PAGE = CalibrationPage(
    rig_name="<Rover>",
    machine="practice",
    source_file="rig.toml",
    extent=EXTENT,
    verdict="fails",
    headline="Shoulder reads true to ±1.7 deg; it should be ±1 deg",
    lead="95 % of readings are within ± 1.7 deg.",
    permissible_text="±1 deg",
    calibration=CALIBRATION,
    actions=("Take the play out.", "Then calibrate again."),
    findings=(
        finding(Severity.NOTE, "small"),
        finding(Severity.STOP, "grave"),
    ),
    rows=tuple(
        PointRow(
            number=str(n), reference=f"{p.position:.2f} deg", came="up", code=f"{p.raw:.2f}", readings="4",
            residual="0.4 deg",
        )
        for n, p in enumerate(POINTS, 1)
    ),
    cautions=("The mechanism drops: support it.",),
    simulated=True,
)  # fmt: skip

# Texts of a plot that cross one another, or leave their plot; half a pixel is forgiven.
CROSSING = """() => [...document.querySelectorAll('svg.plot,svg.draft')].filter(svg => svg.checkVisibility())
  .flatMap(svg => {
    const edge = svg.getBoundingClientRect(), found = [];
    const texts = [...svg.querySelectorAll('text')].map(t => [t.textContent, t.getBoundingClientRect()]);
    texts.forEach(([text, box], rank) => {
      if (box.left < edge.left - .5 || box.right > edge.right + .5 || box.top < edge.top - .5
        || box.bottom > edge.bottom + .5) found.push(text + ' leaves its plot');
      for (const [other, beside] of texts.slice(rank + 1))
        if (box.left < beside.right - .5 && beside.left < box.right - .5 && box.top < beside.bottom - .5
          && beside.top < box.bottom - .5) found.push(text + ' over ' + other);
    });
    return found;
  })"""


def texts(svg: str) -> list[str]:
    return [element.text or "" for element in ET.fromstring(svg).iter("text")]


def places(svg: str, css: str) -> list[tuple[float, float]]:
    """Where a line of a class runs."""
    line = next(each.get("d", "") for each in ET.fromstring(svg).iter("path") if each.get("class") == css)
    return [(float(x), float(y)) for x, y in re.findall(r"([\d.]+) ([\d.]+)", line)]


@pytest.mark.parametrize("width", [WIDE_PX, NARROW_PX])
def test_every_plot_names_its_units_and_both_ways_in_words(width: int) -> None:
    residuals = residual_plot(EXTENT, CALIBRATION, width=width)
    assert {"position, deg", "reading less reference, deg", "95 % of readings", "permissible"} < set(
        texts(residuals)
    )
    assert {"reading, counts", "position, deg", "curve in use"} < set(
        texts(curve_plot(EXTENT, CALIBRATION, width=width))
    )
    assert CALIBRATION.loop is not None
    assert {"off the straight line, deg", "permissible"} < set(
        texts(loop_plot(EXTENT, CALIBRATION.loop, width=width))
    )
    for svg in (residuals, curve_plot(EXTENT, CALIBRATION, width=width)):
        assert {"going up", "coming down"} < set(texts(svg))


def test_the_band_of_95_per_cent_lies_where_it_was_put() -> None:
    svg = residual_plot(EXTENT, CALIBRATION)
    often = places(svg, "often")
    top, bottom = (float(y) for y in re.findall(r'class="edge" d="M\S+ ([\d.]+)', svg))
    one = (bottom - top) / 2.0  # one degree of the scale, for the need is one degree to either side
    zero = (bottom + top) / 2.0
    assert [(zero - y) / one for _, y in often] == pytest.approx([0.9, 0.8], abs=0.01)


def test_the_loop_is_joined_at_both_ends() -> None:
    assert CALIBRATION.loop is not None
    svg = loop_plot(EXTENT, CALIBRATION.loop)
    up, down = places(svg, "line up"), places(svg, "line down")
    joins = [
        [(float(x), float(y)) for x, y in re.findall(r"([\d.]+) ([\d.]+)", each.get("d", ""))]
        for each in ET.fromstring(svg).iter("path")
        if each.get("class") == "join"
    ]
    assert joins == [[up[0], down[0]], [up[-1], down[-1]]]


def test_a_point_whose_way_is_not_known_is_a_ring_with_its_words() -> None:
    unknown = replace(CALIBRATION, points=tuple(replace(point, side=0) for point in POINTS))
    for svg in (residual_plot(EXTENT, unknown), curve_plot(EXTENT, unknown)):
        assert "way not known" in texts(svg)
        assert svg.count("a4.5 4.5") >= 2 * len(POINTS)
        assert "h11l-5.5" not in svg


def test_numbers_of_a_scale_keep_apart_however_long_they_are() -> None:
    for high in (1.0, 16383.0, 7.0e6, 0.0004):
        shown = Scale(low=0.0, high=high, caption="").numbers_across(260.0)
        room = 260.0 / high
        ends = [(value * room, 7.8 * len(text) / 2.0) for value, text in shown.items()]
        assert len(shown) >= 2
        assert all(b - a > half_a + half_b for (a, half_a), (b, half_b) in pairwise(ends))


def test_labels_that_want_the_lowest_place_stay_inside() -> None:
    scale = Scale(low=0.0, high=1.0, caption="")
    box = boxed(WIDE_PX, across=scale, up=scale, labels=4)
    low = [Label(y=box.bottom, sign="up", text=str(n)) for n in range(4)]
    heights = [float(y) for y in re.findall(r'y="([\d.]+)" class="label', "".join(labelled(box, low)))]
    assert max(heights) <= box.bottom + 0.1
    assert min(b - a for a, b in pairwise(heights)) >= 16.9


def test_only_what_there_are_numbers_for_is_drawn() -> None:
    bare = replace(CALIBRATION, curve=(), often=(), loop=None, history=None)
    assert [each.title for each in pictures_of(EXTENT, bare)] == ["What the curve leaves"]
    assert len(pictures_of(EXTENT, CALIBRATION)) == 4
    assert pictures_of(EXTENT, replace(bare, points=())) == ()


def test_a_number_that_cannot_be_drawn_is_refused_with_its_name() -> None:
    bad = replace(CALIBRATION, curve=((1.0, float("nan")),))
    with pytest.raises(DataError) as caught:
        replace(PAGE, calibration=bad)
    assert str(caught.value) == (
        "page of a calibration, axis 'shoulder': the curve is nan. Correct what fills the page."
    )


def test_the_answer_comes_first_then_what_to_do_then_the_worst_finding() -> None:
    body = render_calibration_page(PAGE).partition("</style>")[2]
    order = [
        "not good enough",
        "Shoulder reads true",
        "Take the play out.",
        "What the curve leaves",
        "grave",
        "small",
    ]
    at = [body.index(each) for each in order]
    assert at == sorted(at)
    assert body.index("good enough") < body.index('<svg class="plot"')


def test_the_model_in_use_is_marked_by_a_word_and_one_that_was_not_tried_says_why() -> None:
    body = render_calibration_page(PAGE).partition("</style>")[2]
    rows = re.findall(r'<li class="(used|other)(?: untried)?">(.*?)</li>', body, re.S)
    assert [css for css, _ in rows] == ["used", "other", "other"]
    assert [">used</span>" in row for _, row in rows] == [True, False, False]
    assert "table has 9 parameters and takes 12" in rows[2][1]
    assert "<svg" not in rows[2][1]


def test_the_page_loads_nothing_runs_nothing_and_shows_names_as_text() -> None:
    text = render_calibration_page(PAGE)
    assert "default-src 'none'" in text
    assert "<script" not in text
    assert "&lt;Rover&gt;" in text
    assert "<Rover>" not in text


def hostile() -> CalibrationPage:
    """Every free text long and dangerous; far values in the plots."""
    nasty = "\"'></style><img src=x onerror=alert(1)> " + "long" * 30
    points = tuple(replace(p, position=1e5 * p.position, residual=3e4, side=0) for p in POINTS)
    found = replace(
        CALIBRATION,
        record=nasty,
        points=points,
        because=nasty,
        facts=(Fact(name=nasty, value=nasty),),
        on_trial=tuple(replace(each, name=nasty, missed_text=nasty) for each in CALIBRATION.on_trial),
        loop_why=nasty,
        loop=None,
    )
    bad = replace(PAGE.findings[0], text=nasty, remedy=nasty)
    return replace(
        PAGE, rig_name=nasty, headline=nasty, lead=nasty, calibration=found, findings=(bad,),
        actions=(nasty,), cautions=(nasty,), permissible_text=nasty, machine=nasty, verdict="cannot tell",
        rows=tuple(replace(row, reference=nasty, came=nasty) for row in PAGE.rows),
    )  # fmt: skip


@pytest.mark.slow
@pytest.mark.parametrize("dark", [False, True])
@pytest.mark.parametrize("width", [PHONE, 700, DESK])
@pytest.mark.parametrize("page", [PAGE, hostile()], ids=["full", "hostile"])
def test_in_a_browser_nothing_is_said_asked_for_crossed_or_scrolled_sideways(
    browser: Browser, tmp_path: Path, page: CalibrationPage, width: int, dark: bool
) -> None:
    file = tmp_path / "page.html"
    file.write_text(render_calibration_page(page), "utf-8")
    context = browser.new_context(
        viewport={"width": width, "height": 900}, color_scheme="dark" if dark else "light"
    )
    shown, said, asked = context.new_page(), [], []
    shown.on("console", lambda message: said.append(message.text))
    shown.on("pageerror", lambda error: said.append(str(error)))
    shown.on("request", lambda request: asked.append(request.url))
    shown.goto(file.as_uri())
    assert shown.evaluate("document.documentElement.scrollWidth") <= width
    assert shown.evaluate(CROSSING) == []
    assert said == []
    assert [url for url in asked if not url.startswith("data:")] == [file.as_uri()]
    context.close()


@pytest.mark.slow
def test_the_check_for_crossing_labels_finds_a_planted_one(browser: Browser, tmp_path: Path) -> None:
    file = tmp_path / "page.html"
    file.write_text(
        render_calibration_page(PAGE).replace(">coming down<", ">permissible coming down<"), "utf-8"
    )
    shown = browser.new_page(viewport={"width": DESK, "height": 900})
    shown.goto(file.as_uri())
    assert any("leaves its plot" in each for each in shown.evaluate(CROSSING))
    shown.close()


@pytest.mark.slow
def test_on_paper_it_is_light_whole_and_on_a4(browser: Browser, tmp_path: Path) -> None:
    file = tmp_path / "page.html"
    file.write_text(render_calibration_page(PAGE), "utf-8")
    context = browser.new_context(viewport={"width": A4_INSIDE, "height": 900}, color_scheme="dark")
    shown = context.new_page()
    shown.goto(file.as_uri())
    shown.emulate_media(media="print", color_scheme="dark")
    assert shown.evaluate("getComputedStyle(document.body).color") == "rgb(29, 35, 39)"  # LOOK: ink
    assert shown.evaluate(CROSSING) == []
    pdf = shown.pdf(prefer_css_page_size=True)
    context.close()
    boxes = re.findall(rb"/MediaBox\s*\[\s*0 0 ([\d.]+) ([\d.]+)\s*\]", pdf)
    # ISO 216: 210 mm by 297 mm, in points of 1/72 in
    assert {(round(float(width)), round(float(height))) for width, height in boxes} == {(595, 842)}
    assert 2 <= len(re.findall(rb"/Type\s*/Page\b", pdf)) <= 4


@pytest.mark.slow
@pytest.mark.parametrize("width", [PHONE, DESK])
def test_the_report_shows_the_same_pictures(
    browser: Browser, tmp_path: Path, document: ReportDocument, shoulder: AxisSheet, width: int
) -> None:
    file = tmp_path / "report.html"
    sheet = replace(shoulder, calibration=CALIBRATION)
    file.write_text(render_html(replace(document, axes=(sheet,))), "utf-8")
    shown = browser.new_page(viewport={"width": width, "height": 900})
    shown.goto(file.as_uri())
    titles = [each.title for each in pictures_of(EXTENT, CALIBRATION)]
    assert shown.locator(".calibration figcaption").all_inner_texts() == titles
    assert shown.evaluate("document.documentElement.scrollWidth") <= width
    crossing = shown.evaluate(CROSSING.replace("'svg.plot,svg.draft'", "'.calibration svg'"))
    assert [each for each in crossing if each] == []
    shown.close()
