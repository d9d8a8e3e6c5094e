"""A single universal joint whose two shafts meet at an angle: it turns unevenly, twice a turn."""

from dataclasses import dataclass
from typing import ClassVar

import numpy as np

from anglewright.circuits import Numeric
from anglewright.errors import Problem, RigError
from anglewright.links.fields import ONE_SIDED, Key, QuantityKey
from anglewright.links.protocol import Array, ClampedPort, Number, Port, Signal, State, Values, numbers_of
from anglewright.play import follow_play, lagged
from anglewright.quantities.spread import Spread
from anglewright.quantities.units import Kind
from anglewright.steps import Step


def lead_of_joint(theta: Numeric, *, bend: Numeric) -> Numeric:
    r"""How far the driven shaft of a universal joint is ahead of the driving one.

    Parameters
    ----------
    theta : float or array
        Angle of the driving shaft from the yoke position where the driven side runs fast. [rad]
    bend : float or array
        Angle between the two shafts, less than a quarter turn. [rad]

    Returns
    -------
    float or array
        Angle of the driven shaft less `theta`, continuous over any number of turns. [rad]

    Notes
    -----
    From :math:`\tan \theta_{out} = \tan \theta_{in} / \cos \beta` by the addition theorem,
    :math:`\tan \delta = \frac{(1 - \cos \beta) \sin \theta \cos \theta}
    {\cos \beta \cos^2 \theta + \sin^2 \theta}`, whose denominator is never zero: nothing is to be unwrapped.
    The peak is :math:`\tan^2 (\beta / 2)` as a sine, near :math:`\beta^2 / 4`.

    References
    ----------
    universal-joint

    Examples
    --------
    A bend of 20 deg is worth 1.78 deg at its worst place, twice a turn:

    >>> places = np.radians(np.arange(0.0, 90.0, 0.01))
    >>> float(np.round(np.degrees(np.max(lead_of_joint(places, bend=np.radians(20.0)))), 3))
    1.782
    """
    sine, cosine, straight = np.sin(theta), np.cos(theta), np.cos(bend)
    ahead = np.arctan((1.0 - straight) * sine * cosine / (straight * cosine**2 + sine**2))
    return ahead if np.ndim(ahead) else float(ahead)


def _lag_behind(theta_out: Numeric, bend: Numeric) -> Numeric:
    """Angle of the driving shaft less that of the driven one. [rad]"""
    sine, cosine, straight = np.sin(theta_out), np.cos(theta_out), np.cos(bend)
    return np.asarray(np.arctan((straight - 1.0) * sine * cosine / (cosine**2 + straight * sine**2)))


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class UniversalJoint:
    """Shaft to shaft through a bend; `phase_rad` is counted from where the sensor was clamped."""

    takes: ClassVar[Signal] = Signal.SHAFT
    gives: ClassVar[Signal] = Signal.SHAFT
    sense: ClassVar[int] = 1
    bend_rad: Numeric
    phase_rad: Numeric
    half_play_rad: Numeric
    clamped_at_rad: Numeric

    @property
    def _fast(self) -> Numeric:
        """Angle of the near side at which the far side runs fast. [rad]"""
        return self.clamped_at_rad + self.phase_rad

    @property
    def port(self) -> Port:
        """Where the far side stood when the sensor was clamped."""
        return ClampedPort(at=self._bent(self.clamped_at_rad))

    @property
    def lag(self) -> Numeric:
        """Half the free turn. [rad]"""
        return self.half_play_rad

    def _bent(self, u: Numeric) -> Numeric:
        return u + lead_of_joint(u - self._fast, bend=self.bend_rad)

    def forward(self, u: Numeric, *, side: Numeric = 0) -> Numeric:
        """Angle of the far side. [rad]"""
        return self._bent(lagged(u, half=self.half_play_rad, side=side))

    def backward(self, y: Numeric, *, side: Numeric = 0) -> Numeric:
        """Angle of the near side. [rad]"""
        u = y + _lag_behind(y - self._fast, self.bend_rad) + self.half_play_rad * side
        return u if np.ndim(u) else float(u)

    def follow(self, u: Array, t: Array, state: State) -> tuple[Array, State]:
        """Path of the far side. [rad]"""
        path, state = follow_play(u, state, half=self.half_play_rad)
        return np.asarray(self._bent(path)), state

    def explain(self, u: float) -> tuple[Step, ...]:
        """How far the far side is ahead, then its angle."""
        degrees = float(np.degrees(1.0))
        theta, bend = u - float(np.mean(self._fast)), float(np.mean(self.bend_rad))
        sine, straight = "sin(theta * pi / 180) * cos(theta * pi / 180)", "cos(beta * pi / 180)"
        under = f"{straight} * cos(theta * pi / 180) ** 2 + sin(theta * pi / 180) ** 2"
        ahead = Step(
            symbol="delta",
            meaning="how far the far side of the universal joint is ahead",
            formula=f"180 / pi * atan((1 - {straight}) * {sine} / ({under}))",
            numbers={"theta": theta * degrees, "beta": bend * degrees},
            result=float(lead_of_joint(theta, bend=bend)) * degrees,
            unit="deg",
            source="universal-joint",
        )
        turn = Step(
            symbol="psi",
            meaning="angle of the far side",
            formula="phi + delta",
            numbers={"phi": u * degrees, "delta": ahead.result},
            result=float(np.mean(self.forward(u))) * degrees,
            unit="deg",
            source="universal-joint",
        )
        return (ahead, turn)


@dataclass(frozen=True, slots=True, kw_only=True)
class UniversalPart:
    """One universal joint, or a coupling that bends like one, between shafts that are not in line.

    The position of the yoke is fixed once it is assembled; where nobody noted it, it may be any.
    """

    room: ClassVar[str] = "coupling"
    kind: ClassVar[str] = "universal"
    label: ClassVar[str] = "Universal joint"
    KEYS: ClassVar[tuple[Key, ...]] = (
        QuantityKey(
            name="misalignment",
            field="bend_rad",
            meaning="angle between the two shafts of the coupling",
            kinds=(Kind.ANGLE,),
            required=True,
            least=0.0,
            example="10 deg",
        ),
        QuantityKey(
            name="phase",
            field="phase_rad",
            meaning="position of the yoke, turn of the shaft from the clamping to where the sensor runs fast",
            kinds=(Kind.ANGLE,),
            default="0 deg ± 90 deg",
            cured_by="noting the yoke's position, or shafts in line",
        ),
        QuantityKey(
            name="play",
            field="play_rad",
            meaning="play of the coupling, total, at the sensor's shaft",
            kinds=(Kind.ANGLE,),
            default="0.2 deg",
            least=0.0,
            cured_by=ONE_SIDED,
        ),
    )
    bend_rad: Spread
    phase_rad: Spread
    play_rad: Spread

    @property
    def numbers(self) -> tuple[Number, ...]:
        """Misalignment, yoke and play."""
        return numbers_of(self)

    def link(self, values: Values, upstream: Port) -> UniversalJoint:
        """The joint with plain numbers."""
        if not isinstance(upstream, ClampedPort):
            raise RigError(Problem("coupling", "it must follow a drive", "", "Put a drive before it."))
        return UniversalJoint(
            bend_rad=values["bend_rad"],
            phase_rad=values["phase_rad"],
            half_play_rad=values["play_rad"] / 2.0,
            clamped_at_rad=upstream.at,
        )

    def describe(self) -> str:
        """Its bend."""
        return f"Universal joint, {np.degrees(self.bend_rad.nominal):g} deg"

    def objections(self, low: float, high: float, upstream: Port) -> tuple[Problem, ...]:
        """A bend at which it cannot turn any more."""
        bend = float(np.degrees(self.bend_rad.limits[1]))
        if bend <= STEEPEST_DEG:
            return ()
        found = f"a misalignment of {bend:.4g} deg"
        limit = f"a single universal joint turns up to {STEEPEST_DEG:g} deg"
        return (Problem("coupling", found, limit, "Bring the shafts closer to one line."),)


STEEPEST_DEG = 45.0  # bend of a plain joint at which its forks touch, common practice, no source [deg]

PARTS = (UniversalPart,)
