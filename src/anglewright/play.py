"""The play operator: what free motion does to a shaft that turns back."""

import numpy as np
from numpy.typing import NDArray

from anglewright.circuits import Numeric, nonzero


def lagged(u: Numeric, *, half: Numeric, side: Numeric) -> Numeric:
    """Output of free motion ``2 half`` after an approach from `side`: it lags by the whole half. [unit of u]

    Examples
    --------
    A coupling with 3 deg of play, turned up to 50 deg, leaves its far side at 48.5:

    >>> lagged(50.0, half=1.5, side=1)
    48.5
    """
    return u - half * side if nonzero(half) else u


def follow_play(
    u: NDArray[np.float64], state: NDArray[np.float64] | None, *, half: Numeric
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    r"""Path of the far side of a joint with free motion.

    Parameters
    ----------
    u : array, (..., P)
        Path of the near side; the last axis is time. [rad or m]
    state : array or None
        Where the far side stood before; None starts in the middle of the free motion. [rad or m]
    half : float or array, (B, 1)
        Half the free motion; an array over virtual builds. [rad or m]

    Returns
    -------
    array, array
        The path of the far side and where it ends. [rad or m]

    Notes
    -----
    :math:`y_k = \min(\max(y_{k-1}, u_k - r), u_k + r)`.

    References
    ----------
    play-operator

    Examples
    --------
    Up by 10, back by 2, with free motion of 3 in all: the far side does not move on the way back.

    >>> path, _ = follow_play(np.array([0.0, 10.0, 8.0]), None, half=1.5)
    >>> path
    array([0. , 8.5, 8.5])
    """
    half = np.asarray(half)[..., 0] if np.ndim(half) else half
    y = u[..., 0] if state is None else state
    out = np.empty((*np.broadcast_shapes(u.shape[:-1], np.shape(y), np.shape(half)), u.shape[-1]))
    if not nonzero(half):  # nothing is free: the far side is the near side
        out[...] = u
        return out, out[..., -1].copy()
    for k in range(u.shape[-1]):
        y = np.minimum(np.maximum(y, u[..., k] - half), u[..., k] + half)
        out[..., k] = y
    return out, np.asarray(y)
