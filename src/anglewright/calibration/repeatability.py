"""Hysteresis and repeatability from runs up and down."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

ENOUGH_RUNS = 3  # pairs of runs that the rule asks for [1]


@dataclass(frozen=True, slots=True, kw_only=True)
class Measured:
    """A figure of a calibration, or the reason why the data cannot tell it."""

    value: float | None
    why: str | None = None


def hysteresis_by_pairs(up: ArrayLike, down: ArrayLike) -> Measured:
    r"""Largest difference between the way up and the way down of one run at one position.

    Parameters
    ----------
    up, down : array, (runs, positions)
        Errors, or readings at the same positions; nan where a run left one out. [any unit]

    Returns
    -------
    Measured
        The difference. [any unit]

    Notes
    -----
    It holds the noise of the readings and the fresh error of the reference, so that it is never zero.

    References
    ----------
    cfr3175

    Examples
    --------
    One run, three positions, in per cent of span:

    >>> hysteresis_by_pairs([[0.0, 0.1, 0.0]], [[0.0, 0.25, 0.1]])
    Measured(value=0.15, why=None)
    """
    first, second = _runs(up), _runs(down)
    shared = min(len(first), len(second))
    return _largest(np.abs(first[:shared] - second[:shared]))


def hysteresis_of_averages(up: ArrayLike, down: ArrayLike) -> Measured:
    """Largest difference between the mean way up and the mean way down at one position.

    Parameters
    ----------
    up, down : array, (runs, positions)
        Errors, or readings at the same positions; nan where a run left one out. [any unit]

    Returns
    -------
    Measured
        The difference. [any unit]

    References
    ----------
    iec61298

    Examples
    --------
    Two runs, one position: the means differ by 0.2.

    >>> hysteresis_of_averages([[0.0], [0.1]], [[0.2], [0.3]])
    Measured(value=0.2, why=None)
    """
    return _largest(np.abs(_means(_runs(up)) - _means(_runs(down))))


def repeatability(up: ArrayLike, down: ArrayLike) -> Measured:
    """Largest difference among the values of one direction at one position.

    Parameters
    ----------
    up, down : array, (runs, positions)
        Errors, or readings at the same positions; nan where a run left one out. [any unit]

    Returns
    -------
    Measured
        The difference; none with fewer than three runs in either direction. [any unit]

    References
    ----------
    cfr3175

    Examples
    --------
    One run cannot say how well the next one will repeat it:

    >>> repeatability([[0.0, 0.1]], [[0.0, 0.2]]).why
    'there is 1 run, and repeatability takes 3 in one direction'
    """
    enough = [table for table in (_runs(up), _runs(down)) if len(table) >= ENOUGH_RUNS]
    if not enough:
        most = max(len(_runs(up)), len(_runs(down)))
        count = f"there is {most} run" if most == 1 else f"there are {most} runs"
        return Measured(value=None, why=f"{count}, and repeatability takes {ENOUGH_RUNS} in one direction")
    spans = [table[:, column] for table in enough for column in range(table.shape[1])]
    full = [span[np.isfinite(span)] for span in spans]
    return Measured(value=round_off(max(float(np.ptp(span)) for span in full if len(span))))


def round_off(value: float) -> float:
    """The value to twelve digits, which hides the last bits of a difference. [any unit]"""
    return float(f"{value:.12g}")


def _runs(table: ArrayLike) -> NDArray[np.float64]:
    return np.atleast_2d(np.asarray(table, dtype=float))


def _means(table: NDArray[np.float64]) -> NDArray[np.float64]:
    """Mean of each column over the runs that have it; nan where none has."""
    there = np.isfinite(table)
    count = there.sum(axis=0)
    total = np.where(there, table, 0.0).sum(axis=0)
    return np.where(count > 0, total / np.maximum(count, 1), np.nan)


def _largest(differences: NDArray[np.float64]) -> Measured:
    known = differences[np.isfinite(differences)]
    if not known.size:
        return Measured(value=None, why="no position was reached from both sides")
    return Measured(value=round_off(float(known.max())))
