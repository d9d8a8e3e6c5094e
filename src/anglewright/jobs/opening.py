"""A rig from its file, with changes for a what-if; and the axis or state that a name means."""

from collections.abc import Iterable, Mapping
from dataclasses import replace
from pathlib import Path
from typing import Any

from anglewright.budget.states import STATES, State
from anglewright.errors import Problem, UsageError, nearest
from anglewright.rig import MODELS, Axis, Rig
from anglewright.rigfile.document import Document, load_document, names_of, with_changes
from anglewright.rigfile.machines import one_word
from anglewright.rigfile.reading import AXIS_KEYS, build_rig


def open_rig(
    path: str | Path,
    *,
    changes: Iterable[str] = (),
    axis: str | None = None,
    fitted: bool = True,
    machine: str | None = None,
) -> Rig:
    """The rig in a file.

    Parameters
    ----------
    path : str or Path
        A rig file, TOML.
    changes : iterable of str, optional
        What-if changes, ``AXIS.TABLE.KEY=VALUE`` each; they stand among the notes of the rig.
    axis : str, optional
        The axis that is looked at: a change that names none is meant for it.
    fitted : bool
        Refuse parts that do not fit the motion; False where they are still to be chosen.
    machine : str, optional
        Which machine of this design is meant; what the file says otherwise.

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
        A change cannot be understood or may be meant for several axes, or the file knows machines and not
        this one.

    Examples
    --------
    What would the shoulder be without the play of its coupling?

    >>> rig = open_rig("examples/rover/rig.toml", changes=["shoulder.coupling.play=0 deg"])
    >>> rig.axis("shoulder").part("coupling").play_rad.nominal
    0.0
    """
    changes = tuple(changes)
    document = load_document(Path(path))
    if not changes:
        return _of_machine(build_rig(document, source=str(path), fitted=fitted), machine)
    changed = with_changes(document, changes, axes=_meant(document, changes, axis, source=str(path)))
    rig = _of_machine(build_rig(changed, source=str(path), fitted=fitted), machine)
    return replace(
        rig, notes=(*rig.notes, *(f"What if: {change}, not as in the file." for change in changes))
    )


def _meant(document: Document, changes: Iterable[str], axis: str | None, *, source: str) -> tuple[str, ...]:
    """The axis that a change without one is meant for: the one named, or the only one there is."""
    axes = document.get("axis", {})
    known = tuple(axes) if isinstance(axes, Mapping) else ()
    if axis in known:
        return (str(axis),)
    if len(known) < 2:
        return known
    for change in changes:
        named, names = names_of(change, known)
        if "=" in change and len(names) > 1 and not named:
            raise UsageError(_no_axis(change, names, axes, source=source))
    return ()


def _no_axis(change: str, names: list[str], axes: Mapping[str, Any], *, source: str) -> Problem:
    """That a change names no axis, and which ones it could be meant for."""
    room, key = names[0], names[1]
    if room not in AXIS_KEYS:
        what, known = ("axis", list(axes)) if len(names) > 2 else ("table", [*AXIS_KEYS])
        return Problem("--set", f"there is no {what} '{room}' in {source}", "", nearest(room, known))
    having = [name for name, table in axes.items() if _has(table, room, key)] or list(axes)
    found = f"'{change}' names no axis, and {source} has {len(axes)}"
    others = "" if having[1:] == [] else f", or another of {', '.join(having)}"
    remedy = f'Write --set "{having[0]}.{change.strip()}"{others}; or name the axis behind the file.'
    return Problem("--set", found, "", remedy)


def _has(table: Any, room: str, key: str) -> bool:
    """Whether the file gives a key to an axis."""
    inner = table.get(room) if isinstance(table, Mapping) else None
    return isinstance(inner, Mapping) and key in inner


def _of_machine(rig: Rig, machine: str | None) -> Rig:
    """The rig as one of its machines."""
    if machine is None:
        return rig
    if not one_word(machine):
        raise UsageError(Problem("--machine", f"{machine!r} is no name", "", "Write it as practice."))
    if machine and rig.serials and machine not in rig.serials:
        found = f"there is no machine '{machine}' in {rig.source or rig.name}"
        raise UsageError(Problem("--machine", found, "", nearest(machine, rig.serials)))
    return replace(rig, machine=machine)


def with_model(rig: Rig, axis: Axis, model: str) -> Rig:
    """The rig with another model in the plan of an axis.

    Raises
    ------
    UsageError
        There is no such model.
    """
    if model not in MODELS:
        found = f"there is no model '{model}'"
        raise UsageError(Problem("--model", found, "", nearest(model, MODELS)))
    changed = replace(axis, plan=replace(axis.plan, model=model))
    return replace(rig, axes={**rig.axes, axis.name: changed})


def with_serial(rig: Rig, axis: Axis, serial: str) -> Rig:
    """The rig with the serial of the sensor that is fitted to an axis.

    Raises
    ------
    UsageError
        The file says that another one is fitted.
    """
    said = rig.serial(axis.name)
    if said and said != serial:
        where = f"axis '{axis.name}'"
        found, limit = f"serial {serial} is given", f"and {rig.source} says that {said} is fitted"
        raise UsageError(Problem(where, found, limit, f"Correct [machines.{rig.machine}], or look again."))
    own = {**rig.serials.get(rig.machine, {}), axis.name: serial}
    return replace(rig, serials={**rig.serials, rig.machine: own})


def chosen_axes(rig: Rig, axis: str | None) -> tuple[Axis, ...]:
    """The axis named, or all.

    Raises
    ------
    UsageError
        There is no axis of that name.
    """
    return (rig.axis(axis),) if axis is not None else tuple(rig.axes.values())


def the_axis(rig: Rig, axis: str | None) -> Axis:
    """The axis named, or the only one there is.

    Raises
    ------
    UsageError
        There is no axis of that name, or none is named and there are several.
    """
    if axis is not None or len(rig.axes) == 1:
        return chosen_axes(rig, axis)[0]
    found = f"it has {len(rig.axes)} axes, and none is named"
    raise UsageError(Problem(rig.source or rig.name, found, "", f"Name one of {', '.join(rig.axes)}."))


def state_named(name: str) -> State:
    """A state by its name.

    Raises
    ------
    UsageError
        There is no such state.
    """
    known = {state.value: state for state in STATES}
    if name not in known:
        raise UsageError(Problem("state", f"there is no state '{name}'", "", nearest(name, known)))
    return known[name]
