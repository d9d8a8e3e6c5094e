"""Every fault there is, by name: found by walking the families."""

import importlib
import pkgutil
from functools import lru_cache

import anglewright.simulation.faults
from anglewright.simulation.faults.protocol import Fault


@lru_cache(maxsize=1)
def all_faults() -> dict[str, Fault]:
    """Every fault by its name, family by family in the order of the alphabet."""
    found: dict[str, Fault] = {}
    for module in pkgutil.iter_modules(anglewright.simulation.faults.__path__):
        family = importlib.import_module(f"anglewright.simulation.faults.{module.name}")
        found |= {fault.name: fault for fault in getattr(family, "FAULTS", ())}
    return found
