"""What must stand beside every piece of code that moves something: fault actions and cautions."""

from anglewright.review.cautions import (
    BEFORE_WORK,
    FIRST_POWER_UP,
    FROZEN,
    MECHANISMS,
    NO_SAFETY_DEVICE,
    SLIDE,
    WHO_DECIDES,
    fault_action,
    known_mechanism,
)

__all__ = ["MECHANISMS", "STANDING_CAUTIONS", "cautions_for", "fault_action"]

_WITH_THE_MOTOR_OFF = {
    "holds": "is said to hold still by itself",
    "sinks": "sinks slowly",
    "drops": "drops",
    "springs": "is driven by springs, cords or gas struts, which stay loaded",
}

STANDING_CAUTIONS = (
    f"{NO_SAFETY_DEVICE} This code replaces neither.",
    FROZEN,
    SLIDE,
    FIRST_POWER_UP,
    BEFORE_WORK,
    WHO_DECIDES,
)
"""In the order in which they are to be read; they stand in every hand-over."""


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
    motion = f"With the motor off this mechanism {_WITH_THE_MOTOR_OFF[known_mechanism(when_unpowered)]}."
    return (STANDING_CAUTIONS[0], motion, *STANDING_CAUTIONS[1:])
