"""Cautions of each stage of the sheet, as they follow from what the mechanism does with its motor off."""

from collections.abc import Mapping

from anglewright.review.cautions import (
    BEFORE_WORK,
    CALIBRATING,
    NO_SAFETY_DEVICE,
    WHO_DECIDES,
    fault_action,
)
from anglewright.testsheet.checks import Stage

_BY_HAND: Mapping[str, str] = {
    "holds": "It is said to hold with the motor off: try that gently before anybody reaches into it.",
    "sinks": "It sinks with the motor off: hold it or prop it at each mark, and keep clear below it.",
    "drops": (
        "It drops with the motor off: prop it, or let a second person carry it, before the brake is freed "
        "and at each mark; nobody below it."
    ),
    "springs": (
        "Springs, cords or gas struts drive it with the motor off: pin it or hold it at each mark, and keep "
        "clear of its path."
    ),
}

_NO_SWEEP = (
    "Do not go on to the next stage before all of this one is within its limits: a wiper on the wrong "
    "contact burns the track as soon as it is powered."
)
_TRY_CUT_OFF = "Try the means to cut the power before the motor turns for the first time."
_COASTS: Mapping[str, str] = {
    "holds": "",
    "sinks": " It must brake and hold: a motor that coasts lets the load sink.",
    "drops": " It must brake and hold: a motor that coasts lets the load drop.",
    "springs": " It must brake and hold: a motor that coasts lets the springs go.",
}


def precautions(stage: Stage, when_unpowered: str) -> tuple[str, ...]:
    """What comes before the first check of a stage.

    Parameters
    ----------
    stage : Stage
        The stage.
    when_unpowered : str
        What the mechanism does with the motor off: ``holds``, ``sinks``, ``drops`` or ``springs``.

    Returns
    -------
    tuple of str
        Full sentences. They stand beside the risk assessment of the machine, not in its place.

    References
    ----------
    practice
    iso12100

    Examples
    --------
    >>> precautions(Stage.PLUGGED, "sinks")[-1]
    'It sinks with the motor off: hold it or prop it at each mark, and keep clear below it.'
    """
    action = fault_action(when_unpowered)
    return {
        Stage.UNPLUGGED: (BEFORE_WORK, _NO_SWEEP, _BY_HAND[when_unpowered], WHO_DECIDES),
        Stage.FED: ("Motor's power physically removed; only the sensor's feed is on.",),
        Stage.PLUGGED: (CALIBRATING, _BY_HAND[when_unpowered]),
        Stage.FIRST_POWER: (NO_SAFETY_DEVICE, _TRY_CUT_OFF + _COASTS[when_unpowered], action),
    }[stage]
