"""Job: one self-contained report of a machine, before or after its calibration."""

from dataclasses import dataclass
from pathlib import Path

from anglewright.errors import DataError, Problem
from anglewright.jobs.opening import chosen_axes
from anglewright.jobs.sheet import axis_sheet
from anglewright.jobs.shown import Json, Shown
from anglewright.report.document import Fact, ReportDocument
from anglewright.report.html import render_html
from anglewright.report.text import render_summary
from anglewright.rig import Rig, fingerprint
from anglewright.rigfile.storing import hold_foreign, write_whole
from anglewright.version import VERSION

_CHAIN = "fingerprint of its parts"

SIGN = "<!doctype html>"
"""Begins every report: a file that begins otherwise is not written over."""


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class ReportResult(Shown):
    """A report and the file it was written to."""

    document: ReportDocument
    file: Path

    @property
    def headline(self) -> str:
        """The report's own headline."""
        return self.document.headline

    @property
    def summary(self) -> str:
        """The report in ten lines of text."""
        return render_summary(self.document)

    def as_json(self) -> Json:
        """File, headline, and the verdict of each axis."""
        return {
            "file": str(self.file),
            "headline": self.document.headline,
            "simulated": self.document.simulated,
            "axes": [
                {"axis": sheet.name, "headline": sheet.headline, "verdict": sheet.verdict}
                for sheet in self.document.axes
            ],
        }

    def _repr_html_(self) -> str:
        """The report in a notebook."""
        return render_html(self.document)


def write_report(rig: Rig, *, axis: str | None = None, out: str | Path, date: str) -> ReportResult:
    """Write the report of an axis, or of all, as one HTML file.

    Parameters
    ----------
    rig : Rig
        The machine.
    axis : str, optional
        Name of an axis; all of them where none is named.
    out : str or Path
        The file to write.
    date : str
        Day that stands on the report.

    Returns
    -------
    ReportResult
        The report and its file.

    Raises
    ------
    UsageError
        There is no axis of that name.
    DataError
        The file cannot be written, or there is one that is no report.
    """
    file = Path(out)
    if file.is_dir():
        raise DataError(
            Problem(str(file), "it is a folder", "a file belongs here", "Name a file, report.html.")
        )
    hold_foreign(file, SIGN)
    document = report_document(rig, axis=axis, date=date)
    write_whole(file, render_html(document))
    return ReportResult(document=document, file=file)


def report_document(rig: Rig, *, axis: str | None = None, date: str) -> ReportDocument:
    """What the report shows, before it is drawn."""
    axes = chosen_axes(rig, axis)
    sheets = tuple(axis_sheet(rig, each) for each in axes)
    bad = [sheet for sheet in sheets if sheet.verdict != "meets"]
    first = (bad or list(sheets))[0]
    rest = (
        f"{len(sheets) - len(bad)} of {len(sheets)} axes meet their need." if len(sheets) > 1 else first.lead
    )
    return ReportDocument(
        rig_name=rig.name,
        source_file=Path(rig.source).name,
        date_text=date,
        version=VERSION,
        simulated=rig.simulated,
        headline=first.headline,
        lead=rest,
        axes=sheets,
        provenance=(
            *(Fact(name=f"chain of {each.name}", value=fingerprint(each), note=_CHAIN) for each in axes),
            *(Fact(name="note", value=note) for note in rig.notes),
        ),
    )
