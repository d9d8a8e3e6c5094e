"""Couplings from shaft to sensor: rigid, with play between a flat and its bore, or that wind up."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import ClassVar

import numpy as np

from anglewright.circuits import Numeric
from anglewright.errors import Problem, RigError
from anglewright.links.fields import ONE_SIDED, Key, QuantityKey
from anglewright.links.protocol import Array, ClampedPort, Number, Port, Signal, State, Values, numbers_of
from anglewright.links.ratio import Figure
from anglewright.play import follow_play, lagged
from anglewright.quantities.spread import Persistence, Spread
from anglewright.quantities.units import Kind
from anglewright.steps import Step

_DEGREES = float(np.degrees(1.0))  # in one radian [deg]


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class Coupling:
    """Shaft to shaft, the far side lagging by up to `half_play_rad` either way; a rigid one does not.

    A shaft that drags a sensor's friction through a spring lags by torque over stiffness, and on the way
    back first unwinds: the same operator as free motion. `figures` are what the lag was worked out from.
    """

    takes: ClassVar[Signal] = Signal.SHAFT
    gives: ClassVar[Signal] = Signal.SHAFT
    sense: ClassVar[int] = 1
    half_play_rad: Numeric
    clamped_at_rad: Numeric
    figures: tuple[Figure, ...] = ()

    @property
    def port(self) -> Port:
        """Where the shaft stood when the sensor was clamped."""
        return ClampedPort(at=self.clamped_at_rad)

    @property
    def lag(self) -> Numeric:
        """Half the free turn. [rad]"""
        return self.half_play_rad

    def forward(self, u: Numeric, *, side: Numeric = 0) -> Numeric:
        """Angle of the far side. [rad]"""
        return lagged(u, half=self.half_play_rad, side=side)

    def backward(self, y: Numeric, *, side: Numeric = 0) -> Numeric:
        """Angle of the near side. [rad]"""
        return y + self.half_play_rad * side

    def follow(self, u: Array, t: Array, state: State) -> tuple[Array, State]:
        """Path of the far side. [rad]"""
        return follow_play(u, state, half=self.half_play_rad)

    def explain(self, u: float) -> tuple[Step, ...]:
        """How far the far side may lag: what it comes from, then the total free turn halved."""
        half = float(np.degrees(np.mean(self.half_play_rad)))
        steps = tuple(figure.step() for figure in self.figures)
        if half == 0.0 or any(step.symbol == "r" for step in steps):
            return steps
        step = Step(
            symbol="r",
            meaning="the far side lags by half the free turn, either way",
            formula="play / 2",
            numbers={"play": 2.0 * half},
            result=half,
            unit="deg",
            source="play-operator",
        )
        return (*steps, step)


def _behind(upstream: Port) -> Numeric:
    if not isinstance(upstream, ClampedPort):
        raise RigError(Problem("coupling", "it must follow a drive", "", "Put a drive before it."))
    return upstream.at


def play_of_gap(gap_m: Numeric, flat_width_m: Numeric) -> Numeric:
    r"""Free turn of a shaft with a flat in a bore with a flat.

    Parameters
    ----------
    gap_m : float or array
        Clearance between the two flats. [m]
    flat_width_m : float or array
        Width of the flat, across the shaft. [m]

    Returns
    -------
    float or array
        Play, total. [rad]

    Notes
    -----
    The shaft tilts until an edge of its flat, half a width from the middle, meets the bore: a turn of
    :math:`c / (w / 2)` either way, :math:`4 c / w` in all, for small clearances.

    References
    ----------
    practice

    Examples
    --------
    A shaft of 6 mm, 4.5 mm across the flat, has a flat of 5.2 mm. A gap of 0.1 mm is worth 4.4 deg:

    >>> round(float(np.degrees(play_of_gap(0.1e-3, 5.196e-3))), 1)
    4.4
    """
    return 4.0 * gap_m / flat_width_m


def _friction(default: str, *, only_with: str = "") -> QuantityKey:
    return QuantityKey(
        name="friction",
        field="friction_nm",
        meaning="friction torque of the sensor, at its shaft",
        kinds=(Kind.TORQUE,),
        default=default,
        above=0.0,
        cured_by=ONE_SIDED,
        only_with=only_with,
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class DBorePart:
    """A shaft with a flat in a bore with a flat: it has free turn, unless a spring holds it to one side.

    `play` is the total free turn at the sensor's shaft; where it was not measured, `gap` and `flat_width`
    give it. A spring removes it as long as its least torque exceeds the sensor's greatest friction.
    """

    room: ClassVar[str] = "coupling"
    kind: ClassVar[str] = "d-bore"
    label: ClassVar[str] = "D-bore"
    KEYS: ClassVar[tuple[Key, ...]] = (
        QuantityKey(
            name="play",
            field="play_rad",
            meaning="play of the coupling, total, at the sensor's shaft",
            kinds=(Kind.ANGLE,),
            default="4 deg",
            persistence=Persistence.BUILD,
            least=0.0,
            cured_by=ONE_SIDED,
            unless="gap",
        ),
        QuantityKey(
            name="gap",
            field="gap_m",
            meaning="play from the gap on the flat, clearance between the flat and its bore",
            kinds=(Kind.LENGTH,),
            least=0.0,
            cured_by=ONE_SIDED,
            example="0.1 mm",
        ),
        QuantityKey(
            name="flat_width",
            field="flat_width_m",
            meaning="width of the flat, 5.2 mm where a 6 mm shaft is 4.5 mm across its flat",
            kinds=(Kind.LENGTH,),
            default="5.2 mm",
            above=0.0,
            cured_by=ONE_SIDED,
            only_with="gap",
        ),
        QuantityKey(
            name="preload",
            field="preload_nm",
            meaning="torque of a spring that holds the coupling to one side, the least over the motion",
            kinds=(Kind.TORQUE,),
            above=0.0,
            cured_by=ONE_SIDED,
            example="20 N mm",
        ),
        _friction("5 N mm ± 50 %", only_with="preload"),
    )
    play_rad: Spread | None = None
    gap_m: Spread | None = None
    flat_width_m: Spread | None = None
    preload_nm: Spread | None = None
    friction_nm: Spread | None = None

    @property
    def numbers(self) -> tuple[Number, ...]:
        """The play, or what it is worked out from."""
        held = {"preload_nm", "friction_nm"}  # they decide whether there is play, not how much
        return tuple(number for number in numbers_of(self) if number.field not in held)

    @property
    def preloaded(self) -> bool:
        """True where the spring's least torque exceeds the sensor's greatest friction."""
        spring, friction = self.preload_nm, self.friction_nm
        return bool(spring and friction and spring.limits[0] > friction.limits[1])

    def link(self, values: Values, upstream: Port) -> Coupling:
        """The coupling with its play."""
        play, figures = self._play(values)
        return Coupling(
            half_play_rad=0.0 if self.preloaded else play / 2.0,
            clamped_at_rad=_behind(upstream),
            figures=(*figures, *self._preload()),
        )

    def _play(self, values: Values) -> tuple[Numeric, tuple[Figure, ...]]:
        """Play [rad], and how it was worked out where it was."""
        if self.gap_m is None:
            return values["play_rad"], ()
        gap, width = values["gap_m"], values["flat_width_m"]
        play = play_of_gap(gap, width)
        figure = Figure(
            symbol="play",
            meaning="free turn in all, from the gap on the flat",
            formula="180 / pi * 4 * c / w",
            numbers={"c": 1e3 * gap, "w": 1e3 * width},
            result=_DEGREES * play,
            unit="deg",
            source="practice",
        )
        return play, (figure,)

    def _preload(self) -> tuple[Figure, ...]:
        """The spring against the friction, where there is a spring."""
        if self.preload_nm is None or self.friction_nm is None:
            return ()
        spring, friction = 1e3 * self.preload_nm.limits[0], 1e3 * self.friction_nm.limits[1]
        holds = "above 1, no play is felt" if self.preloaded else "not above 1, the play stays"
        figure = Figure(
            symbol="h",
            meaning=f"least torque of the spring over the greatest friction of the sensor: {holds}",
            formula="M_spring / M_friction",
            numbers={"M_spring": spring, "M_friction": friction},
            result=spring / friction,
            unit="",
            source="practice",
        )
        return (figure,)

    def describe(self) -> str:
        """Its kind."""
        return "D-bore, preloaded" if self.preloaded else "D-bore"

    def objections(self, low: float, high: float, upstream: Port) -> tuple[Problem, ...]:
        """None: it takes any input."""
        return ()


@dataclass(frozen=True, slots=True, kw_only=True)
class RigidPart:
    """A clamp hub or another coupling without free turn."""

    room: ClassVar[str] = "coupling"
    kind: ClassVar[str] = "rigid"
    label: ClassVar[str] = "Rigid coupling"
    KEYS: ClassVar[tuple[Key, ...]] = ()

    @property
    def numbers(self) -> tuple[Number, ...]:
        """None: nothing in it can move."""
        return ()

    def link(self, values: Values, upstream: Port) -> Coupling:
        """The coupling without play."""
        return Coupling(half_play_rad=0.0, clamped_at_rad=_behind(upstream))

    def describe(self) -> str:
        """Its kind."""
        return "Rigid, no play"

    def objections(self, low: float, high: float, upstream: Port) -> tuple[Problem, ...]:
        """None: it takes any input."""
        return ()


def _stiffness(default: str) -> QuantityKey:
    return QuantityKey(
        name="stiffness",
        field="stiffness_nm_per_rad",
        meaning="windup of the coupling, from its stiffness in torsion",
        kinds=(Kind.STIFFNESS,),
        default=default,
        above=0.0,
        cured_by=ONE_SIDED,
    )


def _windup(formula: str, numbers: Mapping[str, Numeric], half_rad: Numeric) -> Figure:
    return Figure(
        symbol="r",
        meaning="the far side lags by the windup, either way",
        formula=formula,
        numbers=numbers,
        result=_DEGREES * half_rad,
        unit="deg",
        source="practice",
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class FlexiblePart:
    """A bellows, beam or disc coupling: no play, but it winds up by the sensor's friction over its stiffness.

    The stiffness assumed is that of a small beam coupling, from memory of typical data sheets.
    """

    room: ClassVar[str] = "coupling"
    kind: ClassVar[str] = "flexible"
    label: ClassVar[str] = "Flexible coupling"
    KEYS: ClassVar[tuple[Key, ...]] = (_stiffness("20 N m/rad ± 50 %"), _friction("5 N mm ± 50 %"))
    stiffness_nm_per_rad: Spread
    friction_nm: Spread

    @property
    def numbers(self) -> tuple[Number, ...]:
        """Stiffness and friction."""
        return numbers_of(self)

    def link(self, values: Values, upstream: Port) -> Coupling:
        """The coupling with its windup."""
        torque, stiffness = values["friction_nm"], values["stiffness_nm_per_rad"]
        half = torque / stiffness
        numbers = {"M": 1e3 * torque, "k": 1e3 / _DEGREES * stiffness}
        return Coupling(
            half_play_rad=half,
            clamped_at_rad=_behind(upstream),
            figures=(_windup("M / k", numbers, half),),
        )

    def describe(self) -> str:
        """Its kind."""
        return "Flexible, no play"

    def objections(self, low: float, high: float, upstream: Port) -> tuple[Problem, ...]:
        """None: it takes any input."""
        return ()


@dataclass(frozen=True, slots=True, kw_only=True)
class ElasticTubePart:
    """A piece of rubber or plastic tube: it winds up far, and creeps back short of where it was.

    Slip on the shaft is a fault and not a spread: it has no place in a budget. The stiffness assumed is that
    of 15 mm of soft tube, 6 mm inside and 10 mm outside, worked out with a shear modulus of 1 MPa.
    """

    room: ClassVar[str] = "coupling"
    kind: ClassVar[str] = "elastic-tube"
    label: ClassVar[str] = "Elastic tube"
    KEYS: ClassVar[tuple[Key, ...]] = (
        _stiffness("1 N mm/deg ± 50 %"),
        _friction("5 N mm ± 50 %"),
        QuantityKey(
            name="hysteresis",
            field="hysteresis_rad",
            meaning="hysteresis of the tube, total, at the sensor's shaft",
            kinds=(Kind.ANGLE,),
            default="1 deg",
            least=0.0,
            cured_by=ONE_SIDED,
        ),
    )
    stiffness_nm_per_rad: Spread
    friction_nm: Spread
    hysteresis_rad: Spread

    @property
    def numbers(self) -> tuple[Number, ...]:
        """Stiffness, friction and hysteresis."""
        return numbers_of(self)

    def link(self, values: Values, upstream: Port) -> Coupling:
        """The tube with its windup and hysteresis."""
        torque, stiffness = values["friction_nm"], values["stiffness_nm_per_rad"]
        total = values["hysteresis_rad"]
        half = torque / stiffness + total / 2.0
        numbers = {"M": 1e3 * torque, "k": 1e3 / _DEGREES * stiffness, "h": _DEGREES * total}
        return Coupling(
            half_play_rad=half,
            clamped_at_rad=_behind(upstream),
            figures=(_windup("M / k + h / 2", numbers, half),),
        )

    def describe(self) -> str:
        """Its kind."""
        return "Elastic tube"

    def objections(self, low: float, high: float, upstream: Port) -> tuple[Problem, ...]:
        """None: it takes any input."""
        return ()


PARTS = (DBorePart, RigidPart, FlexiblePart, ElasticTubePart)
