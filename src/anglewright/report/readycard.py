"""The card of a machine before use: one page, each check with a shape and a word."""

from dataclasses import dataclass

from markupsafe import Markup

from anglewright.findings import Finding, Severity
from anglewright.report.html import rendered
from anglewright.report.plots import severity_mark
from anglewright.version import VERSION

_GOOD = Markup(
    '<svg class="mark good" viewBox="0 0 24 24" aria-hidden="true"><rect x="1" y="1" width="22" height="22" '
    'rx="3"/><path class="cut" d="M6 12.5l4.2 4.5L18 7.5"/></svg>'
)


@dataclass(frozen=True, slots=True, kw_only=True)
class CardCheck:
    """One check of an axis; None is good."""

    name: str
    severity: Severity | None

    @property
    def word(self) -> str:
        """The answer in a word."""
        return "good" if self.severity is None else self.severity.value

    @property
    def mark(self) -> Markup:
        """A ticked square where it is good; octagon, diamond or ring otherwise."""
        return _GOOD if self.severity is None else severity_mark(self.severity)


@dataclass(frozen=True, slots=True, kw_only=True)
class CardAxis:
    """One axis of the card, all in words."""

    name: str
    stands_at: str
    how: str
    a_to_b: str
    reads: str
    position: str
    record: str
    ready: bool
    checks: tuple[CardCheck, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class ReadyCard:
    """A machine before use in words."""

    rig_name: str
    machine: str
    headline: str
    ready: bool
    date: str
    caution: str
    axes: tuple[CardAxis, ...]
    findings: tuple[Finding, ...]
    simulated: bool = False
    version: str = VERSION

    @property
    def mark(self) -> Markup:
        """The whole answer as a shape."""
        return _GOOD if self.ready else severity_mark(Severity.STOP)


def render_ready_card(card: ReadyCard) -> str:
    """A card as the text of one HTML file.

    Parameters
    ----------
    card : ReadyCard
        What to show.

    Returns
    -------
    str
        The file, to be written in UTF-8. It holds its styles and fonts and forbids the browser to load
        anything else; there is no script in it.

    Notes
    -----
    Whatever a rig brings is escaped: a name is shown, never run. A good check is a ticked square with the
    word, so that the card says the same in black and white.
    """
    return rendered("readycard", {"card": card, "simulated": card.simulated})
