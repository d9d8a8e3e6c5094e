"""Machines of one design: which one is meant, and which sensor is fitted to each of its axes."""

from collections.abc import Mapping
from typing import Any

from anglewright.errors import nearest
from anglewright.rigfile.keys import TableReader

Serials = dict[str, dict[str, str]]


def read_machines(document: Mapping[str, Any], reader: TableReader, *, where: str) -> tuple[str, Serials]:
    """The machine that a rig file means, and the serials of the sensors of all; problems stay in the reader.

    ``machine = "practice"`` at the top of the file names the one that is meant where nothing else is said;
    ``[machines.practice]`` gives a serial for as many of its axes as one likes, ``shoulder = "12"``.
    """
    serials = _serials(document, reader, where)
    named = document.get("machine", "")
    if not isinstance(named, str) or not one_word(named):
        reader.complain(f"{where}, machine", f"{named!r} is no name of a machine", 'Write it as "practice".')
        return "", serials
    if named and serials and named not in serials:
        reader.complain(f"{where}, machine", f"there is no [machines.{named}]", nearest(named, serials))
    return named, serials


def one_word(name: str) -> bool:
    """Whether a name can stand in a sentence and in a record: one line, no blanks around it."""
    return name == name.strip() and name.isprintable()


def _serials(document: Mapping[str, Any], reader: TableReader, where: str) -> Serials:
    tables, axes = document.get("machines", {}), document.get("axis", {})
    if not isinstance(tables, Mapping):
        reader.complain(
            f"{where}, machines", "it is not a table", 'Write [machines.practice], shoulder = "12".'
        )
        return {}
    found: Serials = {}
    for machine, table in tables.items():
        place = f"{where}, machines.{machine}"
        if not isinstance(table, Mapping):
            reader.complain(place, "it is not a table", f'Write [machines.{machine}], then shoulder = "12".')
            continue
        found[str(machine)] = dict(_fitted(table, axes, reader, place))
    return found


def _fitted(
    table: Mapping[str, Any], axes: Mapping[str, Any], reader: TableReader, place: str
) -> list[tuple[str, str]]:
    """Axis and serial of each sensor of one machine."""
    for axis in [axis for axis in table if axis not in axes]:
        reader.complain(place, f"there is no axis '{axis}'", nearest(axis, axes))
    odd = [axis for axis, serial in table.items() if isinstance(serial, Mapping | list | bool | float)]
    for axis in odd:
        reader.complain(f"{place}.{axis}", "it is no serial", 'Write it in quotes, as in shoulder = "12".')
    return [(axis, str(serial)) for axis, serial in table.items() if axis in axes and axis not in odd]
