"""Job: the two-minute check of a whole machine before use, from readings at a place where it stands safe."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path

from anglewright.errors import Problem, UsageError, nearest
from anglewright.findings import Finding, Severity
from anglewright.jobs.findingtable import SIGNS, finding_json, findings_table
from anglewright.jobs.lines import line_in_use
from anglewright.jobs.places import Place, place_of
from anglewright.jobs.reading import raw_number, shown_raw
from anglewright.jobs.readycheck import CHECKS, Standing, standing
from anglewright.jobs.shown import Json, Shown, Table
from anglewright.quantities.showing import show
from anglewright.report.readycard import CardAxis, CardCheck, ReadyCard, render_ready_card
from anglewright.review.cautions import CALIBRATING, NO_SAFETY_DEVICE
from anglewright.rig import Axis, Rig
from anglewright.rigfile.records import machine_named
from anglewright.rigfile.storing import hold_foreign, write_whole
from anglewright.tables.named import named_columns

STOW = "stow"
"""The mark at which a machine stands before use, where an axis has one; the plan's mark otherwise."""

SIGN = "<!doctype html>"
CAUTION = f"{CALIBRATING.replace('Calibrating', 'Reading')} {NO_SAFETY_DEVICE}"


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class ReadyResult(Shown):
    """Every axis at its place, and whether the machine may be used."""

    rig: Rig
    axes: tuple[Standing, ...]
    date: str
    html: Path | None = None

    @property
    def ready(self) -> bool:
        """Whether nothing stops the use of any axis."""
        return all(each.ready for each in self.axes)

    @property
    def findings(self) -> tuple[Finding, ...]:
        """What there is to say, the worst first."""
        order = list(Severity)
        found = [finding for each in self.axes for finding in each.findings]
        return tuple(sorted(found, key=lambda finding: order.index(finding.severity)))

    @property
    def whose(self) -> str:
        """The machine that was looked at."""
        return f"{self.rig.name}, {machine_named(self.rig.machine)}" if self.rig.machine else self.rig.name

    @property
    def headline(self) -> str:
        """Ready or not, and which axes are not."""
        if self.ready:
            count = len(self.axes)
            return f"READY: {self.whose}, {'its one axis' if count == 1 else f'all {count} axes'}."
        stopped = "; ".join(
            f"{each.axis.name} ({', '.join(_stopped(each))})" for each in self.axes if not each.ready
        )
        return f"NOT READY: {self.whose}. {stopped}."

    @property
    def summary(self) -> str:
        """What to mind while it is read, and where the card is."""
        return f"{CAUTION}\nCard written to {self.html}." if self.html else CAUTION

    @property
    def exit_code(self) -> int:
        """0 where it is ready, 1 where it is not. [1]"""
        return 0 if self.ready else 1

    def tables(self) -> tuple[Table, ...]:
        """One row an axis, then what there is to say."""
        names = ("axis", "stands at", "A to B", "reads", *CHECKS, "")
        rows = tuple(_row(each) for each in self.axes)
        table = Table(title=self.headline, columns=names, rows=rows)
        said = (findings_table(self.findings, title="What to do"),) if self.findings else ()
        return (table, *said)

    def as_json(self) -> Json:
        """Ready or not, each axis with its checks, every finding."""
        return {
            "rig": self.rig.name,
            "machine": self.rig.machine,
            "date": self.date,
            "ready": self.ready,
            "axes": [_axis_json(each) for each in self.axes],
            "findings": [finding_json(finding) for finding in self.findings],
            "html": str(self.html) if self.html else None,
        }


def _stopped(seen: Standing) -> list[str]:
    return [check for check in CHECKS if seen.state(check) is Severity.STOP]


def _word(severity: Severity | None) -> str:
    return "ok" if severity is None else SIGNS[severity]


def _a_to_b(seen: Standing) -> str:
    return " to ".join(shown_raw(each) for each in seen.limits)


def _raws(seen: Standing) -> str:
    """The readings: alone, or the lowest and the highest."""
    if not seen.raws:
        return "none"
    low, high = (shown_raw(each) for each in (min(seen.raws), max(seen.raws)))
    return low if low == high else f"{low} to {high}"


def _position(seen: Standing) -> str:
    return "none" if seen.position is None else show(seen.position, seen.axis.unit, digits=4)


def _row(seen: Standing) -> tuple[str, ...]:
    words = [_word(seen.state(check)) for check in CHECKS]
    last = "ready" if seen.ready else "NOT READY"
    return (seen.axis.name, seen.place.name, _a_to_b(seen), _raws(seen), *words, last)


def _axis_json(seen: Standing) -> Json:
    unit, record = seen.axis.unit, seen.in_use.record
    low, high = seen.limits
    return {
        "axis": seen.axis.name,
        "unit": unit.name,
        "ready": seen.ready,
        "place": seen.place.name,
        "place_at": unit.from_si(seen.place.at),
        "raw_low": low,
        "raw_high": high,
        "raws": list(seen.raws),
        "position": None if seen.position is None else unit.from_si(seen.position),
        "off": None if seen.off is None else unit.difference_from_si(seen.off),
        "window": unit.difference_from_si(seen.window),
        "record": record.name if record else None,
        "checks": {check: _word(seen.state(check)).lower() for check in CHECKS},
    }


def ready(
    rig: Rig,
    readings: Mapping[str, Sequence[float | str]],
    *,
    date: str,
    at: str | None = None,
    html: str | Path | None = None,
) -> ReadyResult:
    """Check a whole machine before use.

    Parameters
    ----------
    rig : Rig
        The machine.
    readings : mapping of str to sequence of float or str
        Raw readings by axis, as the controller shows them, taken where the machine stands. [raw]
    date : str
        Day of the check, ``2026-05-12``, for the card.
    at : str, optional
        Mark at which the axes stand that have it; ``stow``, or the plan's mark, otherwise.
    html : str or Path, optional
        File for a card to print.

    Returns
    -------
    ReadyResult
        Ready or not, and why.

    Raises
    ------
    UsageError
        A reading is of no axis, or no axis has the mark.
    DataError
        A reading is no number, a record or diary is damaged, or the card cannot be written.

    References
    ----------
    practice
    """
    _hold_names(rig, readings, at)
    page = None if html is None else Path(html)
    if page is not None:
        hold_foreign(page, SIGN)
    seen = []
    for name, axis in rig.axes.items():
        raws = [raw_number(raw) for raw in readings.get(name, ())]
        place, in_use = stands_at(axis, at), line_in_use(rig, axis)
        seen.append(standing(rig, axis, place, in_use=in_use, raws=raws))
    result = ReadyResult(rig=rig, axes=tuple(seen), date=date, html=page)
    if page is not None:
        write_whole(page, render_ready_card(_card(result)))
    return result


def _hold_names(rig: Rig, readings: Iterable[str], at: str | None) -> None:
    for name in readings:
        rig.axis(name)
    marks = {mark for axis in rig.axes.values() for mark in axis.marks}
    if at is not None and at not in marks:
        raise UsageError(Problem("--at", f"no axis has a mark '{at}'", "", nearest(at, marks)))


def stands_at(axis: Axis, at: str | None) -> Place:
    """Where an axis stands: at the mark that is asked for, at its stow, else at the plan's mark."""
    wanted = [mark for mark in (at, STOW) if mark in axis.marks]
    return place_of(axis, wanted[0] if wanted and wanted[0] else axis.plan.zero_at)


def readings_in(rig: Rig, file: str | Path) -> Mapping[str, list[float | str]]:
    """Readings of every axis that a short recording has a column of.

    Raises
    ------
    DataError
        It cannot be read, or no column has the name of an axis.
    """
    return {name: [*values.tolist()] for name, values in named_columns(Path(file), rig.axes).items()}


def _card(result: ReadyResult) -> ReadyCard:
    return ReadyCard(
        rig_name=result.rig.name,
        machine=result.rig.machine,
        simulated=result.rig.simulated,
        headline=result.headline,
        ready=result.ready,
        date=result.date,
        caution=CAUTION,
        axes=tuple(_card_axis(each) for each in result.axes),
        findings=result.findings,
    )


def _card_axis(seen: Standing) -> CardAxis:
    record = seen.in_use.record
    return CardAxis(
        name=seen.axis.name,
        stands_at=f"{seen.place.name}, {show(seen.place.at, seen.axis.unit)}",
        how=seen.how,
        a_to_b=_a_to_b(seen),
        reads=_raws(seen),
        position=_position(seen),
        record=record.name if record else "none",
        ready=seen.ready,
        checks=tuple(CardCheck(name=check, severity=seen.state(check)) for check in CHECKS),
    )
