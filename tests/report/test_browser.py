"""The report as Chromium shows and prints it."""

import re
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field, replace
from pathlib import Path

import pytest
from playwright.sync_api import Browser, Dialog, Page

from anglewright.report.document import AxisSheet, ReportDocument
from anglewright.report.drawings import draw
from anglewright.report.html import render_html
from anglewright.report.lettering import typeset

pytestmark = pytest.mark.slow

PHONE, DESK, A4_INSIDE = 390, 1320, 688  # px; A4 less its margins is 182 mm, at 96 px an inch

# Text that leaves the box it belongs to, or an element whose content is wider than itself.
CLIPPED = """() => {
  const found = [];
  const walk = document.createTreeWalker(document.body, NodeFilter.SHOW_TEXT);
  for (let node = walk.nextNode(); node; node = walk.nextNode()) {
    const own = node.parentElement;
    if (!node.textContent.trim() || own.closest("script,style") || !own.checkVisibility()) continue;
    const box = own.closest("svg.plot,svg.draft") || own.closest(".room,.sheet,.chain,td,th,header,main");
    const range = document.createRange();
    range.selectNodeContents(node);
    const text = range.getBoundingClientRect(), edge = box.getBoundingClientRect();
    const out = text.right > edge.right + 1 || text.left < edge.left - 1;
    const wider = own instanceof HTMLElement && own.clientWidth && own.scrollWidth > own.clientWidth + 1;
    if (out || wider) found.push(node.textContent.trim());
  }
  return found;
}"""

# What moves in each drawing, as it stands now.
MOVED = """() => Array.from(document.querySelectorAll(".room .drawing"), each => Array.from(
  each.querySelectorAll("[data-of]"), part => ["transform", "stroke-dasharray", "stroke-dashoffset"].map(
    name => part.getAttribute(name)).join(" ")).join(" "))"""

# The same of drawings that no script has touched.
SET_IN_A_PAGE = """drawn => drawn.map(text => {
  const holder = document.createElement("div");
  holder.innerHTML = text;
  return Array.from(holder.querySelectorAll("[data-of]"), part => ["transform", "stroke-dasharray",
    "stroke-dashoffset"].map(name => part.getAttribute(name)).join(" ")).join(" ");
})"""

# Shapes that leave their drawing, but for those in a window, which is cut off at its edges.
OUTSIDE = """() => Array.from(document.querySelectorAll(".room .drawing")).flatMap(drawing => {
  const edge = drawing.getBoundingClientRect();
  const leaves = (shape, at) => {
    const place = shape.getPointAtLength(at).matrixTransform(shape.getScreenCTM());
    return place.x < edge.left || place.x > edge.right || place.y < edge.top || place.y > edge.bottom;
  };
  return Array.from(drawing.querySelectorAll("path,circle,rect"))
    .filter(shape => shape.closest("svg").matches(".drawing,.small"))
    .filter(shape => Array.from({length: 65}, (_, k) => shape.getTotalLength() * k / 64)
      .some(at => leaves(shape, at)))
    .map(shape => drawing.closest(".room").querySelector(".part").textContent + ": " + shape.outerHTML);
})"""


def numbers(text: str) -> list[float]:
    """The numbers in what moves a drawing."""
    return [float(each) for each in re.findall(r"-?\d+(?:\.\d+)?(?:e-?\d+)?", text)]


@dataclass(slots=True)
class Watch:
    """What a page said and asked for while it was open."""

    said: list[str] = field(default_factory=list)
    asked: list[str] = field(default_factory=list)


@contextmanager
def opened(
    browser: Browser, file: Path, *, width: int = DESK, dark: bool = False
) -> Iterator[tuple[Page, Watch]]:
    """A report in the browser, watched."""
    context = browser.new_context(
        viewport={"width": width, "height": 900}, color_scheme="dark" if dark else "light"
    )
    page, watch = context.new_page(), Watch()

    def refuse(dialog: Dialog) -> None:
        watch.said.append(f"dialog: {dialog.message}")
        dialog.dismiss()

    page.on("console", lambda message: watch.said.append(message.text))
    page.on("pageerror", lambda error: watch.said.append(str(error)))
    page.on("dialog", refuse)
    page.on("request", lambda request: watch.asked.append(request.url))
    page.goto(file.as_uri())
    try:
        yield page, watch
    finally:
        context.close()


@pytest.fixture(params=["document", "bare", "hostile", "two axes", "every_kind"])
def report(request: pytest.FixtureRequest, document: ReportDocument, shoulder: AxisSheet) -> ReportDocument:
    """Each kind of report in turn."""
    if request.param == "two axes":
        axes = (shoulder, replace(shoulder, name="mast", verdict="cannot tell", headline="Mast: not known"))
        return replace(document, axes=axes, headline="One of two axes falls short")
    made: ReportDocument = request.getfixturevalue(request.param)
    return made


def written(report: ReportDocument, folder: Path) -> Path:
    file = folder / "report.html"
    file.write_text(render_html(report), "utf-8")
    return file


@pytest.mark.parametrize("width", [PHONE, 700, 1000, DESK])
def test_no_error_no_request_no_sideways_scroll_and_no_clipped_text(
    browser: Browser, report: ReportDocument, tmp_path: Path, width: int
) -> None:
    file = written(report, tmp_path)
    with opened(browser, file, width=width) as (page, watch):
        page.evaluate("document.querySelectorAll('details').forEach(each => each.open = true)")
        assert page.evaluate("document.documentElement.scrollWidth") <= width
        assert page.evaluate(CLIPPED) == []
        assert watch.said == []
        assert [url for url in watch.asked if not url.startswith("data:")] == [file.as_uri()]


def test_the_check_for_clipped_text_finds_a_planted_one(
    browser: Browser, document: ReportDocument, tmp_path: Path
) -> None:
    with opened(browser, written(document, tmp_path)) as (page, _):
        page.evaluate("document.querySelector('h1').style.cssText = 'width:90px;white-space:nowrap'")
        assert page.evaluate(CLIPPED) == [typeset(document.headline)]


@pytest.mark.parametrize(("key", "rank"), [("Home", 0), ("End", -1), ("ArrowRight", 31)])
def test_the_slider_moves_every_room_by_the_keyboard(
    browser: Browser, document: ReportDocument, shoulder: AxisSheet, tmp_path: Path, key: str, rank: int
) -> None:
    with opened(browser, written(document, tmp_path)) as (page, _):
        before = page.locator(".room .drawing").evaluate_all("all => all.map(each => each.innerHTML)")
        page.locator("input[type=range]").focus()
        page.keyboard.press(key)
        values = page.locator(".room .value").all_inner_texts()
        after = page.locator(".room .drawing").evaluate_all("all => all.map(each => each.innerHTML)")
        frame = shoulder.frames[rank]
        assert values == [typeset(value) for value in frame.values]
        assert page.locator("output").inner_text() == typeset(frame.position_text)
        assert all(old != new for old, new in zip(before, after, strict=True))


@pytest.mark.parametrize("width", [PHONE, DESK])
def test_the_slider_moves_the_drawing_of_every_kind_as_it_is_drawn_without_a_script(
    browser: Browser, every_kind: ReportDocument, tmp_path: Path, width: int
) -> None:
    with opened(browser, written(every_kind, tmp_path), width=width) as (page, watch):
        before = page.evaluate(MOVED)
        for rank, sheet in enumerate(every_kind.axes):
            page.locator("input[type=range]").nth(rank).focus()
            page.keyboard.press("End")
            assert page.locator("output").nth(rank).inner_text() == typeset(sheet.frames[-1].position_text)
        after = page.evaluate(MOVED)
        drawn = [
            draw(room.drawing, [round(phase, 5) for phase in phases])  # as the page has them
            for sheet in every_kind.axes
            for room, phases in zip(sheet.rooms, sheet.frames[-1].phases, strict=True)
        ]
        fresh = page.evaluate(SET_IN_A_PAGE, drawn)
        assert watch.said == []
    assert len(before) == len(after) == len(drawn)
    for old, new, expected in zip(before, after, fresh, strict=True):
        assert new != old
        assert numbers(new) == pytest.approx(numbers(expected), abs=0.02)


@pytest.mark.parametrize("key", ["Home", "End", "PageUp"])
def test_no_part_of_a_drawing_leaves_its_box_wherever_it_has_moved(
    browser: Browser, every_kind: ReportDocument, tmp_path: Path, key: str
) -> None:
    with opened(browser, written(every_kind, tmp_path)) as (page, _):
        for slider in page.locator("input[type=range]").all():
            slider.focus()
            page.keyboard.press(key)
        assert page.evaluate(OUTSIDE) == []


def test_each_axis_has_a_slider_of_its_own(
    browser: Browser, document: ReportDocument, shoulder: AxisSheet, tmp_path: Path
) -> None:
    report = replace(document, axes=(shoulder, replace(shoulder, name="mast", headline="Mast")))
    with opened(browser, written(report, tmp_path)) as (page, _):
        page.locator("input[type=range]").nth(1).focus()
        page.keyboard.press("Home")
        texts = page.locator("output").all_inner_texts()
        assert texts == [
            typeset(shoulder.frames[30].position_text),
            typeset(shoulder.frames[0].position_text),
        ]


def test_on_a_phone_a_link_is_a_line_and_the_slider_stays_in_sight(
    browser: Browser, document: ReportDocument, tmp_path: Path
) -> None:
    with opened(browser, written(document, tmp_path), width=PHONE) as (page, _):
        lefts = page.locator(".room").evaluate_all(
            "all => all.map(each => each.getBoundingClientRect().left)"
        )
        assert len(set(lefts)) == 1
        page.locator(".room").nth(5).evaluate("each => each.scrollIntoView({behavior: 'instant'})")
        assert page.locator(".slide").bounding_box() is not None
        assert page.evaluate("document.querySelector('.slide').getBoundingClientRect().top") == 0


def test_dark_and_light_follow_the_system(browser: Browser, document: ReportDocument, tmp_path: Path) -> None:
    grounds = []
    for dark in (False, True):
        with opened(browser, written(document, tmp_path), dark=dark) as (page, _):
            grounds.append(page.evaluate("getComputedStyle(document.body).backgroundColor"))
    assert grounds == ["rgb(246, 244, 238)", "rgb(18, 22, 26)"]  # LOOK: paper #f6f4ee and #12161a


def test_the_packaged_faces_are_the_ones_in_use(
    browser: Browser, document: ReportDocument, tmp_path: Path
) -> None:
    with opened(browser, written(document, tmp_path)) as (page, _):
        loaded = page.evaluate(
            "document.fonts.ready.then(all => [...all].filter(f => f.status == 'loaded').map(f => f.family))"
        )
        assert {"Sheet", "Figures", "Signs"} <= set(loaded)


def test_the_page_is_right_before_any_script_has_run(
    browser: Browser, document: ReportDocument, shoulder: AxisSheet, tmp_path: Path
) -> None:
    context = browser.new_context(java_script_enabled=False)
    page = context.new_page()
    page.goto(written(document, tmp_path).as_uri())
    values = page.locator(".room .value").all_inner_texts()
    context.close()
    assert values == [typeset(value) for value in shoulder.frames[30].values]


def test_print_is_light_static_complete_and_not_clipped(
    browser: Browser, report: ReportDocument, tmp_path: Path
) -> None:
    with opened(browser, written(report, tmp_path), width=A4_INSIDE, dark=True) as (page, _):
        page.emulate_media(media="print", color_scheme="dark")
        page.evaluate("window.dispatchEvent(new Event('beforeprint'))")
        assert (
            page.evaluate("getComputedStyle(document.body).color") == "rgb(29, 35, 39)"
        )  # LOOK: ink #1d2327
        assert page.evaluate("getComputedStyle(document.querySelector('.slide')).position") == "static"
        assert page.evaluate(CLIPPED) == []
        text = page.locator("main").inner_text()
        for heading in page.locator("main :is(h1,h2,h3)").all_inner_texts():
            assert heading in text
        for sheet in report.axes:
            for step in sheet.steps:
                assert f"= {step.put_in}".split()[-1] in text


def test_a_pdf_has_whole_a4_pages_and_opens_the_steps(
    browser: Browser, document: ReportDocument, tmp_path: Path
) -> None:
    with opened(browser, written(document, tmp_path)) as (page, watch):
        page.evaluate(
            "window.addEventListener('beforeprint', () => { window.steps = "
            "document.querySelector('.all-steps').open; })"
        )
        pdf = page.pdf(prefer_css_page_size=True)
        assert page.evaluate("window.steps") is True
        assert page.locator(".all-steps").evaluate("each => each.open") is False
        assert watch.said == []
    boxes = re.findall(rb"/MediaBox\s*\[\s*0 0 ([\d.]+) ([\d.]+)\s*\]", pdf)
    assert 2 <= len(re.findall(rb"/Type\s*/Page\b", pdf)) <= 5
    sizes = {(round(float(width)), round(float(height))) for width, height in boxes}
    assert sizes == {(595, 842)}  # ISO 216: 210 mm by 297 mm, in points of 1/72 in
