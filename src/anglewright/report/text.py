"""The report in ten lines of plain text, for a terminal or a message."""

from collections.abc import Iterator

from anglewright.findings import Severity
from anglewright.report.document import AxisSheet, ReportDocument

MOST_LINES = 10  # of the summary [1]
MOST_AXES = 6  # that get a line of their own where there are several [1]
_BIG_SHARE = 0.1  # a contribution worth a word [1]


def render_summary(document: ReportDocument) -> str:
    """A report as at most ten lines of text.

    Parameters
    ----------
    document : ReportDocument
        What to sum up.

    Returns
    -------
    str
        The answer first; one axis at length, or several at a line each. Lines end with a line feed, signs
        that could move a terminal's cursor are left out.
    """
    body = _alone(document.axes[0]) if len(document.axes) == 1 else _several(document)
    lines = [f"{document.rig_name}: {document.headline}", *body, _origin(document)]
    return "".join(f"{_plain(line)}\n" for line in lines)


def _plain(line: str) -> str:
    return "".join(sign for sign in line if sign.isprintable() or sign in "\u00a0\u2009")


def _alone(sheet: AxisSheet) -> Iterator[str]:
    """What is worth a line about one axis; at most eight."""
    if sheet.lead:
        yield sheet.lead
    bars = [
        f"{bar.name.lower()} ±{bar.half_width_text.lstrip('±')}"
        for bar in sheet.budget.bars
        if not bar.what_if
    ]
    if bars:
        yield f"Half-widths: {', '.join(bars)}; needed {sheet.permissible_text}."
    rows = [row for row in sheet.budget.rows if row.share >= _BIG_SHARE][:3]
    if rows:
        yield f"Made of: {', '.join(f'{row.contribution} {100 * row.share:.0f} %' for row in rows)}."
    yield _findings(sheet)
    yield from _calibration(sheet)
    if sheet.actions:
        yield f"Do now: {sheet.actions[0]}"
    if sheet.card:
        readings = ", ".join(f"{row.code} at {row.position}" for row in (sheet.card[0], sheet.card[-1]))
        yield f"Codes to expect: {readings}."
    if sheet.cautions:
        yield f"Caution: {sheet.cautions[0]}"


def _findings(sheet: AxisSheet) -> str:
    counts = {severity: sum(f.severity is severity for f in sheet.findings) for severity in Severity}
    told = [
        f"{count} {severity.value}{'s' if count > 1 else ''}" for severity, count in counts.items() if count
    ]
    if not told:
        return "Findings: none."
    worst = min(sheet.findings, key=lambda finding: list(Severity).index(finding.severity))
    return f"Findings: {', '.join(told)}. First: {worst.text}"


def _calibration(sheet: AxisSheet) -> Iterator[str]:
    if sheet.calibration:
        yield f"Calibration {sheet.calibration.record}: {sheet.calibration.headline}."
    else:
        yield sheet.without_calibration or "Not calibrated yet."


def _several(document: ReportDocument) -> Iterator[str]:
    """One line an axis and, where there are many, one for the rest."""
    for sheet in document.axes[:MOST_AXES]:
        yield f"{sheet.name} ({sheet.verdict}): {sheet.headline}"
    if len(document.axes) > MOST_AXES:
        names = [sheet.name for sheet in document.axes[MOST_AXES:]]
        yield f"And {len(names)} more: {', '.join(names)}."


def _origin(document: ReportDocument) -> str:
    kind = "simulated data" if document.simulated else "measured data"
    return f"From {document.source_file}, {document.date_text}, {kind}, Anglewright {document.version}."
