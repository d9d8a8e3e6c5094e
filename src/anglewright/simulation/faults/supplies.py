"""Faults of supplies and of warmth: a shared feed that sags, another feed, an output that drifts."""

from collections.abc import Mapping

import numpy as np

from anglewright.links.protocol import Array
from anglewright.quantities.units import Kind
from anglewright.rig import Axis, at_nominal, realise
from anglewright.simulation.faults.protocol import Fault, Scene, Site, Size, gives_volts, has_track

IDLE_A = 0.2  # what the motor draws at rest [A]
AT_TOP_SPEED_A = 1.5  # more at the axis's top speed [A]
STARTING_A = 2.5  # more while it gains its top speed in a quarter of a second [A]
_START_S = 0.25  # [s]
COLD_C, WARMER_C = 20.0, 25.0  # at the start, and by how much it warms up in the end [degC, K]
_WARM_UP = 3.0  # time constants of the warming in one run [1]
_USUAL_STROKE_S = 3.0  # over the whole range, where the file names no speed [s]


def feed_volts(axis: Axis) -> float:
    """Feed of the sensor by the data sheet. [V]"""
    return float(np.mean(getattr(realise(axis, at_nominal).links[-2], "feed_v", np.nan)))


def motor_current(t: Array, q: Array, axis: Axis) -> Array:
    r"""Current of an invented motor that moves the axis along a path.

    Parameters
    ----------
    t : array, (N,)
        Times, rising. [s]
    q : array, (N,)
        Positions. [m or rad]
    axis : Axis
        Its top speed scales the current.

    Returns
    -------
    array, (N,)
        Current. [A]

    Notes
    -----
    :math:`i_0 + i_v |\dot q| / v + i_a |\ddot q| / a`: friction that grows with speed, and torque to gain it,
    which the controller limits.

    References
    ----------
    practice
    """
    span = axis.motion.high - axis.motion.low
    top = axis.motion.speed.nominal if axis.motion.speed else span / _USUAL_STROKE_S
    if len(t) < 2:
        return np.full(len(t), IDLE_A)
    speed = np.gradient(q, t)
    gain = np.minimum(np.abs(np.gradient(speed, t)) * _START_S / top, 1.0)
    return np.asarray(IDLE_A + AT_TOP_SPEED_A * np.abs(speed) / top + STARTING_A * gain)


def warmth(t: Array) -> Array:
    """Temperature of a machine that warms up over a run. [degC]"""
    tau = max(float(t[-1] - t[0]), 1e-9) / _WARM_UP
    return np.asarray(COLD_C + WARMER_C * (1.0 - np.exp(-(t - t[0]) / tau)))


def _sagged(volts: Array, scene: Scene) -> Array:
    """The sensor's feed drops by current times resistance, the reference's does not."""
    drop = scene.size * motor_current(scene.t, scene.q, scene.axis) / feed_volts(scene.axis)
    return np.where(scene.on, volts * (1.0 - drop), volts)


def _current(scene: Scene) -> Mapping[str, Array]:
    return {"current_a": motor_current(scene.t, scene.q, scene.axis)}


def _fed_otherwise(volts: Array, scene: Scene) -> Array:
    return np.where(scene.on, volts * scene.size / feed_volts(scene.axis), volts)


def _warmed(share: Array, scene: Scene) -> Array:
    gain = scene.size * (warmth(scene.t) - COLD_C)
    return np.where(scene.on, share * (1.0 + gain), share)


def _temperature(scene: Scene) -> Mapping[str, Array]:
    return {"temperature_degc": warmth(scene.t)}


FAULTS = (
    Fault(
        name="sag",
        meaning="the sensor shares so many ohms of its feed's wire with the motor; adds the motor's current",
        notes="F24",
        size=Size(kinds=(Kind.RESISTANCE,), usual="0.4 ohm", least=0.0),
        acts={Site.INPUT: _sagged},
        columns=_current,
        fits=gives_volts,
    ),
    Fault(
        name="other-feed",
        meaning="the sensor is fed from another supply than the converter refers to",
        notes="F05, F06",
        size=Size(kinds=(Kind.VOLTAGE,), usual="5 V", least=0.0),
        acts={Site.INPUT: _fed_otherwise},
        fits=gives_volts,
    ),
    Fault(
        name="drift",
        meaning="the output grows as the sensor warms up by 25 K over the run; adds the temperature",
        notes="list 23",
        size=Size(kinds=(Kind.TEMPERATURE_COEFFICIENT,), usual="400 ppm/K"),
        acts={Site.OUTPUT: _warmed},
        columns=_temperature,
        fits=has_track,
    ),
)
