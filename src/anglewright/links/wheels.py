"""Toothed wheels of a drive."""

from anglewright.links.protocol import Part, settings_of


def wheel_teeth(drive: Part) -> int | None:
    """Teeth of the wheel on the sensor's shaft.

    Parameters
    ----------
    drive : Part
        The drive of an axis.

    Returns
    -------
    int or None
        None where the drive has no toothed wheel. [1]
    """
    found = None
    for name, value in settings_of(drive):
        if name.rpartition(".")[2] == "teeth" and isinstance(value, int):
            found = value
        elif name.rpartition(".")[2] == "gears" and value:
            found = int(value[-1])
    return found
