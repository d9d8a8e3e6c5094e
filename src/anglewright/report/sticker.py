"""A sticker for the machine: the record in use of one axis, as a small HTML page to print."""

from dataclasses import dataclass

from anglewright.report.html import rendered


@dataclass(frozen=True, slots=True, kw_only=True)
class Sticker:
    """What stands on a sticker; `rows` are names and values, all in words."""

    rig_name: str
    axis_name: str
    machine: str
    record: str
    rows: tuple[tuple[str, str], ...]
    simulated: bool = False


def render_sticker(sticker: Sticker) -> str:
    """A sticker as the text of one HTML file, 66 mm wide when it is printed.

    Parameters
    ----------
    sticker : Sticker
        What to show.

    Returns
    -------
    str
        The file, to be written in UTF-8. It holds its styles and fonts and forbids the browser to load
        anything else; there is no script in it.

    Notes
    -----
    Whatever a rig or a record brings is escaped: a name is shown, never run.
    """
    return rendered("sticker", {"sticker": sticker, "simulated": sticker.simulated})
