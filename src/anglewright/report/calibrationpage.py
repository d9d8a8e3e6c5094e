"""A calibration as one HTML page: the answer first, then what to do now, then its pictures."""

from dataclasses import dataclass

from anglewright.errors import DataError, Problem
from anglewright.findings import Finding, Severity
from anglewright.report.document import Calibration, Extent, Fact, Verdict, faults_of
from anglewright.report.html import rendered, round_above
from anglewright.report.pictures import pictures_of
from anglewright.version import VERSION


@dataclass(frozen=True, slots=True, kw_only=True)
class PointRow:
    """One point of the table, all in words; `said` is empty but for a point that was left out."""

    number: str
    reference: str
    came: str
    code: str
    readings: str
    residual: str
    said: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class CalibrationPage:
    """A calibration in words and numbers to draw; `cautions` are said before anybody moves the machine."""

    rig_name: str
    machine: str
    source_file: str
    extent: Extent
    verdict: Verdict
    headline: str
    lead: str
    permissible_text: str
    calibration: Calibration
    actions: tuple[str, ...] = ()
    findings: tuple[Finding, ...] = ()
    rows: tuple[PointRow, ...] = ()
    cautions: tuple[str, ...] = ()
    origin: tuple[Fact, ...] = ()
    simulated: bool = False
    version: str = VERSION

    def __post_init__(self) -> None:
        """Refuse a page that cannot be drawn."""
        numbers = (("permissible error", self.extent.permissible), *self.calibration.numbers)
        faults = list(faults_of(numbers, permissible=self.extent.permissible, unit=self.extent.unit))
        if faults:
            where = f"page of a calibration, axis '{self.extent.name}'"
            raise DataError(Problem(where, fault, "", "Correct what fills the page.") for fault in faults)

    @property
    def worst_first(self) -> tuple[Finding, ...]:
        """The findings, the worst first."""
        return tuple(sorted(self.findings, key=lambda finding: list(Severity).index(finding.severity)))

    @property
    def scale(self) -> float:
        """End of the scale of the models' misses. [unit of the axis]"""
        missed = [each.missed for each in self.calibration.on_trial if each.missed]
        return round_above(max(missed, default=self.extent.permissible))


def render_calibration_page(page: CalibrationPage) -> str:
    """A calibration as the text of one HTML file.

    Parameters
    ----------
    page : CalibrationPage
        What to show.

    Returns
    -------
    str
        The file, to be written in UTF-8. It holds its styles and fonts and forbids the browser to load
        anything else; there is no script in it.

    Notes
    -----
    Whatever a rig or a log brings is escaped: a name is shown, never run.
    """
    pictures = pictures_of(page.extent, page.calibration)
    return rendered("calibrationpage", {"page": page, "pictures": pictures, "simulated": page.simulated})
