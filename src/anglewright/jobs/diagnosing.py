"""Job: what a filled test sheet says: which link is at fault and why, or which reading would tell."""

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass

from anglewright.findings import Finding, Severity
from anglewright.jobs.cells import Cell, limits_text, reading_text, readings_of, scale_of, with_unit
from anglewright.jobs.filled import typed_cells
from anglewright.jobs.findingtable import finding_json, findings_table
from anglewright.jobs.measured import Measured, keep_measured, measured_by, sentences, with_old
from anglewright.jobs.opening import the_axis
from anglewright.jobs.shown import Json, Shown, Table, counted
from anglewright.rig import Axis, Rig
from anglewright.testsheet.checks import Check, Reading, Stage
from anglewright.testsheet.diagnosis import Candidate, Diagnosis, diagnosis, ohms_read
from anglewright.testsheet.meter import OPEN_OHM
from anglewright.testsheet.model import SUM
from anglewright.testsheet.sheet import sheet_of

MOST_REASONS = 4  # readings named for a fault [1]
NO_POWER = "Do not power it before that is mended."


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class DiagnosisResult(Shown):
    """What the readings say, what was measured better than in the file, and what was written of that."""

    found: Diagnosis
    measured: tuple[Measured, ...] = ()
    kept: str = ""

    @property
    def axis(self) -> Axis:
        """The axis."""
        return self.found.tested.axis

    @property
    def unread(self) -> tuple[Check, ...]:
        """Checks that were not made."""
        return tuple(check for check in self.found.tested.checks if check.key not in self.found.readings)

    @property
    def headline(self) -> str:
        """The fault, or the faults that are left open, or that there is none."""
        unpowered = any(check.stage is Stage.UNPLUGGED for check in self.found.failed)
        return f"{self.axis.name}: {_said(self.found)}.{f' {NO_POWER}' if unpowered else ''}"

    @property
    def measured_question(self) -> str:
        """The question whether to write down what was measured."""
        return f"{'; '.join(sentences(self.measured))}. Write that into the rig file?"

    @property
    def summary(self) -> str:
        """What is left to be done, and what the file could learn."""
        lines = []
        if self.unread:
            lines.append(f"Not read yet: {', '.join(check.key for check in self.unread)}.")
        if self.kept:
            lines.append(f"Written: {self.kept}")
        elif self.measured:
            lines.append(f"Measured better than the file knows it: {'; '.join(sentences(self.measured))}.")
            lines.append("Write that into the rig file with --keep.")
        return "\n".join(lines)

    @property
    def findings(self) -> tuple[Finding, ...]:
        """What was found, the worst first."""
        return tuple(_findings(self.found))

    @property
    def exit_code(self) -> int:
        """1 where a fault is named or left open. [1]"""
        return int(any(each.severity is Severity.STOP for each in self.findings))

    def tables(self) -> tuple[Table, ...]:
        """Findings, then every reading beside its limits."""
        rows = tuple(
            self._row(check) for check in self.found.tested.checks if check.key in self.found.readings
        )
        readings = Table(
            title="Readings",
            columns=("check", "read", "healthy", ""),
            rows=rows,
            note="One fault at a time is looked for; two at once can look like a third.",
        )
        found = self.findings
        return (*((findings_table(found, title="Findings"),) if found else ()), readings)

    def _row(self, check: Check) -> tuple[str, ...]:
        reading = self.found.readings[check.key]
        said = "" if reading.passes(check) else "OUTSIDE"
        return (check.key, reading_text(check, self.axis, reading), limits_text(check, self.axis), said)

    def as_json(self) -> Json:
        """Verdict, what fits, what would part it, readings, findings, and what was measured."""
        return {
            "axis": self.axis.name,
            "unit": self.axis.unit.name,
            "verdict": self.found.verdict,
            "candidates": [_candidate_json(each) for each in self.found.candidates],
            "parted_by": [check.key for check in self.found.parted_by],
            "readings": [
                _reading_json(self.found, check)
                for check in self.found.tested.checks
                if check.key in self.found.readings
            ],
            "unread": [check.key for check in self.unread],
            "findings": [finding_json(each) for each in self.findings],
            "measured": [{"key": each.name, "old": each.old, "new": each.new} for each in self.measured],
            "kept": self.kept or None,
        }


def diagnose(
    rig: Rig, axis: str | None, readings: Mapping[str, str | float], *, keep: bool = False
) -> DiagnosisResult:
    """What the readings of a test sheet say about an axis.

    Parameters
    ----------
    rig : Rig
        The machine.
    axis : str or None
        Name of an axis; None for the only one.
    readings : mapping
        What was read, by the key or the number of its check: a text with its unit, or a number in the unit of
        the sheet.
    keep : bool
        Write what was measured better than the file knows it into the rig file, if the axis is healthy.

    Returns
    -------
    DiagnosisResult
        The fault, or those left open with the reading that would part them.

    Raises
    ------
    UsageError
        There is no such axis; or `keep`, and the rig is not as its file has it.
    DataError
        Readings that cannot be used; all are named.

    Examples
    --------
    The two ends of the track measure open while the lower part is sound: the feed's wire is broken.

    >>> from anglewright.jobs.opening import open_rig
    >>> rig = open_rig("examples/rover/rig.toml")
    >>> read = {"resistance-ends": "open", "resistance-low": "1.2 kohm", "resistance-high": "open"}
    >>> diagnose(rig, "shoulder", read).found.names
    ('open feed',)
    """
    chosen = the_axis(rig, axis)
    cells = [_cell(key, value, chosen) for key, value in readings.items()]
    return diagnose_cells(rig, axis, cells, keep=keep)


def _cell(key: str, value: str | float, axis: Axis) -> Cell:
    if isinstance(value, str):
        return Cell(check=key, text=value, where="readings")
    known = {check.key: check for check in sheet_of(axis).checks}
    unit = scale_of(known[key], axis).unit if key in known else ""
    return Cell(check=key, text=repr(float(value)), unit=unit, where="readings")


def diagnose_cells(
    rig: Rig, axis: str | None, cells: Iterable[Cell], *, keep: bool = False
) -> DiagnosisResult:
    """The same as `diagnose` for the cells of a sheet that was filled in or typed.

    Raises
    ------
    UsageError
        There is no such axis; or `keep`, and the rig is not as its file has it.
    DataError
        Readings that cannot be used; all are named, each with its line.
    """
    tested = sheet_of(the_axis(rig, axis))
    readings = _with_sum(readings_of(cells, tested.checks, tested.axis))
    found = diagnosis(tested, readings)
    measured = measured_by(tested.bench, readings) if found.verdict == "healthy" else ()
    result = DiagnosisResult(found=found, measured=with_old(rig, tested.axis, measured))
    return keep_result(rig, result) if keep and measured else result


def checker_of(axis: Axis) -> Callable[[Sequence[str]], object]:
    """Whether typed lines are readings of an axis, while they are typed: a DataError where they are not."""
    checks = sheet_of(axis).checks
    return lambda lines: readings_of(typed_cells(lines), checks, axis)


def _with_sum(readings: dict[str, Reading]) -> dict[str, Reading]:
    """The readings with the sum of the ohms, where it can be worked out and was not written."""
    excess = ohms_read(readings)
    if excess is None or SUM in readings:
        return readings
    return {**readings, SUM: Reading(key=SUM, value=excess)}


def keep_result(rig: Rig, result: DiagnosisResult) -> DiagnosisResult:
    """The result with what was measured written into the rig file.

    Raises
    ------
    UsageError
        The rig is not as its file has it.
    DataError
        The file cannot be read or written.
    """
    kept = keep_measured(rig, result.axis, result.measured)
    return DiagnosisResult(found=result.found, measured=result.measured, kept=kept)


def _or(names: tuple[str, ...]) -> str:
    return names[0] if len(names) == 1 else f"{', '.join(names[:-1])} and {names[-1]}"


def _said(found: Diagnosis) -> str:
    """The verdict in a sentence."""
    if found.verdict == "cannot tell":
        return f"these readings cannot tell {_or(found.names)} apart"
    if found.verdict == "named":
        first = found.candidates[0]
        where = f" ({first.variant.where})" if first.variant.where else ""
        return f"{first.fault.name}{where}, and no other single fault fits"
    return {
        "nothing read": "the sheet holds no reading",
        "healthy": f"all {counted(len(found.readings), 'reading')} fit a healthy axis",
        "none of the known": "no single fault that is known fits these readings",
    }[found.verdict]


def _findings(found: Diagnosis) -> Iterator[Finding]:
    if found.verdict == "named":
        first = found.candidates[0]
        text = f"{first.fault.what[:1].upper()}{first.fault.what[1:]}. {_because(found, first)}"
        yield _finding(found, first.fault.key, first.fault.link, text.strip(), first.fault.remedy)
    elif found.verdict == "cannot tell":
        names = _or(found.names)
        text = f"The readings fit {names} alike. {_because(found, found.candidates[0])}"
        yield _finding(found, "cannot-tell", found.candidates[0].fault.link, text.strip(), _further(found))
    elif found.verdict == "none of the known":
        outside = ", ".join(check.key for check in found.failed) or "none by itself"
        text = f"None of the known single faults fits. Outside the limits: {outside}."
        remedy = "Repeat the readings that stand alone; look for two faults at once, or for another part."
        yield _finding(found, "fault-unknown", "", text, remedy)
    elif len(found.candidates) > 1:
        names = _or(found.names[1:])
        text = f"Too small to show in these readings would be: {names}."
        yield _finding(found, "cannot-tell", "", text, _further(found), severity=Severity.NOTE)


def _finding(
    found: Diagnosis, key: str, link: str, text: str, remedy: str, *, severity: Severity = Severity.STOP
) -> Finding:
    return Finding(
        key=key,
        severity=severity,
        axis=found.tested.axis.name,
        link=link,
        text=text,
        remedy=remedy,
        source="derived",
    )


def _because(found: Diagnosis, candidate: Candidate) -> str:
    """The readings that no healthy axis shows, beside what the fault lets one expect."""
    axis, keys = found.tested.axis, found.tested.bench.keys
    said = []
    for check in found.failed[:MOST_REASONS]:
        reading = reading_text(check, axis, found.readings[check.key])
        expects = ""
        if check.key in keys:
            value = float(candidate.fit.values[keys.index(check.key)])
            value = float("inf") if check.unit == "ohm" and value >= OPEN_OHM else value
            expects = f", this fault {with_unit(check, axis, value) or 'anything'}"
        said.append(f"{check.key} reads {reading}; a healthy axis shows {limits_text(check, axis)}{expects}")
    return (
        f"{'. '.join(said)}." if said else "No reading is outside by itself; together they fit nothing else."
    )


def _further(found: Diagnosis) -> str:
    """Which reading would part what is left open."""
    if found.parted_by:
        asked = "; ".join(f"{check.key}: {check.do}" for check in found.parted_by[:2])
        return f"This would tell: {asked}"
    shown = [f"{each.fault.shown_by} ({each.fault.name})" for each in found.candidates if each.fault.shown_by]
    if shown:
        return f"No check of the sheet parts them. This would tell: {'; '.join(shown)}."
    return "No reading of the sheet parts them: each lies at the very edge of its tolerance."


def _candidate_json(each: Candidate) -> Json:
    return {
        "fault": each.fault.name,
        "key": each.fault.key,
        "link": each.fault.link or None,
        "where": each.variant.where or None,
        "departure": each.fit.miss,
    }


def _reading_json(found: Diagnosis, check: Check) -> Json:
    axis, reading = found.tested.axis, found.readings[check.key]
    scale = scale_of(check, axis)
    number = check.is_number and not reading.wanders
    return {
        "key": check.key,
        "reading": scale.shown(reading.value) if number else reading.word,
        "open": reading.value == float("inf"),
        "low": None if check.low is None else scale.shown(check.low),
        "high": None if check.high is None else scale.shown(check.high),
        "unit": scale.unit,
        "within": reading.passes(check),
    }
