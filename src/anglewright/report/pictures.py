"""The pictures of a calibration: each drawn for a wide and for a narrow page, with its words."""

from dataclasses import dataclass

from markupsafe import Markup

from anglewright.report.document import Calibration, Extent
from anglewright.report.graph import NARROW_PX, WIDE_PX
from anglewright.report.history import draw_history
from anglewright.report.plots import curve_plot, loop_plot, residual_plot


@dataclass(frozen=True, slots=True, kw_only=True)
class Picture:
    """A picture with its title and what to see in it; `narrow` is empty where one drawing serves all."""

    title: str
    wide: Markup
    narrow: Markup | None = None
    caption: str = ""


def pictures_of(extent: Extent, calibration: Calibration) -> tuple[Picture, ...]:
    """The pictures that a calibration has the numbers for.

    Parameters
    ----------
    extent : Extent
        The axis: its name, unit, range and permissible error.
    calibration : Calibration
        What is drawn.

    Returns
    -------
    tuple of Picture
        Residuals, data and curve, loop, history, as far as there is something to draw.
    """
    found: list[Picture] = []
    if calibration.points:
        found.append(_residuals(extent, calibration))
    if len(calibration.curve) > 1 and calibration.points:
        found.append(_curve(extent, calibration))
    if calibration.loop is not None:
        loop = calibration.loop
        wide, narrow = (loop_plot(extent, loop, width=width) for width in (WIDE_PX, NARROW_PX))
        found.append(
            Picture(title="Going up and coming down", wide=wide, narrow=narrow, caption=loop.gap_text)
        )
    if calibration.history is not None:
        drawn = draw_history(calibration.history)
        found.append(Picture(title="The zero over the days", wide=drawn))
    return tuple(found)


def _residuals(extent: Extent, calibration: Calibration) -> Picture:
    wide, narrow = (residual_plot(extent, calibration, width=width) for width in (WIDE_PX, NARROW_PX))
    caption = "Each point: mean of its readings, less the reference."
    if calibration.often:
        caption += " Between the dotted lines lie 95 % of single readings, play and reference counted."
    return Picture(title="What the curve leaves", wide=wide, narrow=narrow, caption=caption)


def _curve(extent: Extent, calibration: Calibration) -> Picture:
    wide, narrow = (curve_plot(extent, calibration, width=width) for width in (WIDE_PX, NARROW_PX))
    return Picture(title="Data and curve", wide=wide, narrow=narrow)
