"""Every sensor at every drive held against a need: what each number asks for, and what there is of it."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from anglewright.angles import TURN
from anglewright.calibration.student import coverage_factor
from anglewright.links.protocol import Array
from anglewright.selection.curves import between
from anglewright.selection.drives import Drives
from anglewright.selection.figures import Form, SensorFigures
from anglewright.selection.needs import Need, Places

CHECKS = (
    "travel",
    "stops",
    "endless motion",
    "wrap",
    "speed",
    "life",
    "homing",
    "resolution",
    "counter",
    "voltage",
    "reach",
    "error",
)
"""What can rule a choice out, in the order in which the reasons are told."""

MARGIN = float(np.radians(5.0))  # of the sensor's shaft, to spare at each end [rad]
LEAST_COUNTS = 10.0  # per permissible error [1]
SAME = 1e-9  # a share by which two numbers may differ and be the same [1]
NEVER = 1e9  # what is asked for where no number would do [1]


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class Judged:
    """N choices: which sensor and drive (N,), what each check asks for and what there is of it, (R, N).

    `half_width` (N,) is nan where the sensor does not reach over the motion. [m or rad] `cost` is in units
    of money, `margin` the permissible error over the half-width less 1. [1]
    """

    need: Need
    sensors: tuple[SensorFigures, ...]
    drives: Drives
    sensor: Places
    drive: Places
    asked: Array
    there: Array
    half_width: Array
    cost: Array

    @property
    def margin(self) -> Array:
        """Permissible error over the half-width, less 1, (N,). [1]"""
        return np.asarray(self.need.axis.permissible / self.half_width - 1.0)

    @property
    def shortfall(self) -> Array:
        """What is asked for over what there is, (R, N); above 1 it rules out. [1]"""
        return missing(self.asked, self.there)

    @property
    def ruled_out(self) -> Array:
        """Which checks rule out which choices, (R, N), yes or no. [1]"""
        return np.asarray(self.shortfall > 1.0 + SAME)


def missing(asked: Array, there: Array) -> Array:
    """What is asked for over what there is; 0 where nothing is asked for. [1]"""
    with np.errstate(divide="ignore", invalid="ignore"):
        return np.asarray(np.where(asked > 0.0, asked / there, 0.0))


def judge(need: Need, sensors: Sequence[SensorFigures], drives: Drives) -> Judged:
    """Hold every sensor at every drive that it can sit on against the need.

    Parameters
    ----------
    need : Need
        What the axis asks for.
    sensors : sequence of SensorFigures
        The sensors as numbers.
    drives : Drives
        The drives as numbers; a sensor with a drive of its own takes that one alone.

    Returns
    -------
    Judged
        Every choice with all that speaks against it.

    References
    ----------
    gum, practice
    """
    blocks = [_Block(need=need, sensor=sensor, drives=drives, at=sensor.drives) for sensor in sensors]
    numbers = [block.numbers() for block in blocks]
    which = [np.full(len(block.at), place, dtype=np.intp) for place, block in enumerate(blocks)]
    empty = np.zeros(0, dtype=np.intp)
    return Judged(
        need=need,
        sensors=tuple(sensors),
        drives=drives,
        sensor=np.concatenate([empty, *which]),
        drive=np.concatenate([empty, *(block.at for block in blocks)]),
        asked=np.concatenate([np.zeros((len(CHECKS), 0)), *(asked for asked, _, _ in numbers)], axis=1),
        there=np.concatenate([np.zeros((len(CHECKS), 0)), *(there for _, there, _ in numbers)], axis=1),
        half_width=np.concatenate([np.zeros(0), *(width for _, _, width in numbers)]),
        cost=np.concatenate([np.zeros(0), *(block.sensor.cost + drives.cost[block.at] for block in blocks)]),
    )


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class _Block:
    """One sensor at the drives of the columns `at` (D,)."""

    need: Need
    sensor: SensorFigures
    drives: Drives
    at: Places

    @property
    def ratio(self) -> Array:
        """Shaft angle per position, (D,). [rad/m or rad/rad]"""
        return np.asarray(self.drives.ratio[self.at])

    def numbers(self) -> tuple[Array, Array, Array]:
        """What each check asks for and what there is of it, (R, D), and the half-widths (D,)."""
        place, share = self.sensor.curves.rows(np.abs(self.ratio) * self.need.span)
        half_width = self._half_width(place, share)
        rows: dict[str, tuple[Any, Any]] = {
            "travel": (self._room(), self._if(Form.TRACK, self.sensor.reach)),
            "stops": (self._driven(), self.sensor.mechanical),
            "endless motion": (float(self.need.axis.motion.endless), self._if(Form.TRACK, 0.0)),
            "wrap": self._wrap(),
            "speed": ((self.need.speed or 0.0) * self.ratio, self.sensor.top_speed),
            "life": (self._wear(), self.sensor.life),
            "homing": (float(not self.need.axis.duty.homing_allowed), self._if(Form.COUNTING, 0.0)),
            "resolution": (LEAST_COUNTS, self._counts(place, share)),
            "counter": (self._register(place, share), self.sensor.counts),
            "voltage": self.sensor.voltage,
            "reach": (self.need.stops_span, self.sensor.longest),
            "error": (np.nan_to_num(half_width, nan=0.0), self.need.axis.permissible),
        }
        asked, there = (
            np.array([np.broadcast_to(rows[name][k], self.at.shape) for name in CHECKS]) for k in (0, 1)
        )
        return asked, there, half_width

    def _if(self, form: Form, there: float) -> float:
        """What there is in a sensor of a form; any amount in another."""
        return there if self.sensor.form is form else float("inf")

    def _play(self) -> Array:
        """Free motion in all at the shaft, (D,). [rad]"""
        lag = float(np.max(np.abs(self.sensor.curves.lag)))
        return np.asarray(2.0 * (self.drives.half_play[self.at] * self.ratio + lag))

    def _driven(self) -> Array:
        """Shaft angle that the drive can reach from stop to stop, play and clamping included, (D,). [rad]"""
        loose = self._play() + self.sensor.clamping
        return np.asarray(self.ratio * self.need.stops_span + 2.0 * loose)

    def _room(self) -> Array:
        """The same with 5 deg to spare at each end, (D,). [rad]"""
        return self._driven() + 2.0 * MARGIN

    def _wrap(self) -> tuple[Array, float]:
        """Shaft angle asked of an absolute sensor, and its whole unambiguous angle. [rad]

        An endless axis asks that the reading come round after a whole number of its turns, after one where
        the sensor tells no more than one.
        """
        if not self.need.axis.motion.endless:
            return self._room(), self._if(Form.ABSOLUTE, self.sensor.reach)
        rounds = self.sensor.reach / TURN / np.abs(self.ratio)
        most = 1.0 if self.sensor.reach <= TURN * (1.0 + SAME) else np.inf
        whole = np.round(rounds)
        even = (whole >= 1.0) & (whole <= most) & (np.abs(rounds - whole) < SAME)
        return np.where(even, 0.0, NEVER), self._if(Form.ABSOLUTE, self.sensor.reach)

    def _wear(self) -> Array:
        """Strokes, or turns of the shaft, over the life of the axis, (D,). [1]"""
        duty = self.need.axis.duty
        strokes, hunting = float(duty.strokes or 0), float(duty.hunting or 0)
        if not self.sensor.life_in_turns:
            return np.full(self.at.shape, strokes + hunting)
        there_and_back = 2.0 * (strokes * self.need.span + hunting * (duty.hunting_size or 0.0))
        return np.asarray(there_and_back * self.ratio / TURN)

    def _counts(self, place: Places, share: Array) -> Array:
        """Codes per permissible error where the slope is least, (D,). [count]"""
        slope = between(self.sensor.curves.slope, place, np.nan_to_num(share))
        return np.asarray(slope * self.ratio * self.need.axis.permissible)

    def _register(self, place: Places, share: Array) -> Array:
        """Counts from stop to stop, (D,). [count]"""
        slope = between(self.sensor.curves.slope, place, np.nan_to_num(share))
        return np.asarray(slope * self.ratio * self.need.stops_span)

    def _half_width(self, place: Places, share: Array) -> Array:
        """Largest half-width over the motion after the planned calibration, (D,). [m or rad]"""
        curves, ratio = self.sensor.curves, self.ratio[:, None]
        half = self.drives.half_play[self.at, None] + between(curves.lag, place, share) / ratio
        loose = self.drives.loose[self.at, None] + between(curves.loose, place, share) / ratio**2
        bias = between(curves.bias, place, share) / ratio + self.need.seen_side * half
        variance = between(curves.variance, place, share) / ratio**2 + self.drives.variance[self.at]
        variance += reference_variance(self.need) + (half**2 + loose) / self.need.play_divisor**2
        width = np.abs(bias) + coverage_factor(float("inf")) * np.sqrt(variance)
        return np.asarray(np.max(width, axis=1))


def reference_variance(need: Need) -> Array:
    """What the reference of the planned calibration brings in, (P,). [m2 or rad2]"""
    plan, positions = need.axis.plan, need.places * need.span + need.middle
    fresh = plan.reference.per_point.standard_uncertainty * need.correction.noise_gain()
    shared = plan.reference.shared.standard_uncertainty
    scale = plan.reference.scale.standard_uncertainty * positions
    return np.asarray(fresh**2 / (2.0 if plan.both_sides else 1.0) + shared**2 + scale**2)
