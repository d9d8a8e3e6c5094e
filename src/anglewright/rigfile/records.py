"""Calibration records beside a rig file: one TOML each, never overwritten, the newest usable one in use."""

import re
from collections.abc import Sequence
from dataclasses import dataclass, replace
from pathlib import Path

from anglewright.calibration.record import ZERO, CalibrationRecord
from anglewright.errors import DataError, Problem, UsageError, nearest
from anglewright.handover.identifiers import stems
from anglewright.rig import Axis, Rig, fingerprint
from anglewright.rigfile.recordfile import read_record, record_text, withdrawn_text
from anglewright.rigfile.storing import write_whole

NAME = re.compile(r"(\d{4}-\d\d-\d\d)-(\d{1,9})")
"""Day and number of a record; a file of another name is no record."""


@dataclass(frozen=True, slots=True, kw_only=True)
class RecordChoice:
    """The record in use, or None, and a sentence that says why."""

    record: CalibrationRecord | None
    why: str


def records_folder(rig: Rig, axis: Axis) -> Path:
    """Folder of an axis's records, beside the rig file."""
    source = Path(rig.source)
    return source.with_name(f"{source.stem}.calibrations") / stems(list(rig.axes))[axis.name]


def next_name(rig: Rig, axis: Axis, date: str) -> str:
    """Name of the next record of a day: ``2026-05-12-1``."""
    taken = [number for day, number, _ in _files(rig, axis) if day == date]
    return f"{date}-{max(taken, default=0) + 1}"


def keep_record(rig: Rig, axis: Axis, record: CalibrationRecord) -> Path:
    """Write a record; its name must be new.

    Raises
    ------
    DataError
        There is one of that name already, or the folder cannot be written to.
    """
    if not rig.source:
        found, limit = "the rig comes from no file", "beside which its records could lie"
        raise DataError(Problem(rig.name, found, limit, "Open it from a file, or do not keep the record."))
    path = records_folder(rig, axis) / f"{record.name}.toml"
    write_whole(path, record_text(record, axis.unit), fresh=True)
    return path


def withdraw_record(rig: Rig, axis: Axis, name: str, *, because: str) -> CalibrationRecord:
    """Mark a record as no longer to be used; it stays where it is.

    Raises
    ------
    UsageError
        There is no such record, it is withdrawn already, or no reason is given.
    """
    record = _named(all_records(rig, axis), name, axis)
    where = f"axis '{axis.name}', record {name}"
    if not because.strip():
        raise UsageError(Problem(where, "no reason is given", "", "Say why it must not be used any more."))
    if record.withdrawn:
        found = f"it is withdrawn already ({record.withdrawn})"
        raise UsageError(Problem(where, found, "", "Nothing needs to be done."))
    path = records_folder(rig, axis) / f"{name}.toml"
    write_whole(path, withdrawn_text(path, because))
    return replace(record, withdrawn=because)


def all_records(rig: Rig, axis: Axis) -> tuple[CalibrationRecord, ...]:
    """Every record of an axis, the oldest first.

    Raises
    ------
    DataError
        A record is damaged, or the folder cannot be read.
    """
    return tuple(read_record(path, axis) for _, _, path in sorted(_files(rig, axis)))


def own_records(rig: Rig, axis: Axis) -> list[CalibrationRecord]:
    """Every record of an axis of this machine, the oldest first.

    Raises
    ------
    DataError
        A record is damaged, or the folder cannot be read.
    """
    return [record for record in all_records(rig, axis) if record.machine == rig.machine]


def _files(rig: Rig, axis: Axis) -> list[tuple[str, int, Path]]:
    """Day, number and path of every file whose name is that of a record."""
    if not rig.source:
        return []
    folder = records_folder(rig, axis)
    try:
        paths = list(folder.iterdir())
    except FileNotFoundError:
        return []
    except OSError as fault:
        reason = (fault.strerror or str(fault)).lower()
        remedy = "The calibration records lie there: make it a folder that you may read."
        raise DataError(Problem(str(folder), f"it cannot be read ({reason})", "", remedy)) from None
    named = [(NAME.fullmatch(path.stem), path) for path in paths if path.suffix == ".toml"]
    return [(name[1], int(name[2]), path) for name, path in named if name]


def record_in_use(rig: Rig, axis: Axis, *, name: str | None = None) -> RecordChoice:
    """The newest record of this machine that nothing speaks against; or the one named.

    Raises
    ------
    UsageError
        There is no record of the name given.
    DataError
        A record is damaged.
    """
    records = all_records(rig, axis)
    shelf = Shelf(rig=rig, axis=axis, records=records)
    if name is not None:
        return _asked_for(_named(records, name, axis), shelf)
    own = [record for record in records if record.machine == rig.machine]
    usable = [record for record in own if not record.withdrawn]
    if not usable:
        return RecordChoice(record=None, why=_nothing(records, own, rig))
    newest = usable[-1]
    matching = [record for record in usable if not shelf.against(record)]
    changed = f"{_titled(newest)} {shelf.against(newest)}"
    if not matching:
        return RecordChoice(record=None, why=f"{changed}, calibrate again")
    found = matching[-1]
    why = _titled(found) if found is newest else f"{_titled(found)}; the newer {changed}"
    return RecordChoice(record=found, why=why)


@dataclass(frozen=True, slots=True, kw_only=True)
class Shelf:
    """The records of an axis, the oldest first, and the machine that they are to be used for."""

    rig: Rig
    axis: Axis
    records: tuple[CalibrationRecord, ...]

    def against(self, record: CalibrationRecord) -> str:
        """What speaks against the use of a record, as the end of a sentence; empty where nothing does."""
        if record.withdrawn:
            return f"is withdrawn ({record.withdrawn})"
        if record.machine != self.rig.machine:
            return f"belongs to {machine_named(record.machine)}, not to {machine_named(self.rig.machine)}"
        if record.chain != fingerprint(self.axis):
            return "belongs to another chain: a part or number changed since"
        fitted = self.rig.serial(self.axis.name)
        if record.serial and fitted and record.serial != fitted:
            return f"belongs to another sensor: to serial {record.serial}, and {fitted} is fitted now"
        return self._base(record)

    def _base(self, record: CalibrationRecord) -> str:
        """What speaks against the calibration whose slope a moved zero keeps."""
        if record.kind != ZERO:
            return ""
        base = next((each for each in self.records if each.name == record.based_on), None)
        if base is None:
            return f"rests on {record.based_on}, which is not there any more"
        against = self.against(base)
        return f"rests on {base.name}, which {against}" if against else ""


def machine_named(machine: str) -> str:
    """A machine in the middle of a sentence."""
    return f"the machine '{machine}'" if machine else "the machine without a name"


def _titled(record: CalibrationRecord) -> str:
    """A record by what it is and its name."""
    return f"zero {record.name}" if record.kind == ZERO else f"calibration {record.name}"


def _nothing(records: Sequence[CalibrationRecord], own: Sequence[CalibrationRecord], rig: Rig) -> str:
    """Why there is no record to choose from."""
    if own:
        return "every calibration is withdrawn"
    if not records:
        return "no calibration yet"
    other = records[-1]
    whose = machine_named(rig.machine)
    return f"no calibration of {whose} yet; {other.name} belongs to {machine_named(other.machine)}"


def _asked_for(record: CalibrationRecord, shelf: Shelf) -> RecordChoice:
    """A record asked for by name, and what speaks against it."""
    doubts = [f"withdrawn ({record.withdrawn})"] if record.withdrawn else []
    doubts += [f"of {machine_named(record.machine)}"] if record.machine != shelf.rig.machine else []
    other = record.chain != fingerprint(shelf.axis)
    doubts += ["of another chain than the file describes now"] if other else []
    fitted = shelf.rig.serial(shelf.axis.name)
    doubts += (
        [f"of another sensor, serial {record.serial}"] if record.serial not in ("", fitted) and fitted else []
    )
    tail = f", although it is {' and '.join(doubts)}" if doubts else ""
    return RecordChoice(record=record, why=f"{_titled(record)}, as asked for{tail}")


def _named(records: tuple[CalibrationRecord, ...], name: str, axis: Axis) -> CalibrationRecord:
    for record in records:
        if record.name == name:
            return record
    found = f"there is no calibration record '{name}'"
    remedy = nearest(name, [record.name for record in records]) if records else "Run calibrate first."
    raise UsageError(Problem(f"axis '{axis.name}'", found, "", remedy))
