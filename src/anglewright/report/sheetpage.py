"""The test sheet as one HTML page to print and to fill in by hand."""

from dataclasses import dataclass

from anglewright.report.html import rendered
from anglewright.version import VERSION


@dataclass(frozen=True, slots=True, kw_only=True)
class PageCheck:
    """One line of the page, all in words; `signed` lines ask for a day and a name."""

    number: str
    key: str
    do: str
    expected: str
    limits: str
    answers: str = ""
    signed: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class PageStage:
    """One stage: its title, what comes before its first check, its checks."""

    title: str
    cautions: tuple[str, ...]
    checks: tuple[PageCheck, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class SheetPage:
    """A test sheet in words."""

    rig_name: str
    axis_name: str
    headline: str
    lead: str
    stages: tuple[PageStage, ...]
    simulated: bool = False
    source_file: str = ""
    version: str = VERSION


def render_sheet_page(page: SheetPage) -> str:
    """A test sheet as the text of one HTML file.

    Parameters
    ----------
    page : SheetPage
        What to show.

    Returns
    -------
    str
        The file, to be written in UTF-8. It holds its styles and fonts and forbids the browser to load
        anything else; there is no script in it.

    Notes
    -----
    Whatever a rig brings is escaped: a name is shown, never run.
    """
    return rendered("testsheet", {"page": page, "simulated": page.simulated})
