"""Theme: whether the planned model of the calibration can be true of the axis, and whether the points do."""

from collections.abc import Mapping

from anglewright.budget.planned import plan_problem
from anglewright.findings import Finding, Severity
from anglewright.review.design import Design

KEYS: Mapping[str, str] = {
    "planned-model": "a model of the calibration that this axis or its planned points cannot carry",
}


def findings(design: Design) -> tuple[Finding, ...]:
    """The planned model where it cannot be; nothing where it can."""
    problem = plan_problem(design.axis)
    if problem is None:
        return ()
    start = f"{problem.found[:1].upper()}{problem.found[1:]}"
    return (
        Finding(
            key="planned-model",
            severity=Severity.STOP,
            axis=design.axis.name,
            link="sensor",
            text=f"{start}, {problem.limit}." if problem.limit else f"{start}.",
            remedy=problem.remedy,
            source="practice",
        ),
    )
