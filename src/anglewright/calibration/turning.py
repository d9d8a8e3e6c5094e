"""What comes round with the shaft, and what a wrap or a known scale gives away."""

import math
from collections.abc import Iterator

import numpy as np

from anglewright.calibration.layout import FALSE_ALARM, Array, Layout, scatter, threshold
from anglewright.calibration.models.bent import turn_columns
from anglewright.calibration.suspicion import Suspicion
from anglewright.findings import Severity

SEEN = 0.6  # of a turn that the points must span for its waves to be told from a line [1]
SURELY = 3.0  # standard uncertainties by which a wave must pass its limit (common practice, no source) [1]
OTHER_CLOCK = 0.1  # of the period, by which it may be another than was thought [1]
LEFT = 0.1  # of the squares that a gross step at the wrap may leave [1]


def waves(layout: Layout) -> Iterator[Suspicion]:
    r"""Errors once and twice per turn of the sensor, apart from noise.

    Parameters
    ----------
    layout : Layout
        The points of a sensor that wraps, in their turns.

    Yields
    ------
    Suspicion
        ``once-per-turn`` or ``twice-per-turn``, with its height; a caution beyond the data sheet's own. [rad
        or m]

    Notes
    -----
    :math:`e = a + b n + h s + A_1 \cos \theta + B_1 \sin \theta + A_2 \cos 2 \theta + B_2 \sin 2 \theta`.
    Each pair is held by the F test on two degrees of freedom against two chances in a thousand, and must be
    worth a quarter of the permissible error.

    References
    ----------
    practice
    """
    period = layout.given.period
    if period is None or np.ptp(layout.raw) < SEEN * period or len(layout.found) < 7:
        return
    columns = turn_columns(layout.raw, turn=period)
    base = _plain(layout)
    for order, key in ((1, "once-per-turn"), (2, "twice-per-turn")):
        pair, other = columns[2 * order - 2 : 2 * order], columns[4 - 2 * order : 6 - 2 * order]
        height, u, sure = _height(layout, np.column_stack([*base, *other]), np.column_stack(pair))
        if sure and height > layout.worth:
            beyond = height - SURELY * u > layout.given.waves
            severity = Severity.CAUTION if beyond else Severity.NOTE
            yield Suspicion(key=key, severity=severity, measured=height, limit=layout.given.waves)


def _plain(layout: Layout) -> list[Array]:
    """Columns of a line, and of play where both sides were taken."""
    sided = [layout.lag] if np.ptp(layout.side) else []
    middle = float(np.mean(layout.expected))
    return [np.ones_like(layout.expected), layout.expected - middle, *sided]


def _without_slope(layout: Layout) -> list[Array]:
    """Columns of an offset, of play, and of the waves of a sensor that came round."""
    sided = [layout.lag] if np.ptp(layout.side) else []
    period = layout.given.period
    turning: tuple[Array, ...] = ()
    if period is not None and np.ptp(layout.raw) > SEEN * period and len(layout.found) > 8:
        turning = turn_columns(layout.raw, turn=period)
    return [np.ones_like(layout.expected), *sided, *turning]


def _height(layout: Layout, base: Array, pair: Array) -> tuple[float, float, bool]:
    """Height of a wave beside a base, its uncertainty, whether it stands out of the scatter. [rad or m]"""
    whole = np.column_stack([base, pair])
    dof = len(layout.raw) - whole.shape[1]
    if dof < 1:
        return 0.0, 0.0, False
    with_it = np.linalg.lstsq(whole, layout.departure, rcond=None)[0]
    square, without = _left(layout, whole), _left(layout, base)
    sd, held = scatter(square, dof, planned=layout.planned_sd)
    height = math.hypot(*with_it[-2:].tolist())
    u = sd * math.sqrt(2.0 / len(layout.raw))
    return height, u, bool((without - square) / (2.0 * sd**2) > pair_limit(held))


def pair_limit(dof: float) -> float:
    r"""Value that the F ratio of two degrees of freedom passes twice in a thousand times.

    Parameters
    ----------
    dof : float
        Degrees of freedom of the variance below the line; may be infinite. [1]

    Returns
    -------
    float
        The limit of a sine and a cosine that are held together. [1]

    Notes
    -----
    With two degrees of freedom above the line the distribution has a closed form:
    :math:`P(F > f) = (1 + 2 f / \nu)^{-\nu / 2}`, which becomes :math:`e^{-f}` for many.

    References
    ----------
    practice

    Examples
    --------
    >>> round(pair_limit(20.0), 2), round(pair_limit(math.inf), 2)
    (8.62, 6.21)
    """
    if math.isinf(dof):
        return -math.log(FALSE_ALARM)
    return float(dof / 2.0 * (FALSE_ALARM ** (-2.0 / dof) - 1.0))


def gross_period(layout: Layout) -> Iterator[Suspicion]:
    """A wrong period that explains nine tenths of all departures and is beyond the permissible error.

    Parameters
    ----------
    layout : Layout
        The points of a sensor that wraps, in their turns.

    Yields
    ------
    Suspicion
        As from `wrong_period`.

    References
    ----------
    practice
    """
    for found in wrong_period(layout):
        turn = np.floor(layout.raw / (layout.given.period or 1.0))
        base = np.column_stack(_plain(layout))
        whole = np.column_stack([base, turn])
        left, before = (_left(layout, columns) for columns in (whole, base))
        if found.measured > layout.given.need and left < LEFT * before:
            yield found


def _left(layout: Layout, columns: Array) -> float:
    """Sum of the squares of the departures beside some columns. [rad² or m²]"""
    fitted = columns @ np.linalg.lstsq(columns, layout.departure, rcond=None)[0]
    return float(np.sum(np.square(layout.departure - fitted)))


def wrong_period(layout: Layout) -> Iterator[Suspicion]:
    r"""A step at each wrap: the reading comes round after another number than was thought.

    Parameters
    ----------
    layout : Layout
        The points of a sensor that wraps, in their turns.

    Yields
    ------
    Suspicion
        ``rounded-scale``, with the step at one wrap; the period found goes with it, as a share of the one
        that was thought. [rad or m]

    Notes
    -----
    With the turn :math:`k` of each reading, :math:`e = a + b n + h s - \delta k` and the waves of the
    sensor: the period is longer by :math:`\delta`. Where the scale is known by counts and teeth a wrong
    factor makes a saw of the errors, :math:`e = a + h s + \delta (n / N - k)`, which must leave less than a
    wrong slope does. Without a wrap among the points nothing can be told.

    References
    ----------
    practice
    """
    period = layout.given.period
    if period is None or len(layout.found) < 7:
        return
    turn = np.floor(layout.raw / period)
    if np.ptp(turn) == 0.0:
        return
    sign, whole = math.copysign(1.0, layout.given.size), period * abs(layout.given.size)
    base, column = np.column_stack(_without_slope(layout)), sign * (layout.raw / period - turn)
    sloped = np.column_stack([base, layout.expected - np.mean(layout.expected)])
    if not _known(layout) or _left(layout, np.column_stack([base, column])) > _left(layout, sloped):
        base, column = sloped, -sign * turn
    size, ratio, limit = _step(layout, base, column)
    if abs(ratio) > limit and abs(size) > layout.worth and abs(size) < OTHER_CLOCK * whole:
        yield Suspicion(
            key="rounded-scale",
            severity=Severity.STOP,
            measured=abs(size),
            limit=layout.worth,
            others=(1.0 + size / whole,),
        )


def _known(layout: Layout) -> bool:
    """Whether the scale is known to better than is worth a word at the ends of the motion."""
    exact, reach = layout.given.exact, (layout.given.high - layout.given.low) / 2.0
    return exact is not None and exact * reach <= layout.worth


def _step(layout: Layout, base: Array, column: Array) -> tuple[float, float, float]:
    """Size, Student's ratio and its limit of one column beside a base. [rad or m, 1, 1]"""
    q, _ = np.linalg.qr(base)
    rest = layout.departure - q @ (q.T @ layout.departure)
    beside = column - q @ (q.T @ column)
    length = float(beside @ beside)
    dof = len(rest) - base.shape[1] - 1
    if dof < 1 or length < 1e-6:
        return 0.0, 0.0, math.inf
    size = float(beside @ rest) / length
    left = max(float(rest @ rest) - size**2 * length, 0.0)
    sd, held = scatter(left, dof, planned=layout.planned_sd)
    return size, size * math.sqrt(length) / sd, threshold(held, trials=1)


def scale_off(layout: Layout) -> Iterator[Suspicion]:
    r"""A slope that is not that of the data sheet, by more than its parts and the points allow.

    Parameters
    ----------
    layout : Layout
        The points.

    Yields
    ------
    Suspicion
        ``scale``, with what it is worth at the ends; the slope's ratio and what is allowed go with it. [rad
        or m]

    Notes
    -----
    Only where the scale is known to better than a quarter of the permissible error at the ends of the motion,
    as of a sensor that counts behind gears. The points' slope less one must pass Student's factor for twice
    in a thousand times, the parts' own spread and the reference's scale added to it.

    References
    ----------
    practice
    """
    given, reach = layout.given, (layout.given.high - layout.given.low) / 2.0
    if len(layout.found) < 3 or not _known(layout):
        return
    base = np.column_stack(_without_slope(layout))
    x = (layout.expected - float(np.mean(layout.expected))) * given.size / reach
    size, ratio, limit = _step(layout, base, x)
    off = size / reach + layout.line[1] - 1.0 if layout.line[1] > 0.0 else 0.0
    own = abs(size / ratio) * limit if ratio else math.inf
    allowed = ((given.exact or 0.0) + 3.0 * given.reference.scale) * reach + own
    if abs(off) * reach > max(allowed, layout.worth):
        yield Suspicion(
            key="scale",
            severity=Severity.CAUTION,
            measured=abs(off) * reach,
            limit=allowed,
            others=(1.0 + off,),
        )
