"""A choice written into a rig file, all else of the file as it was: its comments, its layout, its order."""

from collections.abc import Mapping, MutableMapping
from pathlib import Path
from typing import Any

from anglewright.errors import DataError, Problem, UsageError
from anglewright.jobs.chosen import Choice
from anglewright.jobs.meaning import centred_reading, drive_said
from anglewright.jobs.remarks import renewed
from anglewright.links.mount import ClampPart
from anglewright.links.protocol import flat_keys
from anglewright.rig import Axis, Rig
from anglewright.rigfile.document import parse_document
from anglewright.rigfile.kinds import ROOMS, part_named
from anglewright.rigfile.reading import build_rig
from anglewright.rigfile.storing import write_whole

_STAYS: Mapping[str, tuple[str, ...]] = {"mount": ("clamped_at",), "converter": ("raw",)}
"""Keys of a room that belong to the axis and not to the kind of part."""

_NOT_CARRIED = ("reading",)  # a key that two kinds share and that means another thing in each


def written(rig: Rig, axis: Axis, choice: Choice) -> str:
    """Write a choice into the file that the rig came from.

    Parameters
    ----------
    rig : Rig
        The machine, as its file has it.
    axis : Axis
        The axis that was chosen for.
    choice : Choice
        The sensor and its drive.

    Returns
    -------
    str
        What was written, in a sentence.

    Raises
    ------
    UsageError
        The rig comes from no file, or was changed for a what-if.
    RigError
        The file would not be a rig any more; it stays as it was.
    DataError
        The file cannot be read or written.
    """
    if not rig.source or any(note.startswith("What if:") for note in rig.notes):
        found = "the rig is not as its file has it" if rig.source else "the rig comes from no file"
        raise UsageError(Problem("--apply", found, "", "Open it from its file, without --set."))
    path = Path(rig.source)
    text = applied_text(_text_of(path), axis, choice, source=str(path))
    write_whole(path, text)
    return (
        f"{path}: '{choice.sensor.name}', {choice.drive.name}, is written for the axis '{axis.name}'. "
        f"Look at it with: anglewright budget {path} {axis.name}."
    )


def _text_of(path: Path) -> str:
    try:
        return path.read_text(encoding="utf-8-sig")
    except OSError as fault:
        reason = (fault.strerror or str(fault)).lower()
        remedy = "Name a rig file."
        raise DataError(Problem(str(path), f"it cannot be read ({reason})", "", remedy)) from None


def applied_text(text: str, axis: Axis, choice: Choice, *, source: str) -> str:
    """The text of a rig file with a choice put in.

    Parameters
    ----------
    text : str
        The file as it is.
    axis : Axis
        The axis that was chosen for.
    choice : Choice
        The sensor and its drive.
    source : str
        Name of the file, for errors.

    Returns
    -------
    str
        The file as it is to be.

    Raises
    ------
    RigError
        It would not be a rig any more.
    """
    import tomlkit

    document = tomlkit.parse(text)
    axes: Any = document["axis"]
    tables = new_tables(axis, choice)
    for room, table in tables.items():
        _put(axes[axis.name], room, table)
    changed = tomlkit.dumps(document)
    for room in tables:
        said = drive_said(axis, drive=choice.drive.part) if room == "drive" else ""
        changed = renewed(text, changed, axis=axis.name, room=room, said=said)
    alone = parse_document(changed, source=source)
    build_rig(alone | {"axis": {axis.name: alone["axis"][axis.name]}}, source=source)
    return changed


def new_tables(axis: Axis, choice: Choice) -> dict[str, dict[str, Any]]:
    """Every table of the axis that the choice changes, whole, without the keys that stay as they are."""
    parts = {part.room: part for part in choice.sensor.parts}
    tables: dict[str, dict[str, Any]] = {"drive": dict(choice.drive.table)}
    for room in ROOMS[1:]:
        part, present = parts[room], axis.part(room)
        if room == "sensor" or part is not present:
            own = choice.sensor.tables.get(room, {})
            tables[room] = {"kind": part.kind} | dict(own)
    mount = parts["mount"]
    if isinstance(mount, ClampPart):
        drive, sensor = choice.drive.part, choice.sensor.part
        reading = centred_reading(axis, drive=drive, sensor=sensor, output=mount.output)
        tables.setdefault("mount", {})["reading"] = f"{100.0 * reading:.4g} %"
    return tables


def _put(axis: MutableMapping[str, Any], room: str, table: Mapping[str, Any]) -> None:
    """Put a table into an axis: keys of the old kind go, keys that stay keep their place and comment."""
    import tomlkit

    held = axis.get(room)
    if not isinstance(held, MutableMapping):
        fresh = tomlkit.table()
        fresh.update(table)
        axis[room] = fresh
        return
    stays = _stays(room, table, held)
    for key in [key for key in held if key not in table and key not in stays]:
        del held[key]
    for key, value in table.items():
        if key not in held or held[key] != value:
            held[key] = value


def _stays(room: str, table: Mapping[str, Any], held: Mapping[str, Any]) -> set[str]:
    """Keys of a room that the new kind of part shares with the old, and those that belong to the axis."""
    if room in ("drive", "sensor"):
        return set()
    if "kind" not in table:
        return set(held)
    known = {name.partition(".")[0] for name, _ in flat_keys(part_named(room, str(table["kind"])).KEYS)}
    return (known - set(_NOT_CARRIED)) | set(_STAYS.get(room, ()))
