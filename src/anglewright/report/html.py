"""The report as one HTML file that asks for nothing outside itself: styles, script and fonts are within."""

import base64
import hashlib
import re
from collections.abc import Mapping
from dataclasses import dataclass
from importlib.resources import files

from jinja2 import Environment, PackageLoader, StrictUndefined
from markupsafe import Markup

from anglewright.findings import Finding, Severity
from anglewright.report.dial import draw_dial
from anglewright.report.document import AxisSheet, ReportDocument
from anglewright.report.drafting import draft_css
from anglewright.report.drawings import draw
from anglewright.report.lettering import MINUS, NO_BREAK, typeset
from anglewright.report.pictures import Picture, pictures_of
from anglewright.report.plots import bar, severity_mark
from anglewright.report.schematic import draw_schematic
from anglewright.report.tokens import tokens_css
from anglewright.sources import cite

MOST_NOTES = 3  # shown without being asked for [1]
_FONTS = ("next", "mono", "signs-400", "signs-700")
_ROUND_NUMBERS = (1.0, 1.5, 2.0, 3.0, 4.0, 5.0, 6.0, 8.0, 10.0)


@dataclass(frozen=True, slots=True, kw_only=True)
class _View:
    """A sheet with what is drawn from it."""

    number: int
    sheet: AxisSheet
    widest: int | None
    scale: float
    motion: Mapping[str, object]

    @property
    def shown_findings(self) -> tuple[Finding, ...]:
        """What needs an answer, worst first; notes too where they are few."""
        ranks = list(Severity)
        ranked = sorted(self.sheet.findings, key=lambda finding: ranks.index(finding.severity))
        folded = self.folded_findings
        return tuple(finding for finding in ranked if finding not in folded)

    @property
    def folded_findings(self) -> tuple[Finding, ...]:
        """Notes that are too many to stand in the way of the rest."""
        notes = tuple(f for f in self.sheet.findings if f.severity is Severity.NOTE)
        return notes if len(notes) > MOST_NOTES else ()

    @property
    def pictures(self) -> tuple[Picture, ...]:
        """What is drawn of the calibration."""
        calibration = self.sheet.calibration
        return () if calibration is None else pictures_of(self.sheet.extent, calibration)


def render_html(document: ReportDocument) -> str:
    """A report as the text of one HTML file.

    Parameters
    ----------
    document : ReportDocument
        What to show.

    Returns
    -------
    str
        The file, to be written in UTF-8. It holds its styles, script and fonts and forbids the browser
        to load anything else.

    Raises
    ------
    KeyError
        A step or finding names a source that is not in the register.

    Notes
    -----
    Whatever a rig, a log or a sheet brings is escaped: a name is shown, never run. The script moves the
    drawings and picks texts that were worked out beforehand; it holds no formula.
    """
    script = packaged("script.js")
    digest = base64.b64encode(hashlib.sha256(script.encode()).digest()).decode()
    text = (
        environment()
        .get_template("report.html")
        .render(
            document=document,
            simulated=document.simulated,
            views=[_view(number, sheet) for number, sheet in enumerate(document.axes, start=1)],
            styles=Markup(styles()),
            script=Markup(script),
            script_hash=digest,
        )
    )
    return text.encode("utf-8", "replace").decode()


def _number(value: float, digits: int = 6) -> str:
    return f"{value:.{digits}g}".replace("-", MINUS)


def _percent(share: float) -> str:
    """A share in per cent, below one said as such."""
    if 0.0 < share < 0.01:
        return f"<1{NO_BREAK}%"
    return f"{100.0 * share:.0f}{NO_BREAK}%"


def packaged(name: str) -> str:
    """The text of a template or style that comes with the package."""
    return files("anglewright.report").joinpath("templates", name).read_text("utf-8")


def styles() -> str:
    """Tokens, fonts, the page, its drawings, then what is other on paper."""
    return "".join([tokens_css(), _font_faces(), packaged("style.css"), draft_css(), packaged("print.css")])


def _font_faces() -> str:
    """The four font files as text, filled into the style that declares them."""
    folder = files("anglewright.report").joinpath("fonts")
    encoded = {
        name: base64.b64encode(folder.joinpath(f"hyperlegible-{name}.woff2").read_bytes()).decode()
        for name in _FONTS
    }
    return re.sub(
        r"font\(([a-z0-9-]+)\)",
        lambda m: f"url(data:font/woff2;base64,{encoded[m[1]]})",
        packaged("fonts.css"),
    )


def rendered(name: str, words: Mapping[str, object]) -> str:
    """A page of its own, with its template and style of the same name, as the text of one HTML file.

    Parameters
    ----------
    name : str
        Of the template and of the style that comes last.
    words : mapping
        What the template shows, `simulated` among it.

    Returns
    -------
    str
        The file, to be written in UTF-8; what cannot be written becomes a question mark.
    """
    css = Markup(styles() + packaged(f"{name}.css"))
    text = environment().get_template(f"{name}.html").render({**words, "styles": css})
    return text.encode("utf-8", "replace").decode()


def environment() -> Environment:
    """What fills the templates: everything that is put in is escaped, a name without a value is an error."""
    environment = Environment(
        loader=PackageLoader("anglewright.report"),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    environment.filters.update(typeset=typeset, cited=cite, number=_number, percent=_percent)
    environment.globals.update(
        draw=draw, bar=bar, severity_mark=severity_mark, draw_dial=draw_dial, draw_schematic=draw_schematic
    )
    return environment


def _view(number: int, sheet: AxisSheet) -> _View:
    shares = [room.share or 0.0 for room in sheet.rooms]
    largest = max(shares, default=0.0)
    return _View(
        number=number,
        sheet=sheet,
        widest=shares.index(largest) if largest > 0.0 else None,
        scale=_scale(sheet),
        motion={
            "texts": [typeset(frame.position_text) for frame in sheet.frames],
            "values": [[typeset(value) for value in frame.values] for frame in sheet.frames],
            "phases": [[_rounded(phases) for phases in frame.phases] for frame in sheet.frames],
        },
    )


def _rounded(phases: tuple[float, ...]) -> list[float]:
    """Phases with as many digits as can be seen in a drawing, and still tell a count of ten digits."""
    return [float(f"{phase:.10g}") if abs(phase) > 1e4 else round(phase, 5) for phase in phases]


def _scale(sheet: AxisSheet) -> float:
    """End of the scale of half-widths: a round number above all of them."""
    return round_above(max([sheet.permissible, *(bar.half_width for bar in sheet.budget.bars)]))


def round_above(largest: float) -> float:
    """A round number at or above another, as the end of a scale of bars. [any]"""
    power = 10.0 ** int(f"{largest:e}".partition("e")[2])
    return next(step * power for step in _ROUND_NUMBERS if step * power >= largest * (1 - 1e-9))
