"""Every kind of part there is: found by walking the links, and added to from outside."""

import importlib
import pkgutil
from functools import lru_cache

import anglewright.links
from anglewright.errors import Problem, RigError, nearest
from anglewright.links.protocol import Part

_ADDED: dict[tuple[str, str], type[Part]] = {}

ROOMS = ("drive", "coupling", "mount", "sensor", "wiring", "converter")
USUAL = {
    "drive": "direct",
    "coupling": "d-bore",
    "mount": "clamp",
    "sensor": "potentiometer",
    "wiring": "analogue",
    "converter": "adc",
}


_KIN = {"direct": "gears"}  # module of a usual kind that is named neither after it nor after its room


@lru_cache(maxsize=1)
def _modules() -> tuple[str, ...]:
    """Names of the modules of the links."""
    return tuple(module.name for module in pkgutil.iter_modules(anglewright.links.__path__))


def _parts_in(module: str) -> tuple[type[Part], ...]:
    """The kinds of part that a module of the links declares."""
    return getattr(importlib.import_module(f"anglewright.links.{module}"), "PARTS", ())


@lru_cache(maxsize=1)
def _built_in() -> dict[tuple[str, str], type[Part]]:
    return {(part.room, part.kind): part for module in _modules() for part in _parts_in(module)}


def _sought(room: str, kind: str) -> type[Part] | None:
    """A kind from where it most likely is, its own module or that of its room, without loading all others."""
    for module in (kind.replace("-", "_"), _KIN.get(kind), room):
        for part in _parts_in(module) if module in _modules() else ():
            if (part.room, part.kind) == (room, kind):
                return part
    return _built_in().get((room, kind))


def add_part(part: type[Part]) -> None:
    """Make a kind of part from outside the package known to rig files, budgets and simulations."""
    _ADDED[part.room, part.kind] = part


def part_named(room: str, kind: str) -> type[Part]:
    """The kind of part in a room.

    Raises
    ------
    RigError
        There is no such kind; the nearest ones are named.
    """
    part = _ADDED.get((room, kind)) or _sought(room, kind)
    if part is None:
        raise RigError(Problem(room, f"kind '{kind}' is not known", "", nearest(kind, kinds_in(room))))
    return part


def kinds_in(room: str) -> tuple[str, ...]:
    """Names of the kinds of part that a room can hold."""
    return tuple(sorted(name for place, name in _built_in() | _ADDED if place == room))
