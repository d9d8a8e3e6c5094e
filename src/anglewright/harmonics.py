"""Errors that come round once, twice, up to four times a turn, whose limit is stated and whose phase is not.

A sensor whose reading comes round with its shaft has errors that do the same. "Non-linearity 1 deg" bounds
such a departure and says nothing of its form. Here the form is waves of equal height, one to four a turn,
each number of waves as often as the other, at any phase: the largest departure of each is exactly its size,
and a size drawn uniformly between 0 and the limit scales it. Waves of one height leave more beside a fitted
line than most mixtures within the same limit do, so the family errs on the safe side. See
``docs/decisions/0010-turn-family.md``.
"""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from anglewright.circuits import Numeric
from anglewright.quantities.spread import Persistence

MOST_WAVES = 4  # of the family, a turn [1]
COEFFICIENTS = 1 + 2 * MOST_WAVES  # the mean, then cosine and sine of each number of waves
_HALVINGS = 60  # of the search for the angle behind a reading: down to the last bit of a double


def waves_error(coefficients: NDArray[np.float64], angle: Numeric) -> Numeric:
    r"""Departure at an angle, from the cosines and sines of one to four waves a turn.

    Parameters
    ----------
    coefficients : array, (..., 9)
        The mean, then cosine and sine of each number of waves; leading axes are virtual builds. [rad]
    angle : float or array
        Angle of the shaft. [rad]

    Returns
    -------
    float or array
        Departure, broadcast over builds and angles. [rad]

    Notes
    -----
    :math:`c_0 + \sum_k (c_k \cos k \theta + s_k \sin k \theta)`, by Horner's rule in
    :math:`e^{-i \theta}`.

    References
    ----------
    derived

    Examples
    --------
    A magnet off its centre by so much that it errs 0.5 deg once a turn, largest at 90 deg:

    >>> once = np.array([0.0, 0.0, 0.5, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0])
    >>> [round(float(waves_error(once, np.radians(a))), 3) for a in (0.0, 90.0, 180.0, 270.0)]
    [0.0, 0.5, 0.0, -0.5]
    """
    c, s = coefficients[..., 1::2], coefficients[..., 2::2]
    cosine, sine = np.cos(angle), np.sin(angle)
    real, imaginary = c[..., -1] + 0.0 * cosine, s[..., -1] + 0.0 * cosine
    for k in range(MOST_WAVES - 2, -1, -1):
        real, imaginary = (
            c[..., k] + real * cosine + imaginary * sine,
            s[..., k] + imaginary * cosine - real * sine,
        )
    error = coefficients[..., 0] + real * cosine + imaginary * sine
    return error if np.ndim(error) else float(error)


def eccentric_error(angle: Numeric, *, cosine: Numeric, sine: Numeric) -> Numeric:
    r"""Error of a track whose centre lies beside the axis it turns about.

    Parameters
    ----------
    angle : float or array
        Angle of the shaft. [rad]
    cosine, sine : float or array
        Eccentricity over the radius of the track, along the directions of 0 and of a quarter turn. [1]

    Returns
    -------
    float or array
        Angle that the head reads, less that of the shaft. [rad]

    Notes
    -----
    :math:`\delta = \operatorname{atan2}(\sin\theta + q, \cos\theta + p) - \theta` with :math:`(p, q)` the
    eccentricity over the radius; its peak is :math:`\arcsin(e / r)`, once a turn, with a second harmonic of
    :math:`(e / r)^2 / 2`. One head; two heads half a turn apart leave the even orders only.

    References
    ----------
    eccentricity

    Examples
    --------
    A tenth of a millimetre on a track of 10 mm radius is worth 0.573 deg:

    >>> places = np.radians(np.arange(0.0, 360.0, 0.01))
    >>> float(np.round(np.degrees(np.max(eccentric_error(places, cosine=0.01, sine=0.0))), 3))
    0.573
    """
    along = 1.0 + cosine * np.cos(angle) + sine * np.sin(angle)
    error = np.arctan2(sine * np.cos(angle) - cosine * np.sin(angle), along)
    return error if np.ndim(error) else float(error)


@dataclass(frozen=True, slots=True, kw_only=True)
class UnknownWaves:
    """Waves round the turn at any phase, bounded by `limit`, `orders` of them with equal chances. [rad, 1]

    With `sure` the height is the limit itself, as of a magnet known to sit so much off its centre; else it
    is drawn uniformly between 0 and the limit.
    """

    limit: float
    orders: tuple[int, ...] = (1, 2, 3, 4)
    sure: bool = False
    persistence: Persistence = Persistence.BUILD
    dof: float = float("inf")

    @property
    def nominal(self) -> NDArray[np.float64]:
        """No departure, shape (9,). [rad]"""
        return np.zeros(COEFFICIENTS)

    @property
    def mean(self) -> NDArray[np.float64]:
        """No departure, shape (9,): any phase is as likely as its opposite. [rad]"""
        return np.zeros(COEFFICIENTS)

    @property
    def is_exact(self) -> bool:
        """True where the limit is zero."""
        return self.limit == 0.0

    @property
    def standard_uncertainty(self) -> float:
        """Standard deviation of the departure, the same at every angle. [rad]"""
        return self.limit / float(np.sqrt(2.0 if self.sure else 6.0))

    @property
    def nudges(self) -> tuple[tuple[NDArray[np.float64], NDArray[np.float64]], ...]:
        """Pairs of opposite waves whose effects, squared and added, give the family's variance. [rad]"""
        size = self.standard_uncertainty / float(np.sqrt(len(self.orders)))
        rows = size * np.eye(COEFFICIENTS)
        return tuple((-rows[at], rows[at]) for order in self.orders for at in (2 * order - 1, 2 * order))

    @property
    def limits(self) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
        """The whole departure at its limit at every angle: the worst that any place can see. [rad]"""
        high = np.zeros(COEFFICIENTS)
        high[0] = self.limit
        return (-high, high)

    def draw(self, rng: "np.random.Generator", shape: tuple[int, ...]) -> NDArray[np.float64]:
        r"""Random waves of the family, shape (\\*shape, 9). [rad]"""
        order = np.asarray(self.orders)[rng.integers(0, len(self.orders), shape)]
        phase = rng.uniform(0.0, 2.0 * np.pi, shape)
        size = self.limit * (1.0 if self.sure else rng.uniform(0.0, 1.0, shape))
        drawn = np.zeros((*shape, COEFFICIENTS))
        for each, wave in ((2 * order - 1, np.cos(phase)), (2 * order, np.sin(phase))):
            np.put_along_axis(drawn, each[..., None], np.asarray(size * wave)[..., None], axis=-1)
        return drawn


def angle_behind(read: Numeric, coefficients: NDArray[np.float64]) -> Numeric:
    """Angle of the shaft that a sensor with such waves reads as another.

    Parameters
    ----------
    read : float or array
        Angle with its departure, turns added as they are. [rad]
    coefficients : array, (..., 9)
        The departure, as `waves_error` takes it; the reading must rise with the shaft. [rad]

    Returns
    -------
    float or array
        Angle of the shaft, broadcast over builds and readings; nan stays nan. [rad]

    Notes
    -----
    Bisection between the reading less and plus the largest that the departure can be.

    References
    ----------
    derived

    Examples
    --------
    Where a sensor that errs by 2 deg at a quarter turn reads 92 deg, the shaft stands at 90 deg:

    >>> waves = np.radians([0.0, 0.0, 2.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0])
    >>> round(float(np.degrees(angle_behind(np.radians(92.0), waves))), 9)
    90.0
    """
    reach = np.sum(np.abs(coefficients), axis=-1)
    return rising_inverse(read, lambda angle: angle + waves_error(coefficients, angle), reach=reach)


def rising_inverse(read: Numeric, there: Callable[[Numeric], Numeric], *, reach: Numeric) -> Numeric:
    """Input of a rising map that gives an output, where the two are never further apart than `reach`.

    Parameters
    ----------
    read : float or array
        The output. [rad]
    there : callable
        The map, rising. [rad]
    reach : float or array
        Bound of the difference between input and output. [rad]

    Returns
    -------
    float or array
        The input, by bisection down to the last bits; nan stays nan. [rad]

    References
    ----------
    derived

    Examples
    --------
    Kepler's equation, with an eccentricity of 0.2 and a mean anomaly of 0.85 rad; put back it gives that:

    >>> anomaly = rising_inverse(0.85, lambda e: e - 0.2 * np.sin(e), reach=0.2)
    >>> round(float(anomaly - 0.2 * np.sin(anomaly)), 12)
    0.85
    """
    low, high = np.asarray(read) - reach, np.asarray(read) + reach
    for _ in range(_HALVINGS):
        middle = (low + high) / 2.0
        under = np.asarray(there(middle)) < read
        low, high = np.where(under, middle, low), np.where(under, high, middle)
    angle = (low + high) / 2.0
    return angle if np.ndim(angle) else float(angle)
