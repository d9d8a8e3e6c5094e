"""Stretches of an array in which something holds."""

import numpy as np
from numpy.typing import NDArray


def true_runs(flags: NDArray[np.bool_]) -> list[tuple[int, int]]:
    """Stretches of true flags, each as its first number and the one after its last. [1]

    Parameters
    ----------
    flags : array, (n,)
        The flags. [1]

    Returns
    -------
    list of (int, int)
        In their order. [1]

    References
    ----------
    practice

    Examples
    --------
    >>> true_runs(np.array([True, True, False, True]))
    [(0, 2), (3, 4)]
    """
    edges = np.flatnonzero(np.diff(np.concatenate([[0], flags.astype(np.int8), [0]])))
    return [(int(a), int(b)) for a, b in edges.reshape(-1, 2)]
