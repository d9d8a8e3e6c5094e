import base64
import hashlib
import io
import re
from dataclasses import replace
from html.parser import HTMLParser
from importlib.resources import files

import pytest
from fontTools.ttLib import TTFont

from anglewright.findings import Severity
from anglewright.report.document import AxisSheet, ReportDocument
from anglewright.report.html import render_html
from anglewright.report.lettering import typeset
from anglewright.sources import cite

HEADINGS = (
    "What to do now",
    "Findings",
    "What the error is made of",
    "What the multimeter should show",
    "Before anybody moves it",
    "Assumed, not told",
    "Where this comes from",
)
VOID = {"meta", "link", "input", "img", "br"}
SVG_SPACE = "http://www.w3.org/2000/svg"  # a name, not an address that anything loads


class Page(HTMLParser):
    """Elements, their attributes and the text of a page; notes what does not close."""

    def __init__(self, text: str) -> None:
        super().__init__()
        self.open: list[str] = []
        self.unclosed: list[str] = []
        self.elements: list[tuple[str, dict[str, str | None]]] = []
        self.texts: list[str] = []
        self.feed(text)
        self.close()

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.elements.append((tag, dict(attrs)))
        if tag not in VOID:
            self.open.append(tag)

    def handle_startendtag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.elements.append((tag, dict(attrs)))

    def handle_endtag(self, tag: str) -> None:
        if not self.open or self.open.pop() != tag:
            self.unclosed.append(tag)

    def handle_data(self, data: str) -> None:
        if self.open and self.open[-1] not in ("style", "script"):
            self.texts.append(data.strip())

    def attributes(self, name: str) -> list[str]:
        return [attrs[name] or "" for _, attrs in self.elements if name in attrs]

    @property
    def text(self) -> str:
        return " ".join(" ".join(self.texts).split())


@pytest.fixture(scope="module")
def html(document: ReportDocument) -> str:
    return render_html(document)


@pytest.fixture(scope="module")
def page(html: str) -> Page:
    return Page(html)


@pytest.mark.parametrize("name", ["document", "bare", "hostile"])
def test_every_element_closes_and_every_name_is_used_once(name: str, request: pytest.FixtureRequest) -> None:
    page = Page(render_html(request.getfixturevalue(name)))
    assert page.unclosed == []
    assert page.open == []
    assert len(page.attributes("id")) == len(set(page.attributes("id")))


@pytest.mark.parametrize("name", ["document", "bare", "hostile"])
def test_nothing_is_loaded_from_anywhere(name: str, request: pytest.FixtureRequest) -> None:
    html = render_html(request.getfixturevalue(name))
    page = Page(html)
    loads = [*page.attributes("src"), *page.attributes("href"), *re.findall(r"url\(([^)]*)\)", html)]
    assert loads
    assert [each for each in loads if not each.startswith(("data:", "#"))] == []
    assert set(re.findall(r"https?://[^'\" <]+", html)) <= {SVG_SPACE}
    assert "@import" not in html


def test_the_page_forbids_all_but_its_own_script(html: str, page: Page) -> None:
    policy = next(
        a["content"] or "" for _, a in page.elements if a.get("http-equiv") == "Content-Security-Policy"
    )
    script = html[html.rindex("<script>") + 8 : html.rindex("</script>")]
    digest = base64.b64encode(hashlib.sha256(script.encode()).digest()).decode()
    assert "default-src 'none'" in policy
    assert f"script-src 'sha256-{digest}'" in policy


def test_the_answer_is_the_heading_and_the_title(page: Page, html: str) -> None:
    assert re.findall(r"<h1>(.*?)</h1>", html) == [
        "Shoulder reads true to ±1.6\u00a0deg; it should be ±1.0\u00a0deg"
    ]
    assert re.findall(r"<title>(.*?)</title>", html)[0].startswith("Vine rover: Shoulder reads true")


def test_every_part_of_the_sheet_is_there(page: Page, shoulder: AxisSheet) -> None:
    for room in shoulder.rooms:
        assert room.kind in page.text
    for finding in shoulder.findings:
        assert typeset(finding.remedy).replace("\u00a0", " ") in page.text
    for heading in HEADINGS:
        assert heading in page.text
    assert "Simulated data" in page.text


def test_a_step_shows_symbol_formula_numbers_result_and_source(page: Page) -> None:
    """Half of 3 deg at the sensor's shaft behind a ratio of 2 is 0.75 deg."""
    shown = f"r = play / (2 * ratio) = 3 / (2 * 2) = 0.75 deg {cite('derived')}"
    assert shown in page.text


def test_the_largest_share_is_marked_and_small_ones_are_said_to_be_small(html: str) -> None:
    marked = re.findall(r'<li class="room first">.*?class="kind">(\w+)', html, re.DOTALL)
    assert marked == ["Coupling"]
    assert "&lt;1\u00a0%" in html


def test_words_of_the_trade_that_frighten_stay_behind_how(page: Page) -> None:
    assert "covariance" not in page.text.lower()


def test_a_design_without_findings_or_calibration_says_so(bare: ReportDocument) -> None:
    text = Page(render_html(bare)).text
    assert "Nothing was found against this design." in text
    assert "Not calibrated yet" in text
    assert "Simulated" not in text


def test_findings_stand_worst_first_and_many_notes_are_folded(
    document: ReportDocument, shoulder: AxisSheet
) -> None:
    note = shoulder.findings[-1]
    findings = (*(replace(note, key=f"n{k}") for k in range(5)), *shoulder.findings[:2][::-1])
    html = render_html(replace(document, axes=(replace(shoulder, findings=findings),)))
    words = re.findall(r'<li class="(stop|caution|note)">', html)
    assert words == ["stop", "caution", "note", "note", "note", "note", "note"]
    assert "<summary>5 notes</summary>" in html
    assert {severity.value for severity in Severity} == set(words)


def test_several_axes_have_an_index_that_leads_to_them(document: ReportDocument, shoulder: AxisSheet) -> None:
    axes = (shoulder, replace(shoulder, name="mast", headline="Mast is fine"))
    page = Page(render_html(replace(document, axes=axes, headline="One of two axes falls short")))
    links = [each for each in page.attributes("href") if each.startswith("#")]
    assert links == ["#axis-1", "#axis-2"]
    assert {"axis-1", "axis-2"} <= set(page.attributes("id"))


def test_the_card_of_a_sensor_without_a_voltage_is_held_beside_the_controller(
    document: ReportDocument, shoulder: AxisSheet
) -> None:
    digital = tuple(replace(row, volts_wiper="", volts_pin="") for row in shoulder.card)
    html = render_html(replace(document, axes=(replace(shoulder, card=digital),)))
    card = html[html.index('<section class="sheet card">') :]
    heads = re.findall(r"<th scope=\"col\"[^>]*>([^<]*)<", card)
    assert "<h3>What the controller should show</h3>" in card
    assert heads == ["position", "mark", "sensor", "code", "limits"]
    assert all(len(re.findall("<t[hd]", row)) == 5 for row in re.findall(r"<tr>.*?</tr>", card, re.DOTALL))


def test_the_card_of_a_voltage_is_held_beside_the_multimeter_without_columns_that_hold_nothing(
    document: ReportDocument, shoulder: AxisSheet
) -> None:
    unmarked = tuple(replace(row, mark="", volts_wiper="") for row in shoulder.card)
    html = render_html(replace(document, axes=(replace(shoulder, card=unmarked),)))
    card = html[html.index('<section class="sheet card">') :]
    heads = re.findall(r"<th scope=\"col\"[^>]*>([^<]*)<", card)
    assert "<h3>What the multimeter should show</h3>" in card
    assert heads == ["position", "sensor", "at the pin", "code", "limits"]


def test_a_hostile_name_never_becomes_an_element(hostile: ReportDocument, document: ReportDocument) -> None:
    attacked, calm = Page(render_html(hostile)), Page(render_html(document))
    assert "onerror" not in {name for _, attrs in attacked.elements for name in attrs}
    assert [tag for tag, _ in attacked.elements if tag in ("script", "style", "img")] == [
        tag for tag, _ in calm.elements if tag in ("script", "style", "img")
    ]
    assert "<img src=x onerror=alert(1)>{{ 7*7 }}" in attacked.text


def test_a_report_can_always_be_written_as_utf_8(hostile: ReportDocument) -> None:
    render_html(hostile).encode("utf-8")


@pytest.mark.parametrize(
    ("text", "shown"),
    [
        ("-20 deg", "\u221220\u00a0deg"),
        ("from -20 to -5 V", "from \u221220 to \u22125\u00a0V"),
        ("2031-05-12", "2031-05-12"),
        ("joint-2 at 10 kohm", "joint-2 at 10\u00a0k\u03a9"),
        ("ohm's law", "ohm's law"),
        ("1 degree", "1 degree"),
        ("1e-05 V", "1e-05\u00a0V"),
    ],
)
def test_quantities_are_set_in_type_and_names_are_left_alone(text: str, shown: str) -> None:
    assert typeset(text) == shown


@pytest.mark.parametrize("face", ["next", "mono"])
def test_the_faces_are_small_variable_and_hold_the_signs_of_the_trade(face: str) -> None:
    folder = files("anglewright.report").joinpath("fonts")
    data = folder.joinpath(f"hyperlegible-{face}.woff2").read_bytes()
    font = TTFont(io.BytesIO(data))
    assert len(data) < 25_000
    assert [(axis.axisTag, axis.minValue, axis.maxValue) for axis in font["fvar"].axes] == [
        ("wght", 400, 700)
    ]
    signs = TTFont(io.BytesIO(folder.joinpath("hyperlegible-signs-400.woff2").read_bytes()))
    held = set(font.getBestCmap()) | set(signs.getBestCmap())
    assert [sign for sign in "Ωµμ±°Δ×·−\u2009–’“”√π≤≥" if ord(sign) not in held] == []


def test_the_licence_of_the_faces_ships_beside_them() -> None:
    text = files("anglewright.report").joinpath("fonts", "OFL.txt").read_text("utf-8")
    assert "SIL OPEN FONT LICENSE Version 1.1" in text
    assert text.count("Copyright 2020-2024") >= 2
