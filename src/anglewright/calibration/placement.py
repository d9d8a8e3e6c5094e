"""Points that are not where the rig file puts them: reversed, across the wrap, too far, another zero."""

from collections.abc import Iterator

import numpy as np

from anglewright.calibration.layout import Layout
from anglewright.calibration.suspicion import Suspicion
from anglewright.findings import Severity

ONE_WAY = 0.9  # correlation of reading and expected reading, from which they go one way [1]
JUMP = 0.5  # of the whole swing of the readings, by which one step against their way is a wrap [1]
BEYOND = 0.05  # of the motion, by which points may lie beyond its ends (common practice, no source) [1]
TORN = 0.2  # of the whole swing, from which the readings of one point lie at both ends [1]
SAME_SLOPE = 0.05  # by which the slope may differ from the data sheet's for zeros to be compared [1]
FAR_BEYOND = 0.2  # of the motion, from which a calibration stops (common practice, no source) [1]


def backwards(layout: Layout) -> Iterator[Suspicion]:
    """Readings that fall where the rig file says that they rise, or the other way round.

    Parameters
    ----------
    layout : Layout
        The points.

    Yields
    ------
    Suspicion
        ``backwards``, with the correlation between reading and expected reading. [1]

    Notes
    -----
    A V of an unsigned reference and a fold have no correlation to speak of; noise of sound points never turns
    it round. A sensor that comes round is left alone: its readings were put beside what was expected.

    References
    ----------
    practice
    """
    if layout.given.period is not None or np.ptp(layout.raw) == 0.0 or np.ptp(layout.expected) == 0.0:
        return
    together = float(np.corrcoef(layout.raw, layout.expected)[0, 1])
    if together < -ONE_WAY:
        yield Suspicion(key="backwards", severity=Severity.STOP, measured=together, limit=-ONE_WAY)


def wrap_inside(layout: Layout) -> Iterator[Suspicion]:
    """A single step from one end of the readings to the other, between two neighbouring positions.

    Parameters
    ----------
    layout : Layout
        The points.

    Yields
    ------
    Suspicion
        ``wrap-inside``, with how much of the swing it steps, and the positions on both sides. [1, rad or m]

    Notes
    -----
    All other steps go one way. A fold goes back in several steps, a swapped row goes back and forth. Or the
    readings of one point lie a fifth of the swing apart in the root of their squares: at both ends.

    References
    ----------
    practice
    """
    if layout.given.period is not None:
        return
    position, raw = layout.means(layout.position), layout.means(layout.raw)
    swing = float(np.ptp(raw))
    steps = np.diff(raw)
    if len(steps) < 4 or swing == 0.0:
        return
    torn = [k for k, point in enumerate(layout.points) if (point.raw_sd or 0.0) > TORN * swing]
    if torn:
        at, level = float(layout.position[torn[0]]), float(layout.raw[torn[0]])
        share = float(layout.points[torn[0]].raw_sd or 0.0) / swing
        yield Suspicion(
            key="wrap-inside",
            severity=Severity.STOP,
            measured=share,
            limit=TORN,
            others=(at, at, level, level),
        )
        return
    against = steps * np.sign(np.median(steps)) < 0.0
    k = int(np.argmax(np.abs(steps)))
    if against[k] and np.sum(against) == 1 and abs(steps[k]) > JUMP * swing:
        sides = (float(position[k]), float(position[k + 1]), float(raw[k]), float(raw[k + 1]))
        yield Suspicion(
            key="wrap-inside",
            severity=Severity.STOP,
            measured=abs(float(steps[k])) / swing,
            limit=JUMP,
            others=sides,
        )


def beyond_motion(layout: Layout) -> Iterator[Suspicion]:
    """Points where the axis cannot stand by its rig file.

    Parameters
    ----------
    layout : Layout
        The points.

    Yields
    ------
    Suspicion
        ``beyond-motion``, with how far the farthest lies beyond, and the ends of the points. [rad or m]

    Notes
    -----
    A twentieth of the motion and three times the permissible error are let pass; from a fifth of the motion
    on a calibration stops.

    References
    ----------
    practice
    """
    given = layout.given
    if given.endless:
        return
    low, high = float(layout.position.min()), float(layout.position.max())
    beyond, span = max(given.low - low, high - given.high), given.high - given.low
    limit = max(BEYOND * span, 3.0 * given.need)
    if beyond > limit:
        severity = Severity.STOP if beyond > max(FAR_BEYOND * span, limit) else Severity.CAUTION
        yield Suspicion(
            key="beyond-motion", severity=severity, measured=beyond, limit=limit, others=(low, high)
        )


def zero_off(layout: Layout) -> Iterator[Suspicion]:
    """A zero that lies farther from where the mount puts it than the parts explain.

    Parameters
    ----------
    layout : Layout
        The points.

    Yields
    ------
    Suspicion
        ``zero-off``, with how far. [rad or m]

    Notes
    -----
    The median over the points of what each shows more than the data sheet's chain, held against what the data
    sheet alone is good to, clamping included. A slope that is not that of the data sheet says so itself.
    Where points lie beyond the motion as well a calibration stops: with a true zero the axis could not stand
    there.

    References
    ----------
    practice
    """
    given = layout.given
    if not np.isfinite(given.zero) or given.endless or abs(layout.line[1] - 1.0) > SAME_SLOPE:
        return
    off = float(np.median(layout.raw - layout.expected)) * given.size
    limit = given.zero + given.need
    if abs(off) > limit:
        severity = Severity.STOP if any(beyond_motion(layout)) else Severity.CAUTION
        yield Suspicion(key="zero-off", severity=severity, measured=off, limit=limit)
