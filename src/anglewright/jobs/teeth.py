"""A zero that moved by whole teeth of the drive: a belt, a chain or a pair of gears that jumped."""

from anglewright.angles import TURN
from anglewright.links.wheels import wheel_teeth
from anglewright.quantities.showing import show
from anglewright.rig import Axis, at_nominal, realise

NEAR = 0.25  # of a tooth: half of the half tooth at which one is told from the next (common practice) [1]


def tooth_size(axis: Axis) -> float | None:
    """What one tooth of the wheel on the sensor's shaft is worth at the axis.

    Parameters
    ----------
    axis : Axis
        The axis.

    Returns
    -------
    float or None
        None where its drive has no toothed wheel. [m or rad]
    """
    teeth = wheel_teeth(axis.part("drive"))
    if teeth is None:
        return None
    drive = realise(axis, at_nominal).links[axis.index_of("drive")]
    middle = axis.motion.middle
    shaft = float(drive.forward(middle))
    return abs(float(drive.backward(shaft + TURN / teeth)) - middle)


def jumped_teeth(axis: Axis, moved: float, *, moved_95: float) -> str:
    """A sentence where a zero moved by whole teeth, as nearly as can be told; empty otherwise.

    Parameters
    ----------
    axis : Axis
        The axis.
    moved : float
        How far its zero moved. [m or rad]
    moved_95 : float
        Uncertainty of that. [m or rad]

    Returns
    -------
    str
        What it is worth in teeth, and where to look.

    Notes
    -----
    Told only where the uncertainty is below half a tooth, and the move within a quarter of whole teeth.

    References
    ----------
    practice

    Examples
    --------
    The rover's shoulder has 24 teeth on the sensor's shaft, behind gears of 2:1: 7.5 deg a tooth.

    >>> from math import radians
    >>> from anglewright.jobs.opening import open_rig
    >>> shoulder = open_rig("examples/rover/rig.toml").axis("shoulder")
    >>> jumped_teeth(shoulder, radians(-7.2), moved_95=radians(0.5))
    ' It is as much as 1 tooth of the drive (7.5 deg): see whether its gears, belt or chain jumped.'
    >>> jumped_teeth(shoulder, radians(1.2), moved_95=radians(0.5))
    ''
    """
    tooth = tooth_size(axis)
    count = 0 if not tooth else round(abs(moved) / tooth)
    if not tooth or not count or moved_95 > tooth / 2.0 or abs(abs(moved) - count * tooth) > NEAR * tooth:
        return ""
    many = "1 tooth" if count == 1 else f"{count} teeth"
    worth = show(count * tooth, axis.unit, digits=3)
    return f" It is as much as {many} of the drive ({worth}): see whether its gears, belt or chain jumped."
