"""Small drawings of the links, as inline SVG whose moving parts follow the slider."""

import math
from collections.abc import Sequence

from markupsafe import Markup

from anglewright.errors import DataError, Problem
from anglewright.report import couplings, drives, readings, sensors
from anglewright.report.strokes import HEIGHT, WIDTH, Mover
from anglewright.report.symbols import Drawing, Row

_BODIES = drives.BODIES | couplings.BODIES | sensors.BODIES | readings.BODIES
_SMALL = 0.6  # of two drives in a row, one above the other [1]


def draw(drawing: Drawing, phases: Sequence[float]) -> Markup:
    """A link as inline SVG at one position.

    Parameters
    ----------
    drawing : Drawing
        What to draw.
    phases : sequence of float
        Where its moving parts stand; what each means is said at the drawing. [deg or 1]

    Returns
    -------
    Markup
        An ``svg`` element without a size of its own, hidden from readers of the screen.

    Raises
    ------
    DataError
        There are not as many phases as the drawing needs.

    Examples
    --------
    The wiper of a potentiometer at mid-track stands half-way along its 340 deg:

    >>> from anglewright.report.symbols import Track
    >>> 'rotate(170.0 60 42)' in draw(Track(travel_deg=340.0), (0.5, 0.0))
    True
    """
    if len(phases) != drawing.phases:
        found = f"{len(phases)} phases for a {type(drawing).__name__}"
        limit = f"it needs {drawing.phases}"
        raise DataError(Problem("drawing of a link", found, limit, "Correct what fills the report."))
    movers = tuple(Mover(of=rank, now=phase) for rank, phase in enumerate(phases))
    body = _row(drawing, movers) if isinstance(drawing, Row) else _BODIES[type(drawing)](drawing, movers)
    # Every part is put together from numbers and fixed words of these modules alone.
    return Markup(f'<svg class="drawing" viewBox="0 0 {WIDTH} {HEIGHT}" aria-hidden="true">{body}</svg>')


def _row(row: Row, movers: tuple[Mover, ...]) -> str:
    """Two drives from the upper left to the lower right, more of them side by side and in rows."""
    across = math.ceil(math.sqrt(len(row.stages)))
    scale = _SMALL if len(row.stages) == 2 else 1.0 / across
    body, used = "", 0
    for rank, stage in enumerate(row.stages):
        own = movers[used : used + stage.phases]
        used += stage.phases
        down, right = (rank, rank) if len(row.stages) == 2 else divmod(rank, across)
        step = 1.0 - scale if len(row.stages) == 2 else scale
        body += (
            f'<svg class="small" x="{WIDTH * step * right:g}" y="{HEIGHT * step * down:g}" '
            f'width="{WIDTH * scale:g}" height="{HEIGHT * scale:g}" viewBox="0 0 {WIDTH} {HEIGHT}">'
            f"{_BODIES[type(stage)](stage, own)}</svg>"
        )
    return body
