"""Faults of shafts: slip in the coupling, a body that turns, a belt that jumps, an eccentric ring, a drag."""

import numpy as np

from anglewright.angles import TURN
from anglewright.links.protocol import Array
from anglewright.links.wheels import wheel_teeth
from anglewright.quantities.units import Kind
from anglewright.rig import Axis
from anglewright.simulation.faults.protocol import Fault, Scene, Site, Size

_ANGLE = (Kind.ANGLE,)


def _slipped(shaft: Array, scene: Scene) -> Array:
    return np.asarray(shaft + np.where(scene.on, scene.size, 0.0))


def _body_turned(turn: Array, scene: Scene) -> Array:
    """The shaft stays, and the body under it goes the same way as a slip would: the sensor turns less."""
    away = scene.link("mount").sense * np.where(scene.on, scene.size, 0.0)
    return np.asarray(turn - away)


def _jumped(shaft: Array, scene: Scene) -> Array:
    teeth = wheel_teeth(scene.axis.part("drive"))
    assert teeth is not None
    return shaft + np.where(scene.on, scene.size * TURN / teeth, 0.0)


def _has_teeth(axis: Axis, size: float) -> str:
    return "" if wheel_teeth(axis.part("drive")) else "its drive has no toothed wheel"


def _off_centre(shaft: Array, scene: Scene) -> Array:
    phase = scene.chance.uniform(0.0, TURN)
    return shaft + np.where(scene.on, scene.size * np.sin(shaft + phase), 0.0)


def _tilted(shaft: Array, scene: Scene) -> Array:
    phase = scene.chance.uniform(0.0, TURN)
    return shaft + np.where(scene.on, scene.size * np.sin(2.0 * shaft + phase), 0.0)


def _stuck_until(shaft: Array, scene: Scene) -> Array:
    """The sensor stays until the shaft is off by the dead band, then jumps to where the shaft is."""
    out, here = np.array(shaft, dtype=np.float64), float(shaft[0])
    for k in np.flatnonzero(scene.on):
        if abs(shaft[k] - here) > scene.size:
            here = float(shaft[k])
        out[k] = here
    return out


def _other_way(turn: Array, scene: Scene) -> Array:
    return np.where(scene.on, -turn, turn)


FAULTS = (
    Fault(
        name="slip",
        meaning="the shaft slips in its coupling; the line drawn over shaft and coupling is broken",
        notes="F31",
        size=Size(kinds=_ANGLE, usual="5 deg"),
        event=True,
        acts={Site.SHAFT: _slipped},
    ),
    Fault(
        name="body-turn",
        meaning="the sensor's body turns in its bracket; the line drawn over body and bracket is broken",
        notes="F31",
        size=Size(kinds=_ANGLE, usual="3 deg"),
        event=True,
        acts={Site.TURN: _body_turned},
    ),
    Fault(
        name="tooth-jump",
        meaning="belt, chain or gear jumps by so many teeth of the wheel on the sensor's shaft",
        notes="F23",
        size=Size(kinds=(Kind.COUNT,), usual="1 tooth", whole=True),
        event=True,
        acts={Site.DRIVEN: _jumped},
        fits=_has_teeth,
    ),
    Fault(
        name="eccentric",
        meaning="an error once a turn of the sensor, either way, as of a magnet or wheel off its centre",
        notes="list 13",
        size=Size(kinds=_ANGLE, usual="1 deg", least=0.0),
        acts={Site.SHAFT: _off_centre},
    ),
    Fault(
        name="tilted",
        meaning="an error twice a turn of the sensor, either way, as of a tilted magnet or a bent joint",
        notes="list 13",
        size=Size(kinds=_ANGLE, usual="0.5 deg", least=0.0),
        acts={Site.SHAFT: _tilted},
    ),
    Fault(
        name="dead-band",
        meaning="the sensor sticks until its shaft is off by so much, then jumps after it",
        notes="F30",
        size=Size(kinds=_ANGLE, usual="2 deg", least=0.0),
        acts={Site.SHAFT: _stuck_until},
    ),
    Fault(
        name="reversed",
        meaning="the sensor turns the other way: mounted from the other side, or the wrong sign in the code",
        notes="list 16",
        acts={Site.TURN: _other_way},
    ),
)
