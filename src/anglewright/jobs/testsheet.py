"""Job: the test sheet of an axis, to be worked through before the motor is powered for the first time."""

import csv
import io
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

from anglewright.jobs.cells import limits_text, scale_of, with_unit, written
from anglewright.jobs.opening import the_axis
from anglewright.jobs.shown import Json, Shown, Table
from anglewright.report.sheetpage import PageCheck, PageStage, SheetPage, render_sheet_page
from anglewright.rig import Axis, Rig
from anglewright.rigfile.storing import hold_foreign, write_whole
from anglewright.sources import cite
from anglewright.tables.writing import one_line
from anglewright.testsheet.checks import Check, Stage
from anglewright.testsheet.precautions import precautions
from anglewright.testsheet.sheet import AxisUnderTest, sheet_of

METER = (
    "Limits: every spread of the rig file at its limit, and a hand-held meter off by 0.5 % of volts, 1 % of "
    "ohms and two last digits (from memory of typical data sheets). No healthy axis leaves them."
)
ORDER = "Work from the top; go on only when all of a stage is within its limits."
COLUMNS = ("no", "check", "do", "expected", "low", "high", "unit", "reading", "tested_on", "by")
SIGN = "<!doctype html>"


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class SheetResult(Shown):
    """The sheet of one axis, with the files it was written to."""

    rig: Rig
    tested: AxisUnderTest
    html: Path | None = None
    csv: Path | None = None

    @property
    def axis(self) -> Axis:
        """The axis."""
        return self.tested.axis

    @property
    def checks(self) -> tuple[Check, ...]:
        """Every check in its order."""
        return self.tested.checks

    @property
    def headline(self) -> str:
        """How many checks, and where the sheet is."""
        files = " and ".join(str(each) for each in (self.html, self.csv) if each)
        where = f"; written to {files}" if files else ""
        return f"Test sheet of {self.axis.name}: {len(self.checks)} checks in the safe order{where}."

    @property
    def summary(self) -> str:
        """How to use it."""
        return f"{ORDER}\n{METER}"

    def tables(self) -> tuple[Table, ...]:
        """One table a stage, with its cautions above the checks."""
        return tuple(self._table(stage) for stage in self.stages)

    @property
    def stages(self) -> tuple[Stage, ...]:
        """The stages that have checks."""
        return tuple(stage for stage in Stage if any(check.stage is stage for check in self.checks))

    def _table(self, stage: Stage) -> Table:
        rows = tuple(
            (
                f"{place}",
                check.key,
                check.do,
                limits_text(check, self.axis),
                "tested on ______ by ______" if check.signed else "",
            )
            for place, check in self.numbered(stage)
        )
        cautions = precautions(stage, self.axis.when_unpowered.value)
        before = tuple(("", "first", caution, "", "") for caution in cautions)
        columns = ("no.", "check", "what to do", "healthy", "")
        return Table(title=stage.value, columns=columns, rows=(*before, *rows), right=("no.",))

    def numbered(self, stage: Stage) -> tuple[tuple[int, Check], ...]:
        """Checks of a stage with their numbers. [1]"""
        return tuple(
            (place, check) for place, check in enumerate(self.checks, start=1) if check.stage is stage
        )

    def as_json(self) -> Json:
        """Stages with cautions and checks; numbers in the unit beside them."""
        return {
            "axis": self.axis.name,
            "unit": self.axis.unit.name,
            "stages": [
                {
                    "stage": stage.value,
                    "cautions": list(precautions(stage, self.axis.when_unpowered.value)),
                    "checks": [_check_json(place, check, self.axis) for place, check in self.numbered(stage)],
                }
                for stage in self.stages
            ],
            "meter": METER,
            "html": str(self.html) if self.html else None,
            "csv": str(self.csv) if self.csv else None,
        }


def _check_json(place: int, check: Check, axis: Axis) -> Json:
    scale = scale_of(check, axis)
    values = {
        name: None if value is None else scale.shown(value)
        for name, value in (("expected", check.expected), ("low", check.low), ("high", check.high))
    }
    return {
        "no": place,
        "key": check.key,
        "do": check.do,
        "link": check.link,
        **values,
        "unit": scale.unit,
        "answers": list(check.words),
        "healthy": list(check.good),
        "signed": check.signed,
        "source": cite(check.source),
    }


def test_sheet(
    rig: Rig, axis: str | None, *, html: str | Path | None = None, csv: str | Path | None = None
) -> SheetResult:
    """The checks of an axis in the safe order, each with what a healthy axis shows.

    Parameters
    ----------
    rig : Rig
        The machine.
    axis : str or None
        Name of an axis; None for the only one.
    html : str or Path, optional
        File for a sheet to print.
    csv : str or Path, optional
        File for a sheet to fill in.

    Returns
    -------
    SheetResult
        Stages with their cautions and checks.

    Raises
    ------
    UsageError
        There is no such axis.
    DataError
        A file cannot be written, or there is one already that is no sheet.

    Examples
    --------
    With the connector off, the rover's shoulder must measure 10 kohm, give or take its tolerance:

    >>> from anglewright.jobs.opening import open_rig
    >>> sheet = test_sheet(open_rig("examples/rover/rig.toml"), "shoulder")
    >>> sheet.checks[0].key, round(sheet.checks[0].expected)
    ('resistance-ends', 10000)
    """
    chosen = the_axis(rig, axis)
    page = None if html is None else Path(html)
    filled = None if csv is None else Path(csv)
    result = SheetResult(rig=rig, tested=sheet_of(chosen), html=page, csv=filled)
    if page is not None:
        hold_foreign(page, SIGN)
    if filled is not None:
        write_whole(filled, _as_csv(result), fresh=True)
    if page is not None:
        write_whole(page, render_sheet_page(_page(result)))
    return result


def _as_csv(result: SheetResult) -> str:
    """The sheet to be filled in; notes begin with a hash."""
    out = io.StringIO()
    out.write(f"# {one_line(result.rig.name)}, {one_line(result.axis.name)}: {ORDER}\n")
    out.write(
        "# Fill in the column reading: a number in the unit beside it or with its own, open, wanders, or\n"
    )
    out.write("# one of the answers. Leave blank what was not done.\n")
    rows = csv.writer(out, lineterminator="\n")
    rows.writerow(COLUMNS)
    for place, check in enumerate(result.checks, start=1):
        rows.writerow(_csv_row(place, check, result.axis))
    return out.getvalue()


def _csv_row(place: int, check: Check, axis: Axis) -> tuple[str, ...]:
    do = one_line(check.do)
    if not check.is_number:
        return (
            f"{place}",
            check.key,
            do,
            " or ".join(check.good),
            "",
            "",
            " | ".join(check.words),
            "",
            "",
            "",
        )
    values = (written(check, axis, each) for each in (check.expected, check.low, check.high))
    return (f"{place}", check.key, do, *values, scale_of(check, axis).unit, "", "", "")


def _page(result: SheetResult) -> SheetPage:
    unpowered = result.axis.when_unpowered.value
    return SheetPage(
        rig_name=result.rig.name,
        axis_name=result.axis.name,
        simulated=result.rig.simulated,
        headline=f"Test sheet of {result.axis.name}",
        lead=f"{ORDER} {METER}",
        stages=tuple(
            PageStage(
                title=stage.value,
                cautions=precautions(stage, unpowered),
                checks=tuple(_page_checks(result, stage)),
            )
            for stage in result.stages
        ),
        source_file=Path(result.rig.source).name,
    )


def _page_checks(result: SheetResult, stage: Stage) -> Iterator[PageCheck]:
    for place, check in result.numbered(stage):
        yield PageCheck(
            number=f"{place}",
            key=check.key,
            do=check.do,
            expected=with_unit(check, result.axis, check.expected) if check.low is not None else "",
            limits=limits_text(check, result.axis),
            answers=" / ".join(check.words),
            signed=check.signed,
        )
