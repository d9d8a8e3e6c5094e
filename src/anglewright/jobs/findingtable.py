"""Findings as a table of text and as JSON, the same wherever findings are shown."""

from collections.abc import Iterable

from anglewright.findings import Finding, Severity
from anglewright.jobs.shown import Json, Table
from anglewright.sources import cite
from anglewright.steps import Step

SIGNS = {Severity.STOP: "STOP", Severity.CAUTION: "caution", Severity.NOTE: "note"}


def findings_table(findings: Iterable[Finding], *, title: str) -> Table:
    """Severity, place, text with remedy, worst first."""
    rows = tuple(
        (
            SIGNS[finding.severity],
            f"{finding.axis} {finding.link}".strip(),
            f"{finding.text} {finding.remedy}".strip(),
        )
        for finding in findings
    )
    return Table(title=title, columns=("", "where", "finding and remedy"), rows=rows)


def finding_json(finding: Finding) -> Json:
    """As DEFINITIONS section 12 has it."""
    return {
        "key": finding.key,
        "severity": finding.severity.value,
        "axis": finding.axis,
        "link": finding.link,
        "text": finding.text,
        "measured": finding.measured,
        "limit": finding.limit,
        "unit": finding.unit,
        "remedy": finding.remedy,
        "source": cite(finding.source),
        "steps": [step_json(step) for step in finding.steps],
    }


def step_json(step: Step) -> Json:
    """One line of arithmetic."""
    return {
        "link": step.link,
        "symbol": step.symbol,
        "meaning": step.meaning,
        "formula": step.formula,
        "numbers": dict(step.numbers),
        "put_in": step.put_in,
        "result": step.result,
        "unit": step.unit,
        "source": cite(step.source),
    }
