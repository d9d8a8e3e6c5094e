"""The languages a plan can be written in; one name, one emitter."""

from collections.abc import Callable

from anglewright.errors import Problem, UsageError, nearest
from anglewright.handover.c99 import emit_c
from anglewright.handover.plan import HandoverPlan

LANGUAGES: dict[str, Callable[[HandoverPlan], dict[str, str]]] = {"c": emit_c}


def emit(plan: HandoverPlan, *, language: str) -> dict[str, str]:
    """The files of a hand-over, as texts; nothing is written to disk here.

    Parameters
    ----------
    plan : HandoverPlan
        The plan of the axis.
    language : str
        Name of the language; a key of `LANGUAGES`.

    Returns
    -------
    dict of str to str
        File name to text, plain ASCII; the same plan gives the same bytes.

    Raises
    ------
    UsageError
        The language is not known.
    RangeError
        The numbers of the plan do not fit the arithmetic of the language.

    References
    ----------
    derived

    Examples
    --------
    In C an axis becomes two files to build in and two that test them:

    >>> from anglewright.handover.plan import example_plan
    >>> sorted(emit(example_plan(), language="c"))
    ['shoulder.c', 'shoulder.h', 'shoulder_selftest.c', 'shoulder_vectors.h']
    """
    if language not in LANGUAGES:
        found = f"nothing is handed over in the language '{language}'"
        raise UsageError(Problem("hand-over", found, "", nearest(language, LANGUAGES)))
    return LANGUAGES[language](plan)
