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


@lru_cache(maxsize=1)
def _built_in() -> dict[tuple[str, str], type[Part]]:
    found: dict[tuple[str, str], type[Part]] = {}
    for module in pkgutil.iter_modules(anglewright.links.__path__):
        loaded = importlib.import_module(f"anglewright.links.{module.name}")
        for part in getattr(loaded, "PARTS", ()):
            found[part.room, part.kind] = part
    return found


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
    known = _built_in() | _ADDED
    if (room, kind) not in known:
        names = [name for place, name in known if place == room]
        raise RigError(Problem(room, f"kind '{kind}' is not known", "", nearest(kind, names)))
    return known[room, kind]


def kinds_in(room: str) -> tuple[str, ...]:
    """Names of the kinds of part that a room can hold."""
    return tuple(sorted(name for place, name in _built_in() | _ADDED if place == room))
