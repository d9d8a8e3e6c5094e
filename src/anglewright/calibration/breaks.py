"""One odd step: a shaft that slipped while points were taken, one odd point, two slopes in one file."""

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

import numpy as np

from anglewright.angles import TURN
from anglewright.calibration.layout import Array, Layout, scatter, threshold
from anglewright.calibration.play import BOWS
from anglewright.calibration.suspicion import Suspicion
from anglewright.calibration.uncertainty import ROUNDING
from anglewright.findings import Severity
from anglewright.harmonics import MOST_WAVES

LEAST_LEFT = 0.4  # squared length that must be left of a step beside the rest, to be seen at all [1]
OF_PLAY = 0.2  # of the play, to which its share in a reading is known from place to place [1]
MOST_CUTS = 24  # places at which a change of slope is looked for [1]
RARER = 6.0  # of Schwarz's criterion, by which two boards must beat a slip: slips are common [1]
DENSE = 20  # positions that such a curve takes [1]
CLUSTER_CODES = 4.0  # codes between two heaps of readings [count]
CLUSTER_APART = 4.0  # times the scatter within the heaps, that lies between them [1]
CLUSTER_FREEDOM = 8.0  # degrees of freedom of that scatter [1]
CLUSTER_ALIKE = 0.25  # relative scatter of the gaps [1]
PAIRED = 3  # positions reached from both sides, from which they are compared one by one [1]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Fit:
    """Best member of a family of faults beside a base: its number, size, Student's ratio, what is left."""

    best: int
    size: float
    ratio: float
    limit: float
    dof: float
    square: float
    parameters: int


def breaks(layout: Layout) -> Iterator[Suspicion]:
    r"""A step, or one odd point, whichever explains more.

    Parameters
    ----------
    layout : Layout
        The points, in the order in which they were taken.

    Returns
    -------
    iterator of Suspicion
        ``step`` from its first point on, or ``odd-point``.

    Notes
    -----
    A slip adds a constant :math:`\delta` to every departure from one point on. Where three positions or more
    were reached from both sides each position has a level of its own, so that no bend of the track can be
    taken for a step: :math:`e_j = \mu_{p(j)} + h s_j + \delta [j \ge k] + \epsilon_j`, `s` the side. Points
    from one side alone have a polynomial of the seventh power instead, or four waves a turn where the sensor
    wraps, and must be at 20 positions: with fewer a bend of the track and a step are one and the same. The
    largest Student's ratio over all `k` must pass the factor that sound points pass twice in a thousand
    times, and the step must be worth a quarter of the permissible error. Of step and odd point the better by
    Schwarz's criterion is told.

    A slip just at the turning point is play to all that can be seen, and one next to either end of the
    sweep shows only in half of its points. From one side alone half the permissible error is found with
    40 points or more, and a track that bends by less than a third of that.

    References
    ----------
    practice, schwarz
    """
    count, base = len(layout.raw), _base(layout)
    if base is None or len(layout.found) < 4:
        return
    steps = (np.arange(count)[:, None] >= np.arange(1, count)[None, :]).astype(float)
    step, odd = _beside(layout, base, steps), _beside(layout, base, np.eye(count))
    if odd is not None and (step is None or _schwarz(odd, layout) < _schwarz(step, layout)):
        if _tells(odd, layout):
            yield _said("odd-point", layout, odd, Severity.CAUTION, (odd.best,))
    elif step is not None and _tells(step, layout):
        stop = abs(step.size) > layout.given.need
        severity = Severity.STOP if stop else Severity.CAUTION
        yield _said("step", layout, step, severity, (step.best + 1,))


def _tells(found: _Fit, layout: Layout) -> bool:
    least = max(layout.worth, OF_PLAY * layout.play)
    return abs(found.ratio) > found.limit and abs(found.size) > least


def _said(key: str, layout: Layout, found: _Fit, severity: Severity, points: tuple[int, ...]) -> Suspicion:
    return Suspicion(
        key=key,
        severity=severity,
        measured=found.size,
        limit=max(layout.worth, abs(found.size / found.ratio) * found.limit),
        points=layout.numbered(points),
        surely=-_schwarz(found, layout),
    )


def _schwarz(fit: _Fit, layout: Layout) -> float:
    """Schwarz's criterion, the scatter kept from falling far below what was planned. [1]"""
    count = len(layout.raw)
    variance = max(fit.square / count, 0.01 * layout.planned_sd**2, 1e-300)
    return count * math.log(variance) + fit.parameters * math.log(count)


def _base(layout: Layout) -> Array | None:
    """What sound points can look like: a level for each position, or a smooth curve; and play."""
    sided = [layout.lag[:, None]] if np.ptp(layout.side) else []
    if layout.paired >= PAIRED:
        levels = np.zeros((len(layout.raw), len(layout.found)))
        for column, place in enumerate(layout.found):
            levels[list(place.members), column] = 1.0
        return np.column_stack([levels, *sided])
    if len(layout.found) < DENSE:
        return None
    middle, half = np.mean(layout.expected), np.ptp(layout.expected) / 2.0
    x, period = (layout.expected - middle) / half, layout.given.period
    if period is None:
        return np.column_stack([np.polynomial.chebyshev.chebvander(x, BOWS), *sided])
    theta = TURN / period * layout.raw
    turning = [f(k * theta) for k in range(1, MOST_WAVES + 1) for f in (np.cos, np.sin)]
    return np.column_stack([np.ones_like(x), x, *turning, *sided])


def _beside(layout: Layout, base: Array, family: Array) -> _Fit | None:
    """The member of a family with the largest Student's ratio beside a base."""
    q, triangle = np.linalg.qr(base)
    q = q[:, np.abs(np.diag(triangle)) > 1e-9]
    rest = layout.departure - q @ (q.T @ layout.departure)
    beside = family - q @ (q.T @ family)
    length = np.sum(beside * beside, axis=0)
    parameters = q.shape[1] + 1
    dof = len(rest) - parameters
    seen = length > LEAST_LEFT
    if dof < 2 or not seen.any():
        return None
    gain = np.where(seen, np.square(beside.T @ rest) / np.where(seen, length, 1.0), 0.0)
    best = int(np.argmax(gain))
    square = max(float(rest @ rest - gain[best]), 0.0)
    sd, held = scatter(square, dof, planned=layout.planned_sd)
    size = float(beside[:, best] @ rest / length[best])
    return _Fit(
        best=best,
        size=size,
        ratio=size * math.sqrt(length[best]) / sd,
        limit=threshold(held, trials=int(np.count_nonzero(seen))),
        dof=held,
        square=square,
        parameters=parameters,
    )


def two_slopes(layout: Layout) -> Iterator[Suspicion]:
    r"""A slope that is another from one point on: two sensors or boards in one file.

    Parameters
    ----------
    layout : Layout
        The points, in the order in which they were taken.

    Returns
    -------
    iterator of Suspicion
        ``two-boards``, with the change at the ends of the motion. [rad or m]

    Notes
    -----
    As in `breaks`, with :math:`\delta_1 x_j [j \ge k]` beside the step, at every `k` that leaves both parts
    half of the span. A slip leaves the slope alone; another sensor, another board or supply does not.

    References
    ----------
    practice
    """
    count, base = len(layout.raw), _base(layout)
    if base is None or layout.paired < PAIRED:
        return
    x = layout.expected - float(np.mean(layout.expected))
    reach = np.ptp(layout.expected) / 2.0
    cuts = [k for k in range(3, count - 2) if min(np.ptp(x[:k]), np.ptp(x[k:])) > reach]
    cuts = cuts[:: -(-len(cuts) // MOST_CUTS)] if cuts else []
    found = [
        (k, fit)
        for k in cuts
        if (fit := _beside(layout, np.column_stack([base, np.arange(count) >= k]), _ramp(x / reach, k)))
    ]
    if not found:
        return
    k, best = min(found, key=lambda each: each[1].square)
    best = replace(best, limit=threshold(best.dof, trials=len(cuts)))
    if _tells(best, layout):
        found_out = _said("two-boards", layout, best, Severity.STOP, (k,))
        yield replace(found_out, surely=found_out.surely - RARER)


def _ramp(x: Array, k: int) -> Array:
    return np.where(np.arange(len(x)) >= k, x, 0.0)[:, None]


def two_clusters(readings: Sequence[Array], layout: Layout) -> Iterator[Suspicion]:
    """Readings of one position that fall into two heaps, always as far apart: rows of two boards by turns.

    Parameters
    ----------
    readings : sequence of array
        All readings of each point. [count]
    layout : Layout
        The points.

    Returns
    -------
    iterator of Suspicion
        ``two-boards``, with how far the heaps are apart. [rad or m]

    Notes
    -----
    Each point is cut at the widest gap between neighbouring readings. Counted are points where that is worth
    4 codes and a quarter of the permissible error; five of them and a third of all are needed. Their gaps
    differ by a quarter at most and are four times the pooled scatter within the heaps; of sound readings they
    are about twice.

    References
    ----------
    practice
    """
    gaps, within, freedom = _heaps(readings)
    wide = (gaps >= CLUSTER_CODES) & (gaps * layout.count_size > layout.worth)
    if np.count_nonzero(wide) < max(5, len(gaps) / 3.0) or freedom[wide].sum() < CLUSTER_FREEDOM:
        return
    gap = float(np.mean(gaps[wide]))
    scattered = max(math.sqrt(within[wide].sum() / freedom[wide].sum()), ROUNDING)
    if float(np.std(gaps[wide])) < CLUSTER_ALIKE * gap and gap > CLUSTER_APART * scattered:
        yield Suspicion(
            key="two-boards",
            severity=Severity.STOP,
            measured=gap * layout.count_size,
            limit=layout.worth,
            others=(0.0,),
        )


def _heaps(readings: Sequence[Array]) -> tuple[Array, Array, Array]:
    """Widest gap of each point; squares within the heaps on both sides, with their freedom. [count, 1]"""
    found = []
    for rows in readings:
        if len(rows) > 1:
            ordered = np.sort(rows)
            cut = int(np.argmax(np.diff(ordered))) + 1
            square = sum(float(np.var(heap)) * len(heap) for heap in (ordered[:cut], ordered[cut:]))
            found.append((float(ordered[cut] - ordered[cut - 1]), square, len(rows) - 2.0))
    table = np.array(found).reshape(-1, 3)
    return table[:, 0], table[:, 1], table[:, 2]
