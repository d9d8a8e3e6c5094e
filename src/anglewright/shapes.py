"""A family of smooth error shapes for a linearity whose limit is stated and whose shape is not.

"Linearity 1 %" bounds a departure and says nothing of its form. Here the form is one to three waves of equal
height over the electrical travel: a Chebyshev polynomial of degree 2 to 6, stretched and shifted. Equal waves
leave more beside a fitted line than most mixtures within the same limit do, so the family errs on the safe
side. Each member has zero as its best straight line and 1 as its largest departure from it: its independent
linearity by the data sheet's definition is exactly 1. A size drawn uniformly between 0 and the limit
scales it. See ``docs/decisions/0003-linearity-family.md``.
"""

from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from anglewright.circuits import Numeric
from anglewright.quantities.spread import Persistence

DEGREES = 7  # Chebyshev degrees 0 .. 6
_FIRST_WAVE = 2  # degrees 0 and 1 are the straight line, which is taken out
_MEMBERS = 256
_STRETCH = 0.2  # largest share by which the waves are longer than the track asks for [1]
_ROUNDS = 60  # of the search for the best line: each leaves two thirds of the interval


def shape_error(coefficients: NDArray[np.float64], travel: Numeric) -> Numeric:
    """Departure from the straight line at a travel, as a share of full output.

    Parameters
    ----------
    coefficients : array, (..., 7)
        Chebyshev coefficients of degree 0 to 6; leading axes are virtual builds. [1]
    travel : float or array
        Electrical travel, 0 to 1. [1]

    Returns
    -------
    float or array
        Departure, broadcast over builds and positions. [1]

    Notes
    -----
    By Horner in powers of :math:`t = 2x - 1`, the coefficients brought there once for each build by
    the recurrence :math:`T_{k+1} = 2 t T_k - T_{k-1}`. Up to degree 6 this loses two digits at most.

    References
    ----------
    chebyshev

    Examples
    --------
    A pure second-degree bow of 1 % reads 1 % high at both ends and 1 % low in the middle:

    >>> bow = np.array([0.0, 0.0, 0.01, 0.0, 0.0, 0.0, 0.0])
    >>> [float(shape_error(bow, x)) for x in (0.0, 0.5, 1.0)]
    [0.01, -0.01, 0.01]
    """
    error = _horner(_in_powers(coefficients), 2.0 * np.asarray(travel) - 1.0)
    return error if np.ndim(error) else float(error)


def bent(coefficients: NDArray[np.float64], t: Numeric) -> Numeric:
    """Output of a track with its departure from the straight line, in one polynomial.

    Parameters
    ----------
    coefficients : array, (..., 7)
        Chebyshev coefficients of the departure; leading axes are virtual builds. [1]
    t : float or array
        Place on the track from its middle, -1 to 1 at its ends. [1]

    Returns
    -------
    float or array
        The travel plus `shape_error`, broadcast over builds and positions. [1]

    Examples
    --------
    >>> bow = np.array([0.0, 0.0, 0.01, 0.0, 0.0, 0.0, 0.0])
    >>> [round(float(bent(bow, t)), 12) for t in (-1.0, 0.0, 1.0)]
    [0.01, 0.49, 1.01]
    """
    powers = _in_powers(coefficients)
    powers[:2] += 0.5  # the travel itself is (1 + t) / 2
    place = _horner(powers, t)
    return place if np.ndim(place) else float(place)


@lru_cache(maxsize=1)
def _powers() -> NDArray[np.float64]:
    """Chebyshev polynomials in powers of their variable, a column each, shape (7, 7)."""
    table = np.zeros((DEGREES, DEGREES))
    table[0, 0] = table[1, 1] = 1.0
    for degree in range(2, DEGREES):
        table[1:, degree] = 2.0 * table[:-1, degree - 1]
        table[:, degree] -= table[:, degree - 2]
    return table


def _in_powers(coefficients: NDArray[np.float64]) -> NDArray[np.float64]:
    """Chebyshev coefficients (..., 7) as those of the powers of t, all axes turned round: (7, ...)."""
    turned = coefficients.T
    return (_powers() @ turned.reshape(DEGREES, -1)).reshape(turned.shape)


def _horner(powers: NDArray[np.float64], t: Numeric) -> NDArray[np.float64]:
    """Value of a polynomial, from what `_in_powers` gives."""
    value = np.asarray(powers[-1].T * t)
    for coefficient in powers[-2:0:-1]:
        value += coefficient.T
        value *= t
    value += powers[0].T
    return value


def _best_line(values: NDArray[np.float64], t: NDArray[np.float64]) -> tuple[NDArray[np.float64], ...]:
    """Minimax line of each row, and the largest departure from it, by search over the slope."""
    low, high = np.full(len(values), -12.0), np.full(len(values), 12.0)
    rest = np.empty_like(values)  # one for all rounds: getting memory takes longer than the sums

    def ends(slope: NDArray[np.float64]) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
        np.subtract(values, np.multiply(slope[:, None], t, out=rest), out=rest)
        return rest.min(axis=1), rest.max(axis=1)

    for _ in range(_ROUNDS):
        third = (high - low) / 3
        left, right = low + third, high - third
        shrink = np.subtract(*ends(left)) > np.subtract(*ends(right))
        high, low = np.where(shrink, right, high), np.where(shrink, low, left)
    slope = (low + high) / 2
    least, most = ends(slope)
    return slope, (most + least) / 2, (most - least) / 2


def _waves() -> NDArray[np.float64]:
    """Chebyshev coefficients of equal waves, stretched and shifted evenly over the members, (256, 7)."""
    k = np.arange(_MEMBERS)[:, None]
    stretch = 1.0 - _STRETCH * (k * np.sqrt(2.0) % 1.0)
    shift = (1.0 - stretch) * (2.0 * (k * np.sqrt(3.0) % 1.0) - 1.0)
    nodes = np.pi * (np.arange(DEGREES) + 0.5) / DEGREES
    degree = _FIRST_WAVE + k % (DEGREES - _FIRST_WAVE)
    heights = np.cos(degree * np.arccos(stretch * np.cos(nodes) + shift))
    waves = 2.0 / DEGREES * heights @ np.cos(nodes[:, None] * np.arange(DEGREES))
    waves[:, 0] /= 2.0
    return np.asarray(waves)


@lru_cache(maxsize=1)
def family() -> NDArray[np.float64]:
    """Coefficients of every member, each with a linearity of exactly 1, shape (256, 7). [1]"""
    waves = _waves()
    t = np.cos(np.linspace(np.pi, 0.0, 129))
    values = np.asarray(shape_error(waves[:, None, :], (t + 1.0) / 2.0))
    slope, middle, size = _best_line(values, t)
    waves[:, 0] -= middle
    waves[:, 1] -= slope
    members = np.asarray(waves / size[:, None])
    members.flags.writeable = False
    return members


@lru_cache(maxsize=1)
def _both_ways() -> NDArray[np.float64]:
    """The family and its mirror image, the same tracks turned round, a degree in each row: (7, 512)."""
    return np.concatenate([family(), family() * np.where(np.arange(DEGREES) % 2, -1.0, 1.0)]).T.copy()


@lru_cache(maxsize=1)
def _modes() -> NDArray[np.float64]:
    """Orthogonal coefficient vectors whose squares add to the family's covariance at limit 1."""
    both = _both_ways()
    variance, vectors = np.linalg.eigh(both @ both.T / both.shape[1] / 3.0)
    kept = variance > 1e-12 * variance.max()
    return np.asarray(vectors[:, kept] * np.sqrt(variance[kept])).T


@dataclass(frozen=True, slots=True, kw_only=True)
class UnknownShape:
    """A smooth departure bounded by `limit` [share of full output], of unknown form and size."""

    limit: float
    persistence: Persistence = Persistence.BUILD
    dof: float = float("inf")

    @property
    def nominal(self) -> NDArray[np.float64]:
        """No departure, shape (7,). [1]"""
        return np.zeros(DEGREES)

    @property
    def mean(self) -> NDArray[np.float64]:
        """No departure, shape (7,): the family is symmetric. [1]"""
        return np.zeros(DEGREES)

    @property
    def is_exact(self) -> bool:
        """True where the limit is zero."""
        return self.limit == 0.0

    @property
    def nudges(self) -> tuple[tuple[NDArray[np.float64], NDArray[np.float64]], ...]:
        """Pairs of opposite shapes whose effects, squared and added, give the family's variance. [1]"""
        return tuple((-self.limit * mode, self.limit * mode) for mode in _modes())

    @property
    def limits(self) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
        """The whole departure at its limit at every place: the worst that any place can see. [1]"""
        high = np.zeros(DEGREES)
        high[0] = self.limit
        return (-high, high)

    def draw(self, rng: "np.random.Generator", shape: tuple[int, ...]) -> NDArray[np.float64]:
        r"""Random shapes of the family with random size, sign and direction, shape (\\*shape, 7). [1]"""
        members = _both_ways().take(rng.integers(0, 2 * _MEMBERS, shape), axis=1, mode="clip")
        members *= self.limit * rng.uniform(-1.0, 1.0, shape)
        return members.transpose(*range(1, members.ndim), 0)
