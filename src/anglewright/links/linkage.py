"""Four-bar linkage from the axis to the sensor's lever: a ratio that varies over the travel."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from itertools import product
from typing import ClassVar

import numpy as np

from anglewright.circuits import Numeric
from anglewright.errors import Problem
from anglewright.links.fields import ONE_SIDED, ChoiceKey, Key, QuantityKey
from anglewright.links.protocol import Array, ClampedPort, Number, Port, Signal, State, Values, numbers_of
from anglewright.links.ratio import TURN, behind_motion, takes_angle
from anglewright.play import follow_play, lagged
from anglewright.quantities.spread import Spread
from anglewright.quantities.units import Kind
from anglewright.steps import Step

ASSEMBLIES = {"open": 1, "crossed": -1}
_SAMPLES = 361  # of the range in the search for places where it cannot close or turns back [1]
_HALVINGS = 50
_SAME = 1e-6  # two angles of the output that are one [rad]


def freudenstein(
    *, ground: Numeric, input: Numeric, coupler: Numeric, output: Numeric
) -> tuple[Numeric, ...]:
    r"""The three numbers of Freudenstein's equation.

    Parameters
    ----------
    ground, input, coupler, output : float or array
        Lengths of the four bars. [m]

    Returns
    -------
    tuple
        :math:`K_1, K_2, K_3`. [1]

    Notes
    -----
    :math:`K_1 = d/a, K_2 = d/c, K_3 = (a^2 - b^2 + c^2 + d^2) / (2 a c)` in
    :math:`K_1 \cos\theta_4 - K_2 \cos\theta_2 + K_3 = \cos(\theta_2 - \theta_4)`.

    References
    ----------
    freudenstein

    Examples
    --------
    Ground 6, input 2, coupler 7 and output 9:

    >>> [round(k, 4) for k in freudenstein(ground=6.0, input=2.0, coupler=7.0, output=9.0)]
    [3.0, 0.6667, 2.0]
    """
    squares = input**2 - coupler**2 + output**2 + ground**2
    return ground / input, ground / output, squares / (2.0 * input * output)


def coefficients(k: tuple[Numeric, ...], theta_2: Numeric) -> tuple[Numeric, ...]:
    r"""Coefficients of the quadratic whose root is the tangent of half the output lever's angle.

    Parameters
    ----------
    k : tuple
        The three numbers of Freudenstein's equation. [1]
    theta_2 : float or array
        Angle of the input lever. [rad]

    Returns
    -------
    tuple
        :math:`A, B, C` of :math:`A t^2 + B t + C = 0`. [1]

    References
    ----------
    freudenstein
    """
    k_1, k_2, k_3 = k
    cosine = np.cos(theta_2)
    return cosine - k_1 - k_2 * cosine + k_3, -2.0 * np.sin(theta_2), k_1 - (k_2 + 1.0) * cosine + k_3


def _arm(radius: Numeric, angle: Numeric, *, base: Numeric) -> tuple[Numeric, Numeric]:
    """Length and direction of base + radius at an angle; the direction is continuous over turns. [m, rad]"""
    x, y = base + radius * np.cos(angle), radius * np.sin(angle)
    seen_along = np.arctan2(y, x)
    seen_from_tip = angle + np.arctan2(-base * np.sin(angle), radius + base * np.cos(angle))
    return np.hypot(x, y), np.where(radius < base, seen_along, seen_from_tip)


def _corner(near: Numeric, reach: Numeric, *, opposite: Numeric) -> Numeric:
    """Angle of a triangle between two sides, from all three; nan where it cannot close. [rad]"""
    with np.errstate(invalid="ignore", divide="ignore"):
        return np.arccos((near**2 + reach**2 - opposite**2) / (2.0 * near * reach))


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class FourBar:
    """Ground, input, coupler and output of a linkage closed in one of its two assemblies.

    Angles of the levers are counted from the line between the fixed pivots, from the axis to the sensor,
    the positive way of the axis. `input_zero_rad` is the input lever's where the axis reads zero. The
    shaft's angle is counted the way it turns when the axis moves the positive way, so that it always rises;
    which way that is, and the branch of the way back, are those of the place where the sensor was clamped.
    """

    takes: ClassVar[Signal] = Signal.POSITION
    gives: ClassVar[Signal] = Signal.SHAFT
    sense: ClassVar[int] = 1
    ground: Numeric
    input: Numeric
    coupler: Numeric
    output: Numeric
    input_zero_rad: Numeric
    half_play_rad: Numeric
    clamped_at_rad: Numeric
    assembly: int = 1

    @property
    def port(self) -> Port:
        """Where the sensor's lever stood when the sensor was clamped."""
        return ClampedPort(at=self._turned(self.clamped_at_rad))

    @property
    def lag(self) -> Numeric:
        """Half the free turn, at the axis. [rad]"""
        return self.half_play_rad

    def levers(self, u: Numeric) -> tuple[Numeric, Numeric, Numeric]:
        """Angles of input, coupler and output lever at a position; nan where it cannot close. [rad]"""
        theta = u + np.asarray(self.input_zero_rad)
        reach, along = _arm(self.input, theta + np.pi, base=self.ground)
        out = along + np.pi - self.assembly * _corner(self.output, reach, opposite=self.coupler)
        x = self.ground + self.output * np.cos(out) - self.input * np.cos(theta)
        return theta, np.arctan2(self.output * np.sin(out) - self.input * np.sin(theta), x), out

    def ratio(self, u: Numeric) -> Numeric:
        """Turn of the output lever per turn of the axis, negative where it turns the other way. [1]"""
        theta, coupler, out = self.levers(u)
        with np.errstate(divide="ignore"):
            return self.input * np.sin(theta - coupler) / (self.output * np.sin(out - coupler))

    def way(self) -> Numeric:
        """+1 or -1: which way the output turns at the clamping. [1]"""
        return np.sign(self.ratio(self.clamped_at_rad))

    def _turned(self, u: Numeric) -> Numeric:
        shaft = self.way() * self.levers(u)[2]
        return shaft if np.ndim(shaft) else float(shaft)

    def forward(self, u: Numeric, *, side: Numeric = 0) -> Numeric:
        """Angle of the sensor's lever. [rad]"""
        return self._turned(lagged(u, half=self.half_play_rad, side=side))

    def _input_at(self, out: Numeric, branch: Numeric) -> Numeric:
        """Angle of the input lever from that of the output, up to whole turns. [rad]"""
        reach, along = _arm(self.output, out, base=self.ground)
        return along + branch * _corner(self.input, reach, opposite=self.coupler)

    def _branch(self) -> Numeric:
        """+1 or -1: on which side of the line to the coupler's far end the input lever stands. [1]"""
        theta, _, out = self.levers(self.clamped_at_rad)
        return np.sign(np.sin(theta - _arm(self.output, out, base=self.ground)[1]))

    def backward(self, y: Numeric, *, side: Numeric = 0) -> Numeric:
        """Angle of the axis, on the branch of the clamping; nan beyond the reach of the output. [rad]"""
        branch, way = self._branch(), self.way()
        theta, _, out = self.levers(self.clamped_at_rad)
        whole = TURN * np.round((theta - self._input_at(out, branch)) / TURN)
        u = self._input_at(way * y, branch) + whole - self.input_zero_rad
        with np.errstate(invalid="ignore"):  # a lever that stands where only the other assembly could put it
            u = np.where(np.abs(self._turned(u) - y) < _SAME, u, np.nan) + self.half_play_rad * side
        return u if np.ndim(u) else float(u)

    def follow(self, u: Array, t: Array, state: State) -> tuple[Array, State]:
        """Path of the sensor's lever. [rad]"""
        path, state = follow_play(u, state, half=self.half_play_rad)
        return np.asarray(self._turned(path)), state

    def explain(self, u: float) -> tuple[Step, ...]:
        """Freudenstein's equation, solved for the output lever."""
        return _explain(self, u)


def _explain(bar: FourBar, u: float) -> tuple[Step, ...]:
    a, b, c, d = (float(np.mean(each)) for each in (bar.input, bar.coupler, bar.output, bar.ground))
    zero = float(np.mean(bar.input_zero_rad))
    k = tuple(float(each) for each in freudenstein(ground=d, input=a, coupler=b, output=c))
    root = coefficients(k, u + zero)
    angles = {"q": np.degrees(u), "q_0": np.degrees(zero)}
    theta = _step("theta_2", "angle of the input lever", "q + q_0", angles)
    return (
        replace(theta, result=float(np.degrees(u + zero)), unit="deg"),
        *_length_steps((1e3 * a, 1e3 * b, 1e3 * c, 1e3 * d), k),
        *_coefficient_steps(u + zero, k, root),
        *_output_steps(bar, u, root),
    )


def _step(symbol: str, meaning: str, formula: str, numbers: Mapping[str, float]) -> Step:
    """A step without its result."""
    return Step(
        symbol=symbol,
        meaning=meaning,
        formula=formula,
        numbers={name: float(value) for name, value in numbers.items()},
        result=0.0,
        unit="",
        source="freudenstein",
    )


def _length_steps(lengths_mm: tuple[float, ...], k: tuple[float, ...]) -> Iterator[Step]:
    named = dict(zip("abcd", lengths_mm, strict=True))
    steps = (
        _step("K_1", "ground over input", "d / a", {"d": named["d"], "a": named["a"]}),
        _step("K_2", "ground over output", "d / c", {"d": named["d"], "c": named["c"]}),
        _step("K_3", "how the lengths differ", "(a**2 - b**2 + c**2 + d**2) / (2 * a * c)", named),
    )
    return (replace(step, result=value) for step, value in zip(steps, k, strict=True))


def _coefficient_steps(theta: float, k: tuple[float, ...], root: tuple[Numeric, ...]) -> Iterator[Step]:
    """Coefficients of the quadratic in the tangent of half the output lever's angle."""
    cosine, sine = "cos(theta_2 * pi / 180)", "sin(theta_2 * pi / 180)"
    angle = {"theta_2": float(np.degrees(theta))}
    known = angle | dict(zip(("K_1", "K_2", "K_3"), k, strict=True))
    steps = (
        _step("A", "coefficient of the square", f"{cosine} - K_1 - K_2 * {cosine} + K_3", known),
        _step("B", "coefficient of the tangent", f"-2 * {sine}", angle),
        _step("C", "coefficient of neither", f"K_1 - (K_2 + 1) * {cosine} + K_3", known),
    )
    return (replace(step, result=float(value)) for step, value in zip(steps, root, strict=True))


def _output_steps(bar: FourBar, u: float, root: tuple[Numeric, ...]) -> tuple[Step, ...]:
    """The root of the assembly, then counted on over whole turns the way the shaft turns."""
    a, b, c = (float(each) for each in root)
    way, sign = float(np.mean(bar.way())), "-" if bar.assembly > 0 else "+"
    formula = f"360 / pi * atan((-B {sign} sqrt(B**2 - 4 * A * C)) / (2 * A))"
    angle = 2.0 * np.arctan((-b - bar.assembly * np.sqrt(b**2 - 4.0 * a * c)) / (2.0 * a))
    output = _step("theta_4", "angle of the output lever", formula, {"A": a, "B": b, "C": c})
    shaft, theta = float(np.degrees(np.mean(bar.forward(u)))), float(np.degrees(angle))
    numbers = {"w": way, "theta_4": theta, "k": np.round((way * shaft - theta) / 360.0) + 0.0}
    turned = _step("phi", "angle of the sensor's lever, the way it turns", "w * (theta_4 + 360 * k)", numbers)
    return replace(output, result=theta, unit="deg"), replace(turned, result=shaft, unit="deg")


def _length_key(name: str, meaning: str, example: str) -> QuantityKey:
    return QuantityKey(
        name=name,
        field=f"{name}_m",
        meaning=meaning,
        kinds=(Kind.LENGTH,),
        required=True,
        above=0.0,
        example=example,
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class FourBarPart:
    """A lever on the axis, a rod, and a lever on the sensor's shaft."""

    room: ClassVar[str] = "drive"
    kind: ClassVar[str] = "four-bar"
    label: ClassVar[str] = "Four-bar linkage"
    KEYS: ClassVar[tuple[Key, ...]] = (
        _length_key("ground", "distance from the axis to the sensor's shaft", "100 mm"),
        _length_key("input", "length of the lever on the axis", "35 mm"),
        _length_key("coupler", "length of the rod between the levers, eye to eye", "98 mm"),
        _length_key("output", "length of the lever on the sensor's shaft", "40 mm"),
        QuantityKey(
            name="input_at_zero",
            field="input_zero_rad",
            meaning="angle of the input lever at zero, from the line to the sensor's shaft, the axis's way",
            kinds=(Kind.ANGLE,),
            required=True,
            example="40 deg",
        ),
        ChoiceKey(
            name="assembly",
            field="assembly",
            meaning="which of the two ways the linkage is put together, for an input lever at 0 to 180 deg: "
            "open with both levers on one side of the line between the shafts, or crossed",
            choices=tuple(ASSEMBLIES),
            default="open",
        ),
        QuantityKey(
            name="play",
            field="play_rad",
            meaning="play of the linkage, total of its joints, at the axis",
            kinds=(Kind.ANGLE,),
            default="0.3 deg",
            least=0.0,
            cured_by=ONE_SIDED,
        ),
    )
    ground_m: Spread
    input_m: Spread
    coupler_m: Spread
    output_m: Spread
    input_zero_rad: Spread
    play_rad: Spread
    assembly: str = "open"

    @property
    def numbers(self) -> tuple[Number, ...]:
        """The four lengths, the input lever's angle at zero, and the play."""
        return numbers_of(self)

    def link(self, values: Values, upstream: Port) -> FourBar:
        """The linkage with plain numbers, behind a rotary motion."""
        return FourBar(
            ground=values["ground_m"],
            input=values["input_m"],
            coupler=values["coupler_m"],
            output=values["output_m"],
            input_zero_rad=values["input_zero_rad"],
            half_play_rad=values["play_rad"] / 2.0,
            clamped_at_rad=behind_motion(upstream),
            assembly=ASSEMBLIES[self.assembly],
        )

    def describe(self) -> str:
        """Assembly and lengths."""
        lengths = (self.ground_m, self.input_m, self.coupler_m, self.output_m)
        sizes = " : ".join(f"{1e3 * each.nominal:g}" for each in lengths)
        return f"Four-bar, {self.assembly}, {sizes} mm"

    def objections(self, low: float, high: float, upstream: Port) -> tuple[Problem, ...]:
        """A motion along a line, or a place in the range that the linkage cannot pass."""
        found = takes_angle(upstream)
        for when, values in self._corners():
            bar = self.link(values, upstream) if not found else None
            faults = [_stuck(bar, end, when) for end in (low, high)] if bar else []
            found = found or tuple(each for each in faults if each is not None)[:1]
        return found

    def _corners(self) -> Iterator[tuple[str, Values]]:
        """The nominal numbers, then every mixture of their limits, each with words for it."""
        spreads = {number.field: number.variate for number in self.numbers if number.field != "play_rad"}
        yield "", {name: each.nominal for name, each in spreads.items()} | {"play_rad": 0.0}
        for mixture in product(*(sorted(set(each.limits)) for each in spreads.values())):
            limits = dict(zip(spreads, mixture, strict=True)) | {"play_rad": 0.0}
            yield " with its numbers at their limits", limits


def _passes(bar: FourBar, u: Numeric) -> Array:
    """Whether the linkage closes and its output has not turned back since the clamping."""
    return np.asarray(np.sign(bar.ratio(u)) == bar.way())


def _stuck(bar: FourBar, end: float, when: str) -> Problem | None:
    """The first place from the clamping towards an end of the range that it cannot pass, or None."""
    start = float(np.mean(bar.clamped_at_rad))
    zero = float(np.mean(bar.input_zero_rad))
    low, high = sorted((start, end))
    flat = np.pi * np.arange(np.ceil((low + zero) / np.pi), np.floor((high + zero) / np.pi) + 1.0) - zero
    path = np.sort(np.concatenate([np.linspace(low, high, _SAMPLES), flat]))
    path = path if end >= start else path[::-1]
    good = _passes(bar, path)
    if np.all(good):
        return None
    first = int(np.argmin(good))
    inside, outside = (float(path[max(first - 1, 0)]), float(path[first]))
    for _ in range(_HALVINGS if first else 0):
        middle = (inside + outside) / 2.0
        inside, outside = (middle, outside) if _passes(bar, middle) else (inside, middle)
    if (
        not abs(float(np.mean(bar.ratio(inside)))) < 1.0
    ):  # without bounds where it opens, nought where it turns
        return _open(bar, outside, path, when)
    found = f"the sensor's lever turns back at {np.degrees(outside):.4g} deg{when}"
    remedy = "Keep the motion on one side of it, or change the lengths of the levers."
    return Problem("drive", found, "beyond it two positions give one reading", remedy)


def _open(bar: FourBar, at: float, path: Array, when: str) -> Problem:
    """It cannot close: the rod and the sensor's lever are too short together, or too unequal."""
    gaps = np.asarray(_arm(bar.input, np.append(path, at) + bar.input_zero_rad + np.pi, base=bar.ground)[0])
    coupler, output = float(np.mean(bar.coupler)), float(np.mean(bar.output))
    longest, shortest = coupler + output, abs(coupler - output)
    found = f"the linkage cannot close from {np.degrees(at):.4g} deg on{when}"
    if longest - gaps[-1] < gaps[-1] - shortest:
        limit = f"coupler and output reach {1e3 * longest:.4g} mm and {1e3 * np.max(gaps):.4g} mm are needed"
        remedy = "Keep the motion short of it, or lengthen the coupler or the output."
    else:
        most = 1e3 * np.min(gaps)
        limit = f"coupler and output differ by {1e3 * shortest:.4g} mm and may differ by {most:.4g} mm"
        remedy = "Keep the motion short of it, or make coupler and output more alike."
    return Problem("drive", found, limit, remedy)


PARTS = (FourBarPart,)
