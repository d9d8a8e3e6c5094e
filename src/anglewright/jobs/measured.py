"""What a healthy sheet measured, as narrower values for the rig file, and how they are written there."""

from collections.abc import Iterator, MutableMapping
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

from anglewright.errors import DataError, Problem, UsageError
from anglewright.jobs.remarks import renewed
from anglewright.quantities.showing import show
from anglewright.quantities.spread import Spread
from anglewright.quantities.units import UNITS
from anglewright.rig import Axis, Rig
from anglewright.rigfile.document import parse_document
from anglewright.rigfile.reading import build_rig
from anglewright.rigfile.storing import write_whole
from anglewright.testsheet.checks import Readings
from anglewright.testsheet.diagnosis import ohms_read
from anglewright.testsheet.meter import meter_error
from anglewright.testsheet.model import Bench

MEASURED = "measured on "
"""Begins the remark behind a measured number."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Measured:
    """A number of the rig file that was measured better than the file knows it.

    `key` may lead into a stage of a drive, ``stages.1.backlash``; `remark` is written behind the number.
    """

    room: str
    key: str
    old: str
    new: str
    remark: str = ""

    @property
    def name(self) -> str:
        """Room and key: ``sensor.track``."""
        return f"{self.room}.{self.key}"


def measured_by(bench: Bench, readings: Readings) -> tuple[Measured, ...]:
    """Numbers that the readings tell better than the file does.

    Parameters
    ----------
    bench : Bench
        The axis that was tested and found healthy.
    readings : mapping
        What was read.

    Returns
    -------
    tuple of Measured
        The track without the wires and its ends, the wiper's resistance, the feed; only where the meter's
        error is smaller than the spread of the file. A number that the file takes as exact is left alone.

    References
    ----------
    derived
    """
    found = (_track(bench, readings), _wiper(bench, readings), _feed(bench, readings))
    return tuple(each for each in found if each is not None)


def _track(bench: Bench, readings: Readings) -> Measured | None:
    sensor, wiring = bench.axis.part("sensor"), bench.axis.part("wiring")
    if "resistance-ends" not in readings:
        return None
    value, error = readings["resistance-ends"].value, 0.0
    for part, name, times in (
        (sensor, "end_ohm", 2.0), (wiring, "lead_feed_ohm", 1.0), (wiring, "lead_ground_ohm", 1.0)
    ):  # fmt: skip
        spread = getattr(part, name, None)
        if isinstance(spread, Spread):
            value, error = value - times * spread.mean, error + times * spread.half_width
    error += meter_error(value, unit="ohm")
    return _narrower(getattr(sensor, "track_ohm", None), value, error, name=("sensor", "track", "ohm"))


def _wiper(bench: Bench, readings: Readings) -> Measured | None:
    excess = ohms_read(readings)
    if excess is None:
        return None
    errors = sum(
        meter_error(readings[key].value, unit="ohm")
        for key in ("resistance-ends", "resistance-low", "resistance-high")
    )
    stated = getattr(bench.axis.part("sensor"), "wiper_ohm", None)
    name = ("sensor", "wiper_resistance", "ohm")
    return _narrower(stated, max(excess, 0.0) / 2.0, errors / 2.0, name=name)


def _feed(bench: Bench, readings: Readings) -> Measured | None:
    if "feed-alone" not in readings:
        return None
    value = readings["feed-alone"].value
    stated = getattr(bench.axis.part("wiring"), "feed_v", None)
    return _narrower(stated, value, meter_error(value, unit="V"), name=("wiring", "feed", "V"))


def _narrower(stated: Any, value: float, error: float, *, name: tuple[str, str, str]) -> Measured | None:
    """The measured number, where it is known better than stated."""
    if not isinstance(stated, Spread) or stated.is_exact or error >= stated.half_width or value <= 0.0:
        return None
    room, key, unit = name
    new = f"{show(value, UNITS[unit])} ± {100.0 * error / value:.2g} %"
    return Measured(room=room, key=key, old="", new=new)


def with_old(rig: Rig, axis: Axis, found: tuple[Measured, ...]) -> tuple[Measured, ...]:
    """The same with what the rig's file says now; the default where it is silent."""
    assumed = {each.key: each.value for each in axis.assumptions}
    tables: Any = {}
    if rig.source and Path(rig.source).is_file():
        tables = parse_document(_text_of(Path(rig.source)), source=rig.source)["axis"].get(axis.name, {})
    return tuple(replace(each, old=_old(each, tables, assumed)) for each in found)


def _old(each: Measured, tables: Any, assumed: dict[str, str]) -> str:
    held = tables.get(each.room, {})
    for step in _steps(each.key):
        try:
            held = held[step]
        except (KeyError, IndexError):
            return f"{assumed[each.name]} (assumed)" if each.name in assumed else "not given"
    return str(held)


def _steps(key: str) -> list[str | int]:
    """The way into a table; places in a row are counted from 1 in a key."""
    return [int(step) - 1 if step.isdecimal() else step for step in key.split(".")]


def _text_of(path: Path) -> str:
    try:
        return path.read_text(encoding="utf-8-sig")
    except OSError as fault:
        reason = (fault.strerror or str(fault)).lower()
        raise DataError(Problem(str(path), f"it cannot be read ({reason})", "", "Name a rig file.")) from None


def hold_changed(rig: Rig, *, option: str) -> None:
    """Refuse to write into the file of a rig that is not as the file has it.

    Raises
    ------
    UsageError
        The rig comes from no file, or was changed for a what-if; `option` is what asked for it.
    """
    if not rig.source or any(note.startswith("What if:") for note in rig.notes):
        why = "the rig is not as its file has it" if rig.source else "the rig comes from no file"
        raise UsageError(Problem(option, why, "", "Open it from its file, without --set."))


def keep_measured(rig: Rig, axis: Axis, found: tuple[Measured, ...], *, option: str = "--keep") -> str:
    """Write measured numbers into the file that the rig came from; all else of the file stays as it is.

    Parameters
    ----------
    rig : Rig
        The machine, as its file has it.
    axis : Axis
        The axis that was tested.
    found : tuple of Measured
        What to write.
    option : str
        What asked for it, for errors.

    Returns
    -------
    str
        What was written, with the old values, in a sentence.

    Raises
    ------
    UsageError
        The rig comes from no file, or was changed for a what-if.
    RigError
        The file would not be a rig any more; it stays as it was.
    DataError
        The file cannot be read or written.
    """
    hold_changed(rig, option=option)
    path = Path(rig.source)
    write_whole(path, kept_text(_text_of(path), axis.name, found, source=str(path)))
    told = "; ".join(f'{each.name} = "{each.new}" (it was {each.old})' for each in found)
    return f"{path}: {told}."


def kept_text(text: str, axis: str, found: tuple[Measured, ...], *, source: str) -> str:
    """The text of a rig file with measured numbers put in, its comments and layout kept.

    Raises
    ------
    RigError
        It would not be a rig any more.
    """
    import tomlkit

    document = tomlkit.parse(text)
    axes: Any = document["axis"]
    for each in found:
        _put(axes[axis], each)
    changed = tomlkit.dumps(document)
    for room in dict.fromkeys(each.room for each in found):
        changed = renewed(text, changed, axis=axis, room=room)
    build_rig(parse_document(changed, source=source), source=source)
    return changed


def _put(axis: MutableMapping[str, Any], each: Measured) -> None:
    """Put a number into the tables of an axis; its remark goes behind the line that holds it."""
    import tomlkit
    from tomlkit.items import Array, InlineTable

    if each.room not in axis:
        axis[each.room] = tomlkit.table()
    holder: Any = axis
    *way, last = [each.room, *_steps(each.key)]
    line: Any = None
    for step in way:
        holder = holder[step]
        line = holder if line is None and isinstance(holder, InlineTable | Array) else line
    holder[last] = each.new
    if each.remark:
        _remark(holder[last] if line is None else line, each.remark)


def _remark(item: Any, remark: str) -> None:
    """Put a remark behind what a person wrote there; one of an assumption or an older one gives way."""
    old = item.trivia.comment.lstrip("# ").partition(MEASURED)[0].rstrip("; ")
    if old.startswith("assumed"):
        old = ""
    item.comment(f"{old}; {remark}" if old else remark)


def sentences(found: tuple[Measured, ...]) -> Iterator[str]:
    """Each number as it stands and as it was measured."""
    for each in found:
        yield f"{each.name}: {each.old} in the file, {each.new} as measured"
