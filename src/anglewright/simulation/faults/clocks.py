"""Faults of clocks: stamps that jitter, are coarse, come in bursts, leap, start anew or roll over."""

import numpy as np

from anglewright.links.protocol import Array
from anglewright.quantities.units import Kind
from anglewright.simulation.faults.protocol import Fault, Scene, Site, Size

ROLL_OVER_S = 2.0**32 * 1e-6  # a 32-bit counter of microseconds [s]
_TIME = (Kind.TIME,)


def _jittered(time: Array, scene: Scene) -> Array:
    """Late by chance, never earlier than the row before."""
    late = np.abs(scene.size * scene.chance.standard_normal(len(time)))
    return np.asarray(np.maximum.accumulate(time + np.where(scene.on, late, 0.0)))


def _coarse(time: Array, scene: Scene) -> Array:
    """Whole steps of the clock; a hair is added so that a stamp that is a whole step stays one."""
    return np.where(scene.on, np.floor(time / scene.size + 1e-9) * scene.size, time)


def _in_a_burst(time: Array, scene: Scene) -> Array:
    """Rows that waited in a buffer all carry the time at which it was emptied."""
    end = scene.since_s + scene.size
    return np.where(scene.on & (time < end), end, time)


def _leapt(time: Array, scene: Scene) -> Array:
    return np.where(scene.on, time + scene.size, time)


def _anew(time: Array, scene: Scene) -> Array:
    return np.where(scene.on, time - scene.since_s, time)


def rolled_over(time: Array, *, at_s: float) -> Array:
    """Times by a 32-bit counter of microseconds that comes to its end at a time of the run.

    Parameters
    ----------
    time : array
        Times of the run. [s]
    at_s : float
        When the counter comes to its end. [s]

    Returns
    -------
    array
        Times by the counter. [s]

    References
    ----------
    derived

    Examples
    --------
    The counter lasts for 71.6 minutes:

    >>> [round(float(each) / 60.0, 2) for each in rolled_over(np.array([9.999999, 10.0]), at_s=10.0)]
    [71.58, 0.0]
    """
    return np.asarray(np.mod(time - at_s, ROLL_OVER_S))


def _rolled_over(time: Array, scene: Scene) -> Array:
    return rolled_over(time, at_s=scene.since_s)


def _otherwise_fast(time: Array, scene: Scene) -> Array:
    fast = scene.since_s + (time - scene.since_s) * (1.0 + scene.size)
    return np.where(scene.on, fast, time)


FAULTS = (
    Fault(
        name="jitter",
        meaning="the stamps are late by chance, by so much rms",
        notes="list 23",
        size=Size(kinds=_TIME, usual="2 ms", least=0.0),
        acts={Site.TIME: _jittered},
    ),
    Fault(
        name="resolution",
        meaning="the clock goes in whole steps",
        notes="list 23",
        size=Size(kinds=_TIME, usual="10 ms", least=1e-6),
        acts={Site.TIME: _coarse},
    ),
    Fault(
        name="burst",
        meaning="rows wait in a buffer for so long and all arrive at once, with one stamp",
        notes="list 23",
        size=Size(kinds=_TIME, usual="0.26 s", least=0.0),
        event=True,
        acts={Site.TIME: _in_a_burst},
    ),
    Fault(
        name="gap",
        meaning="nothing is logged for so long, in which nothing moves",
        notes="list 23",
        size=Size(kinds=_TIME, usual="38 s", least=0.0),
        event=True,
        acts={Site.TIME: _leapt},
    ),
    Fault(
        name="restart",
        meaning="the clock starts again at zero",
        notes="list 23",
        event=True,
        acts={Site.TIME: _anew},
    ),
    Fault(
        name="roll-over",
        meaning="the clock is a 32-bit counter of microseconds that rolls over",
        notes="list 23",
        event=True,
        acts={Site.TIME: _rolled_over},
    ),
    Fault(
        name="clock-rate",
        meaning="the clock runs fast by such a share",
        notes="list 23",
        size=Size(kinds=(Kind.FRACTION,), usual="5 %", least=-0.9),
        acts={Site.TIME: _otherwise_fast},
    ),
)
