"""The review of one axis: every theme asked, the worst findings first."""

from collections.abc import Mapping

from anglewright.findings import Finding, Severity
from anglewright.review import electrical, levels, loading, mounting, play, safety, timing, travel
from anglewright.review.design import Circuit, design_of
from anglewright.rig import Axis

KEYS: Mapping[str, str] = {
    **travel.KEYS,
    **electrical.KEYS,
    **loading.KEYS,
    **timing.KEYS,
    **levels.KEYS,
    **play.KEYS,
    **mounting.KEYS,
    **safety.KEYS,
}
"""Every key that a finding of the review can have, with its meaning in one line."""

_ANY_AXIS = (play.findings, mounting.findings, safety.findings)
_CIRCUIT = (travel.findings, electrical.findings, loading.findings, timing.findings, levels.findings)


def review_axis(axis: Axis) -> tuple[Finding, ...]:
    """Everything the review has to say about one axis.

    Parameters
    ----------
    axis : Axis
        The axis with its parts, stops and needs.

    Returns
    -------
    tuple of Finding
        Stops first, then cautions, then notes; within each in the order of the themes. A note also says
        what is fine where a user would want to know it. Each has its arithmetic and its source.

    Notes
    -----
    Judged on nominal numbers unless the finding says which limit it takes. Travel, circuit, timing and
    levels are those of a resistive track behind analogue wiring; they are silent for any other sensor.
    """
    design = design_of(axis)
    found = [each for theme in _CIRCUIT if isinstance(design, Circuit) for each in theme(design)]
    found += [each for theme in _ANY_AXIS for each in theme(design)]
    order = list(Severity)
    return tuple(sorted(found, key=lambda each: order.index(each.severity)))
