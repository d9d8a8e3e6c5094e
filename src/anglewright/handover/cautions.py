"""What must stand beside every piece of code that moves something: fault actions and cautions."""

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

_WITH_THE_MOTOR_OFF = {
    "holds": "is said to hold still by itself",
    "sinks": "sinks slowly",
    "drops": "drops",
    "springs": "is driven by springs, cords or gas struts, which stay loaded",
}

STANDING_CAUTIONS = (
    "A position sensor in the control loop is not a safety device. Hard stops and a means to cut the "
    "power come first; this code replaces neither.",
    "The valid band cannot see a shaft that has come out of its coupling: the reading freezes at a legal "
    "value while the motor drives on. Add checks of your own: driven but not moving, moving faster than "
    "the motor can, moving the wrong way.",
    "While a wire opens, the reading can slide through legal positions for tens of milliseconds before it "
    "leaves the valid band. The band alone is too late for a position loop.",
    "First power-up: turn the axis by hand and see that the position rises in the positive direction; "
    "then 5 to 10 % drive for a fraction of a second; then close the loop at no more than 20 % drive with "
    "a hand on the cut-off (common practice, no source).",
    "Before you work on the mechanism: cut the power and lock it out, support the load, discharge what is "
    "charged, and only then disconnect.",
    "What your machine needs is decided by its risk assessment (ISO 12100), its safety functions "
    "(ISO 13849-1, IEC 60204-1), the codes of your place, and the people licensed for the work.",
)
"""In the order in which they are to be read; they stand in every hand-over."""


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
    return _FAULT_ACTIONS[_known(when_unpowered)]


def cautions_for(when_unpowered: str) -> tuple[str, ...]:
    """Cautions that stand in every hand-over, with what this mechanism does when the motor is off.

    Parameters
    ----------
    when_unpowered : str
        What the mechanism does with the motor off: 'holds', 'sinks', 'drops' or 'springs'.

    Returns
    -------
    tuple of str
        Full sentences, in the order in which they are to be read.

    Raises
    ------
    UsageError
        The word is none of the four.

    References
    ----------
    practice
    iso12100
    iso13849
    iec60204

    Examples
    --------
    What falls is said before how to start:

    >>> cautions_for("drops")[1]
    'With the motor off this mechanism drops.'
    """
    motion = f"With the motor off this mechanism {_WITH_THE_MOTOR_OFF[_known(when_unpowered)]}."
    return (STANDING_CAUTIONS[0], motion, *STANDING_CAUTIONS[1:])


def _known(when_unpowered: str) -> str:
    """The word itself, if it is one of the four."""
    if when_unpowered not in _FAULT_ACTIONS:
        found = f"'{when_unpowered}' does not say what the mechanism does with the motor off"
        raise UsageError(Problem("when_unpowered", found, "", nearest(when_unpowered, _FAULT_ACTIONS)))
    return when_unpowered
