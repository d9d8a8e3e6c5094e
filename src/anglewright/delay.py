"""A delay: what a sensor or a wire says now, it has seen some time ago."""

import numpy as np
from numpy.typing import NDArray

from anglewright.circuits import Numeric


def follow_delay(
    u: NDArray[np.float64],
    t: NDArray[np.float64],
    state: NDArray[np.float64] | None,
    *,
    delay_s: Numeric,
    held: bool = False,
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Path as it was some time before.

    Parameters
    ----------
    u : array, (..., P)
        Path; the last axis is time. [any unit]
    t : array, (P,)
        Times, rising. [s]
    state : array or None, (..., N, 2)
        What was seen before and is still to come out: times, then values, on the last axis; None starts
        after a long rest at the first value. [s, unit of u]
    delay_s : float or array, (B, 1)
        The delay; an array over virtual builds. [s]
    held : bool
        Give the last value that had arrived, never one between two: for readings that wrap.

    Returns
    -------
    array, array
        The delayed path and what is still to come out. [unit of u]

    References
    ----------
    derived

    Examples
    --------
    A shaft at 10 rad/s, seen 5 ms late, lags by 0.05 rad:

    >>> t = np.arange(0.0, 0.05, 0.01)
    >>> path, _ = follow_delay(10.0 * t, t, None, delay_s=0.005)
    >>> path
    array([0.  , 0.05, 0.15, 0.25, 0.35])
    """
    lead = np.broadcast_shapes(u.shape[:-1], np.shape(delay_s)[:-1])
    seen, values = np.asarray(t), np.broadcast_to(u, (*lead, u.shape[-1]))
    if state is not None:
        past = np.broadcast_to(state, (*lead, *state.shape[-2:]))
        seen = np.concatenate([past[..., 0].reshape(-1, past.shape[-2])[0], seen])
        values = np.concatenate([past[..., 1], values], axis=-1)
    due = t - np.broadcast_to(np.asarray(delay_s), (*lead, 1))
    out = np.array(
        [_at(when, seen, path, held=held) for when, path in zip(_rows(due), _rows(values), strict=True)]
    )
    kept = max(0, int(np.searchsorted(seen, np.min(due[..., -1]), side="right")) - 1)
    left = np.stack(np.broadcast_arrays(seen[kept:], values[..., kept:]), axis=-1)
    return out.reshape(*lead, len(t)), left


def _rows(values: NDArray[np.float64]) -> NDArray[np.float64]:
    return values.reshape(-1, values.shape[-1])


def _at(
    when: NDArray[np.float64], seen: NDArray[np.float64], path: NDArray[np.float64], *, held: bool
) -> NDArray[np.float64]:
    """One path at some times; before the first of its times, its first value."""
    if not held:
        return np.interp(when, seen, path)
    return path[np.maximum(np.searchsorted(seen, when, side="right") - 1, 0)]
