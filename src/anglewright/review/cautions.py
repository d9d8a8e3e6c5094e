"""Cautions for anything that moves: what to do at a fault, at the first power-up, before work on it.

The review shows them with its findings; whatever hands code over puts them beside the code.
"""

from anglewright.errors import Problem, UsageError, nearest

MECHANISMS = ("holds", "sinks", "drops", "springs")
"""What a mechanism can do with the motor off."""

_FAULT_ACTIONS = {
    "holds": (
        "Stop the drive and brake. The mechanism is said to hold with the motor off: "
        "try that under full load before you trust it."
    ),
    "sinks": (
        "Brake and hold; do not let the motor coast. The mechanism sinks slowly with the motor off: "
        "keep clear below it, and lower it under hand control."
    ),
    "drops": (
        "Brake and hold; do not let the motor coast. The mechanism drops with the motor off: "
        "keep clear below it, and support the load before anything else."
    ),
    "springs": (
        "Brake and hold; do not let the motor coast. Springs, cords or gas struts drive the mechanism "
        "with the motor off and stay loaded after the power is cut: keep clear of its path."
    ),
}

NO_SAFETY_DEVICE = (
    "A position sensor in the control loop is not a safety device. Hard stops and a means to cut the "
    "power come first."
)
"""What a sensor cannot be."""

FROZEN = (
    "The valid band cannot see a shaft that has come out of its coupling: the reading freezes at a legal "
    "value while the motor drives on. Add checks of your own: driven but not moving, moving faster than "
    "the motor can, moving the wrong way."
)
"""The worst failure, which no level shows."""

SLIDE = (
    "While a wire opens, the reading can slide through legal positions for tens of milliseconds before it "
    "leaves the valid band. The band alone is too late for a position loop."
)
"""How a broken wire looks in time."""

FIRST_POWER_UP = (
    "First power-up: turn the axis by hand and see that the position rises in the positive direction; "
    "then 5 to 10 % drive for a fraction of a second; then close the loop at no more than 20 % drive with "
    "a hand on the cut-off (common practice, no source)."
)
"""How to find an inverted sign without an accident."""

CALIBRATING = (
    "Calibrating needs the sensor's power on, with the motor's power physically removed and the load "
    "supported."
)
"""What must be on, what must be off."""

BEFORE_WORK = (
    "Before you work on the mechanism: cut the power and lock it out, support the load, discharge what is "
    "charged, and only then disconnect."
)
"""In this order."""

WHO_DECIDES = (
    "What your machine needs is decided by its risk assessment (ISO 12100), its safety functions "
    "(ISO 13849-1, IEC 60204-1), the codes of your place, and the people licensed for the work."
)
"""To whom to defer."""


def fault_action(when_unpowered: str) -> str:
    """What the controller must do when the position of such a mechanism cannot be trusted.

    Parameters
    ----------
    when_unpowered : str
        What the mechanism does with the motor off: 'holds', 'sinks', 'drops' or 'springs'.

    Returns
    -------
    str
        The action, in full sentences.

    Raises
    ------
    UsageError
        The word is none of the four.

    Notes
    -----
    Switching the motor off is not an action that is always safe: a motor that coasts lets go of
    its load. Defer to the risk assessment of the machine.

    References
    ----------
    practice
    iso12100

    Examples
    --------
    An arm that falls must not be let go:

    >>> fault_action("drops").split(";")[0]
    'Brake and hold'
    """
    return _FAULT_ACTIONS[known_mechanism(when_unpowered)]


def known_mechanism(when_unpowered: str) -> str:
    """The word itself, if it is one of the four.

    Raises
    ------
    UsageError
        It is none of them; the nearest ones are named.
    """
    if when_unpowered not in _FAULT_ACTIONS:
        found = f"'{when_unpowered}' does not say what the mechanism does with the motor off"
        raise UsageError(Problem("when_unpowered", found, "", nearest(when_unpowered, _FAULT_ACTIONS)))
    return when_unpowered
