"""The review of one axis: every theme asked, the worst findings first."""

from collections.abc import Mapping

from anglewright.findings import Finding, Severity
from anglewright.review import (
    control,
    counting,
    electrical,
    feed,
    filtering,
    levels,
    loading,
    mounting,
    planning,
    plausible,
    play,
    resolution,
    safety,
    sending,
    speed,
    strays,
    timing,
    travel,
    wear,
    wraps,
)
from anglewright.review.design import Analogue, Circuit, design_of
from anglewright.rig import Axis

KEYS: Mapping[str, str] = {
    **travel.KEYS,
    **feed.KEYS,
    **electrical.KEYS,
    **loading.KEYS,
    **strays.KEYS,
    **timing.KEYS,
    **filtering.KEYS,
    **levels.KEYS,
    **counting.KEYS,
    **sending.KEYS,
    **wraps.KEYS,
    **resolution.KEYS,
    **speed.KEYS,
    **control.KEYS,
    **plausible.KEYS,
    **wear.KEYS,
    **play.KEYS,
    **mounting.KEYS,
    **planning.KEYS,
    **safety.KEYS,
}
"""Every key that a finding of the review can have, with its meaning in one line."""

_CIRCUIT = (travel.findings, electrical.findings)
_ANALOGUE = (
    feed.findings,
    loading.findings,
    strays.findings,
    timing.findings,
    filtering.findings,
    levels.findings,
)
_ANY_AXIS = (
    counting.findings,
    sending.findings,
    wraps.findings,
    resolution.findings,
    speed.findings,
    control.findings,
    plausible.findings,
    wear.findings,
    play.findings,
    mounting.findings,
    planning.findings,
    safety.findings,
)


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
    Judged on nominal numbers unless the finding says which limit it takes. Travel, power and wiper are those
    of a resistive track; feed, loading, timing and levels those of any voltage behind analogue wiring.
    """
    design = design_of(axis)
    found = [each for theme in _CIRCUIT if isinstance(design, Circuit) for each in theme(design)]
    found += [each for theme in _ANALOGUE if isinstance(design, Analogue) for each in theme(design)]
    found += [each for theme in _ANY_AXIS for each in theme(design)]
    order = list(Severity)
    return tuple(sorted(found, key=lambda each: order.index(each.severity)))
