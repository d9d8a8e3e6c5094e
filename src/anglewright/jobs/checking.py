"""Job: what is wrong with the design, before anything is built or switched on."""

from dataclasses import dataclass

from anglewright.findings import Finding, Severity
from anglewright.jobs.findingtable import finding_json, findings_table
from anglewright.jobs.opening import chosen_axes
from anglewright.jobs.shown import Json, Shown, Table, counted
from anglewright.review.axis import review_axis
from anglewright.rig import Assumption, Rig


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class CheckResult(Shown):
    """Findings of one or several axes, and what was assumed for want of a word in the file."""

    findings: tuple[Finding, ...]
    assumptions: tuple[tuple[str, Assumption], ...]

    @property
    def headline(self) -> str:
        """How many of each severity."""
        counts = {each: sum(f.severity is each for f in self.findings) for each in Severity}
        stops, cautions, notes = (counts[each] for each in (Severity.STOP, Severity.CAUTION, Severity.NOTE))
        verb = "Stop and mend first" if stops else "Nothing stops the work"
        return f"{verb}: {counted(stops, 'stop')}, {counted(cautions, 'caution')}, {counted(notes, 'note')}."

    @property
    def exit_code(self) -> int:
        """1 where a finding of severity stop stands. [1]"""
        return int(any(finding.severity is Severity.STOP for finding in self.findings))

    def tables(self) -> tuple[Table, ...]:
        """Findings, then assumptions."""
        rows = tuple((axis, each.key, each.value, each.meaning) for axis, each in self.assumptions)
        assumed = Table(
            title="Assumed, because the file is silent",
            columns=("axis", "key", "value", "meaning"),
            rows=rows,
        )
        return (findings_table(self.findings, title=self.headline), *((assumed,) if rows else ()))

    def as_json(self) -> Json:
        """As DEFINITIONS section 12 has it."""
        return {
            "findings": [finding_json(finding) for finding in self.findings],
            "assumptions": [
                {"axis": axis, "key": each.key, "value": each.value, "meaning": each.meaning}
                for axis, each in self.assumptions
            ],
        }


def check(rig: Rig, *, axis: str | None = None) -> CheckResult:
    """Review the design of an axis, or of all.

    Parameters
    ----------
    rig : Rig
        The machine.
    axis : str, optional
        Name of an axis; all of them where none is named.

    Returns
    -------
    CheckResult
        Findings, the worst first, each with its arithmetic and source.

    Raises
    ------
    UsageError
        There is no axis of that name.

    Examples
    --------
    >>> from anglewright.jobs.opening import open_rig
    >>> rig = open_rig("examples/rover/rig.toml")
    >>> any(finding.key == "play" for finding in check(rig).findings)
    True
    """
    axes = chosen_axes(rig, axis)
    order = list(Severity)
    findings = [finding for each in axes for finding in review_axis(each)]
    return CheckResult(
        findings=tuple(sorted(findings, key=lambda finding: order.index(finding.severity))),
        assumptions=tuple((each.name, assumption) for each in axes for assumption in each.assumptions),
    )
