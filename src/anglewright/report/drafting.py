"""The sheet that a drawing stands on: as part of a page, or as a file of its own in one of its looks."""

import re
from importlib.resources import files
from typing import Literal, get_args

from markupsafe import Markup

from anglewright.errors import Problem, UsageError, nearest
from anglewright.report.lettering import broken
from anglewright.report.tokens import COLOURS

Look = Literal["screen", "light", "dark", "print"]
LOOKS: tuple[str, ...] = get_args(Look)
"""How a drawing's file looks: as the reader's screen, light, dark, or black on white for paper."""

SIGN = "<svg xmlns="
"""Begins every file of a drawing: one that begins otherwise is not written over."""

_WASHES = {"paper": "#ffffff", "sheet": "#ffffff", "rule": "#999999", "hair": "#cccccc"}


def on_sheet(body: Markup, *, size: tuple[float, float], title: str, description: str) -> Markup:
    """A drawing with its frame, and with words for those who cannot see it.

    Parameters
    ----------
    body : Markup
        What is drawn, its upper left corner at 0, 0.
    size : tuple of float
        Width and height. [px]
    title, description : str
        What it is, and what it shows.

    Returns
    -------
    Markup
        An ``svg`` element as wide as its place.
    """
    head = Markup(
        '{}"http://www.w3.org/2000/svg" class="draft" viewBox="0 0 {:.0f} {:.0f}" role="img">'
        "<title>{}</title><desc>{}</desc>"
    )
    words = (" ".join(broken([text], signs=10_000)) for text in (title, description))
    return head.format(Markup(SIGN), *size, *words) + body + Markup("</svg>")


def as_file(drawing: Markup, *, look: str = "screen") -> str:
    """A drawing as the text of an SVG file that brings its own colours.

    Parameters
    ----------
    drawing : Markup
        What `on_sheet` made.
    look : str
        One of `LOOKS`.

    Returns
    -------
    str
        The file. On a screen it follows the reader's choice of light or dark; printed, it is light.

    Raises
    ------
    UsageError
        There is no such look.
    """
    if look not in LOOKS:
        raise UsageError(Problem("--look", f"there is no look '{look}'", "", nearest(look, LOOKS)))
    size = re.search(r'viewBox="0 0 (\d+) (\d+)"', drawing)
    assert size is not None  # `on_sheet` wrote it
    ground = f'<rect class="ground" width="{size[1]}" height="{size[2]}"/>'
    head, rest = str(drawing).split("</desc>", 1)
    head = head.replace(' role="img"', f' width="{size[1]}" height="{size[2]}" role="img"', 1)
    return f"{head}</desc><style>{_styles(look)}</style>{ground}{rest}\n"


def draft_css() -> str:
    """The style of drawings, in terms of the tokens."""
    return files("anglewright.report").joinpath("templates", "draft.css").read_text("utf-8")


def _styles(look: str) -> str:
    """The style with its colours put in, for programs that know no custom properties."""
    if look != "screen":
        return _coloured(look)
    return f"{_coloured('light')}@media screen and (prefers-color-scheme:dark){{{_coloured('dark')}}}"


def _coloured(look: str) -> str:
    return re.sub(r"var\(--([a-z-]+)\)", lambda match: _colour(match[1], look), draft_css())


def _colour(token: str, look: str) -> str:
    if look == "print":
        return "#dddddd" if token.endswith("wash") else _WASHES.get(token, "#000000")
    colour = COLOURS[token]
    return colour.dark if look == "dark" else colour.light
