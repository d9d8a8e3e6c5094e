"""What is to be planted in a simulated machine: its numbers, and faults with their size and time."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field

from anglewright.errors import AnglewrightError, Problem, UsageError, nearest
from anglewright.links.fields import QuantityKey
from anglewright.links.protocol import flat_keys
from anglewright.quantities.reading import Quantity, read_quantity
from anglewright.quantities.showing import show
from anglewright.quantities.spread import Persistence
from anglewright.quantities.units import UNITS, Kind
from anglewright.rig import Axis
from anglewright.simulation.faults.protocol import Fault, Planted, Size
from anglewright.simulation.faults.register import all_faults

SHORT = {"play": "coupling.play", "backlash": "drive.backlash", "clamp": "mount.within"}
HELP = "help"


@dataclass(frozen=True, slots=True, kw_only=True)
class Planting:
    """Numbers of the secret machine by key [SI], and its faults."""

    numbers: dict[str, float] = field(default_factory=dict)
    faults: tuple[Planted, ...] = ()


def read_planting(axis: Axis, texts: Sequence[str], *, end_s: float) -> Planting:
    """What texts such as ``play=1.5 deg`` or ``slip=5 deg@12 s`` plant in an axis.

    Parameters
    ----------
    axis : Axis
        The axis.
    texts : sequence of str
        ``NUMBER=VALUE``, or ``FAULT`` with ``=SIZE`` and ``@TIME`` where they are not the usual ones.
    end_s : float
        When the run ends. [s]

    Returns
    -------
    Planting
        Numbers and faults.

    Raises
    ------
    UsageError
        There is nothing of that name to plant, its size or time cannot be, or it does not fit the axis.
    """
    numbers, faults = {}, []
    keys = _number_keys(axis)
    for text in texts:
        name, equals, value = (part.strip() for part in text.partition("="))
        bare, _, time = (part.strip() for part in text.partition("@"))
        name = SHORT.get(name, name)
        fault = all_faults().get(name if equals else bare)
        if fault is not None:
            size = value.rpartition("@")[0] if "@" in value else value
            faults.append(_fault(axis, fault, size=size.strip(), time=time, end_s=end_s))
        elif equals and name in keys:
            numbers[name] = _number(name, value, keys[name])
        else:
            raise _unknown(axis, text, keys)
    return Planting(numbers=numbers, faults=tuple(faults))


def _number_keys(axis: Axis) -> dict[str, QuantityKey]:
    """Numbers of the chain that can be given, by their keys in the rig file: those that outlast a reading."""
    lasting = (each for each in axis.numbers if each.variate.persistence is not Persistence.READING)
    there = {number.key for number in lasting}
    return {
        f"{part.room}.{inner}": key
        for part in axis.chain_parts
        for inner, key in flat_keys(part.KEYS)
        if isinstance(key, QuantityKey) and f"{part.room}.{inner}" in there
    }


def _unknown(axis: Axis, text: str, keys: dict[str, QuantityKey]) -> UsageError:
    name = text.partition("=")[0].partition("@")[0].strip()
    if name == HELP:
        return UsageError(Problem("", line) for line in catalogue())
    known = [*SHORT, *keys, *all_faults()]
    found = f"'{text}' plants nothing in {axis.name}"
    if name in SHORT and SHORT[name] not in keys:
        limit = f"its parts have no {SHORT[name]}"
        remedy = "Give the part that number in the rig file first, or plant another fault."
        return UsageError(Problem("--plant", found, limit, remedy))
    if name in (*SHORT, *keys):
        return UsageError(Problem("--plant", found, "", f"Give the number, as in {name}=VALUE."))
    remedy = nearest(name, known)
    if remedy.startswith("Known"):
        remedy = f"{remedy} '--plant {HELP}' tells what each of them is."
    return UsageError(Problem("--plant", found, "", remedy))


def catalogue() -> Iterator[str]:
    """A line for each fault: how it is written, what it means."""
    for name, fault in all_faults().items():
        size = f"={fault.size.usual}" if fault.size else ""
        time = "@TIME" if fault.event else ""
        yield f"{name}{size.replace(' ', '')}{time}: {fault.meaning}"


def _read(where: str, text: str, kinds: tuple[Kind, ...]) -> Quantity:
    try:
        return read_quantity(text, kinds=kinds)
    except AnglewrightError as problems:
        raise UsageError([problem.within(where) for problem in problems.problems]) from None


def _number(name: str, text: str, key: QuantityKey) -> float:
    """A number of the machine. [SI]"""
    quantity = _read(f"--plant {name}", text, key.kinds)
    if key.least is not None and quantity.value < key.least:
        raise UsageError(Problem(f"--plant {name}", f"'{text}' is below 0", "", "Give 0 or more."))
    return quantity.value


def _fault(axis: Axis, fault: Fault, *, size: str, time: str, end_s: float) -> Planted:
    where = f"--plant {fault.name}"
    if size and fault.size is None:
        raise UsageError(Problem(where, f"it has no size, and '{size}' is given", "", "Leave the size out."))
    value = _size(where, size, fault.size) if fault.size else 0.0
    reason = fault.fits(axis, value)
    if reason:
        remedy = "Leave it out, or take an axis that it can happen to."
        raise UsageError(Problem(where, f"it cannot happen to {axis.name}", reason, remedy))
    return Planted(fault=fault, size=value, since_s=_since(where, time, end_s) if time else None)


def _size(where: str, text: str, size: Size) -> float:
    """Size of a fault, the usual one where none is given. [SI]"""
    value = _read(where, text or size.usual, size.kinds).value
    text = text or size.usual
    if size.whole and value != int(value):
        raise UsageError(
            Problem(where, f"'{text}' is not a whole number", "", f"Write it as in {size.usual}.")
        )
    if size.least is not None and value < size.least:
        found, limit = f"'{text}' is too small", f"the least is {size.least:g}"
        raise UsageError(Problem(where, found, limit, f"A usual size is {size.usual}."))
    if size.most is not None and value > size.most:
        found, limit = f"'{text}' is too large", f"the most is {size.most:g}"
        raise UsageError(Problem(where, found, limit, f"A usual size is {size.usual}."))
    return value


def _since(where: str, text: str, end_s: float) -> float:
    """When a fault begins. [s]"""
    since = _read(f"{where}@{text}", text, (Kind.TIME,)).value
    if not 0.0 <= since <= end_s:
        found = f"it begins at {show(since, UNITS['s'])}"
        limit = f"the run lasts from 0 s to {show(end_s, UNITS['s'])}"
        raise UsageError(Problem(where, found, limit, "Name a time in the run, or give more --seconds."))
    return since
