"""A rig from its file, with changes for a what-if."""

from collections.abc import Iterable
from pathlib import Path

from anglewright.rig import Axis, Rig
from anglewright.rigfile.document import load_document, with_changes
from anglewright.rigfile.reading import build_rig


def open_rig(path: str | Path, *, changes: Iterable[str] = ()) -> Rig:
    """The rig in a file.

    Parameters
    ----------
    path : str or Path
        A rig file, TOML.
    changes : iterable of str, optional
        What-if changes, ``AXIS.TABLE.KEY=VALUE`` each.

    Returns
    -------
    Rig
        Frozen, every number in SI units.

    Raises
    ------
    DataError
        The file cannot be read.
    RigError
        It is not a rig; every problem in it is named.
    UsageError
        A change cannot be understood.

    Examples
    --------
    What would the shoulder be without the play of its coupling?

    >>> rig = open_rig("examples/rover/rig.toml", changes=["shoulder.coupling.play=0 deg"])
    >>> rig.axis("shoulder").part("coupling").play_rad.nominal
    0.0
    """
    changes = tuple(changes)
    document = load_document(Path(path))
    if changes:
        document = with_changes(document, changes, axes=document.get("axis", {}))
    return build_rig(document, source=str(path))


def chosen_axes(rig: Rig, axis: str | None) -> tuple[Axis, ...]:
    """The axis named, or all.

    Raises
    ------
    UsageError
        There is no axis of that name.
    """
    return (rig.axis(axis),) if axis is not None else tuple(rig.axes.values())
