"""A plan written in C99 for a controller: single-precision arithmetic, no heap, no state, no framework."""

from collections.abc import Iterator
from importlib.resources import files
from math import ceil
from string import Template
from textwrap import wrap

from anglewright.errors import Problem, RangeError
from anglewright.handover.c99_table import (
    TABLE_ERROR,
    adding_line,
    outside_lines,
    points_lines,
    steepness,
    table_text,
)
from anglewright.handover.cautions import cautions_for
from anglewright.handover.floats import EPSILON, SAFE_HIGH, SAFE_LOW, float_text
from anglewright.handover.identifiers import comment_text
from anglewright.handover.plan import Fault, HandoverPlan
from anglewright.handover.vectors import Vector, vectors

AGREEMENT = 1e-5
"""How far the emitted line may be from the plan, as a share of the travel."""

_WIDTH = 96
_TEMPLATES = {
    "{stem}.h": "c99_header.txt",
    "{stem}.c": "c99_source.txt",
    "{stem}_vectors.h": "c99_vectors.txt",
    "{stem}_selftest.c": "c99_selftest.txt",
}
_USE = (
    "Call {stem}_position with the raw value and test `valid` before you use `position`. Where the reading "
    "is not valid the position is NAN, so that a forgotten test cannot look like a place: a comparison with "
    "NAN is false, and a clamp may let it through. Do not build with -ffast-math, which forgets NAN."
)


def emit_c(plan: HandoverPlan) -> dict[str, str]:
    """The four C99 files of a plan: header, source, vectors and a self-test that runs them.

    Parameters
    ----------
    plan : HandoverPlan
        The plan of the axis.

    Returns
    -------
    dict of str to str
        File name to text.

    Raises
    ------
    RangeError
        A 32-bit float cannot hold the line to 1e-5 of the travel.

    Notes
    -----
    The line is written from the middle of the valid band,
    :math:`y = y_m + s (n - n_m)`, with the difference of codes taken in whole numbers: a large
    position at code 0 then costs no digits. Constants are rounded to the nearest 32-bit float and
    printed with nine significant digits, which give that float back. Corrections are a table of constants
    with straight pieces between them; the piece is found by one division.

    References
    ----------
    c99
    derived

    Examples
    --------
    The constants stand at the top of the header, with their units:

    >>> from anglewright.handover.plan import example_plan
    >>> text = emit_c(example_plan())["shoulder.h"]
    >>> [line for line in text.splitlines() if "_LOW_CODE" in line]
    ['#define SHOULDER_LOW_CODE         INT32_C(421) /* lowest valid code [counts] */']
    """
    problems = tuple(_float_problems(plan))
    if problems:
        raise RangeError(problems)
    words = _names(plan) | _numbers(plan) | _comments(plan) | _rows(plan) | _pieces(plan)
    folder = files("anglewright.handover") / "templates"
    return {
        name.format(stem=plan.stem): Template((folder / source).read_text("ascii")).substitute(words)
        for name, source in _TEMPLATES.items()
    }


def _names(plan: HandoverPlan) -> dict[str, str]:
    """Identifiers, and the names of the faults as they are numbered in the plan."""
    stem, upper = plan.stem, plan.stem.upper()
    listed = (f"    {upper}_FAULT_{fault.name} = {fault.value}" for fault in Fault)
    return {"stem": stem, "STEM": upper, "faults": ",\n".join(listed)}


def _numbers(plan: HandoverPlan) -> dict[str, str]:
    """Constants as C text."""
    middle = _from_middle(plan)
    whole = {
        "bottom_code": plan.codes.low,
        "top_code": plan.top_code,
        "low_code": plan.lowest_valid,
        "high_code": plan.highest_valid,
        "middle_code": plan.middle_code,
    }
    real = {
        "middle_position": middle,
        "slope": plan.slope,
        "half_width": plan.half_width_95,
        "tolerance": AGREEMENT * plan.travel,
    }
    texts = {key: f"INT32_C({value})" for key, value in whole.items()}
    texts |= {key: float_text(value) for key, value in real.items()}
    return texts | {"hold_off": f"UINT32_C({ceil(plan.hold_off_ms)})"}


_BACK = """        if (reading.position >= {S}_TURN_FROM + {S}_TURN) {{
            reading.position -= {S}_TURN;
        }} else if (reading.position < {S}_TURN_FROM) {{
            reading.position += {S}_TURN;
        }}
"""


def _pieces(plan: HandoverPlan) -> dict[str, str]:
    """Lines that only some axes need: the check of the converter's ends, the turn of an endless axis."""
    upper, unit = plan.stem.upper(), comment_text(plan.unit)
    tests = [f"raw < {upper}_BOTTOM_CODE"] if plan.codes.low > -(1 << 31) else []
    tests += [f"raw > {upper}_TOP_CODE"] if plan.codes.high < (1 << 31) - 1 else []
    foreign = f"    if ({' || '.join(tests)}) {{\n        return {upper}_FAULT_NOT_A_CODE;\n    }}\n"
    ends = f' The end codes {plan.codes.low} and {upper}_TOP_CODE mean "at or beyond".'
    constants = (
        f"#define {upper}_TURN             {float_text(plan.turn)} /* one turn [{unit}] */\n"
        f"#define {upper}_TURN_FROM        {float_text(plan.turn_from)} /* where it begins [{unit}] */\n"
        if plan.turn is not None
        else ""
    )
    return {
        "foreign": foreign if tests else "",
        "end_codes": "" if plan.codes.ends_valid else ends,
        "more_constants": points_lines(plan) + constants,
        "last_tests": outside_lines(plan),
        "table": table_text(plan),
        "corrected": adding_line(plan),
        "turn_back": "" if plan.turn is None else _BACK.format(S=upper),
    }


def _comments(plan: HandoverPlan) -> dict[str, str]:
    """Every text of the user, made harmless."""
    unit = comment_text(plan.unit)
    title = f"{comment_text(plan.axis)} of {comment_text(plan.rig)}"
    cautions = (*cautions_for(plan.when_unpowered), *plan.cautions)
    return {
        "unit": unit,
        "title": _block([f"{title}: raw value of the converter to position in {unit}."]),
        "version": comment_text(plan.provenance.version),
        "provenance": _block(_provenance(plan)),
        "use": _block([_USE.format(stem=plan.stem), _on_fault(plan)]),
        "cautions": _block([f"- {text}" for text in cautions]),
    }


def _provenance(plan: HandoverPlan) -> tuple[str, ...]:
    """Where the numbers come from, a line each."""
    source, unit = plan.provenance, plan.unit
    return (
        f"state: {source.state}",
        f"record: {source.record or 'none'}",
        f"date: {source.date}",
        f"chain: {source.chain_hash}",
        f"line: position = {plan.offset:.9g} + ({plan.slope:.9g}) * raw, in {unit}, raw in counts",
        *_of_the_curve(plan),
        f"95 % interval of the position: +/- {plan.half_width_95:.4g} {unit}",
    )


def _of_the_curve(plan: HandoverPlan) -> Iterator[str]:
    """What is added to the line, and for which codes it was calibrated."""
    table, points = plan.corrections, plan.points
    if table is not None:
        most = float(max(abs(table.values)))
        yield (
            f"corrections: {len(table.values)} are added to the line, straight between their nodes, each at "
            f"most {most:.4g} {plan.unit}; from code {table.first:.9g}, every {table.step:.9g} counts"
        )
    if plan.domain is not None and plan.beyond_points:
        low, high = plan.domain
        yield (
            f"calibrated codes: {low:.6g} to {high:.6g}; outside them a reading is given all the "
            "same, as was asked for, and its interval is wider"
        )
    elif points is not None:
        yield f"calibrated codes: {points.text}; outside them a reading is not valid"


def _on_fault(plan: HandoverPlan) -> str:
    """What to do while a fault lasts and when it stays."""
    return (
        "While the reading is not valid there is no position: do not drive on the last one as if it were "
        f"new. When that lasts longer than {plan.stem.upper()}_HOLD_OFF_MS, act: {plan.fault_action}"
    )


def _rows(plan: HandoverPlan) -> dict[str, str]:
    """The vectors as rows of a C array."""
    rows = [_row(plan.stem.upper(), vector) for vector in vectors(plan)]
    return {"rows": ",\n".join(rows), "count": str(len(rows))}


def _row(upper: str, vector: Vector) -> str:
    """One vector as a C initialiser."""
    value = "NAN" if vector.position is None else float_text(vector.position)
    valid = "false" if vector.position is None else "true"
    return f"    {{ INT32_C({vector.raw}), {value}, {valid}, {upper}_FAULT_{vector.fault.name} }}"


def _block(paragraphs: list[str] | tuple[str, ...]) -> str:
    """Paragraphs as the lines of a C comment, wrapped."""
    lines = (
        line
        for paragraph in paragraphs
        for line in wrap(comment_text(paragraph), _WIDTH, subsequent_indent="  ", break_on_hyphens=False)
    )
    return "\n".join(f" * {line}" for line in lines)


def _float_problems(plan: HandoverPlan) -> Iterator[Problem]:
    """What a 32-bit float cannot hold closely enough."""
    where = f"axis '{plan.axis}', hand-over in C"
    ends = (plan.on_curve(code) for code in (plan.lowest_valid, plan.highest_valid))
    largest = max(abs(end) for end in ends)
    if abs(plan.slope) < SAFE_LOW or max(largest, plan.half_width_95) > SAFE_HIGH:
        found = f"slope {plan.slope:.3g}, position up to {largest:.3g} {plan.unit}"
        limit = "a 32-bit float is trusted from 1e-30 to 1e30"
        yield Problem(where, found, limit, "Choose another unit of the axis.")
    elif largest * EPSILON > AGREEMENT / 4 * plan.travel:
        found = f"positions up to {largest:.3g} {plan.unit} over a travel of {plan.travel:.3g} {plan.unit}"
        limit = "a 32-bit float cannot hold them to 1e-5 of the travel"
        yield Problem(where, found, limit, "Move the zero of the axis nearer to its travel.")
    elif plan.corrections and TABLE_ERROR * steepness(plan) > AGREEMENT / 4 * plan.travel:
        steepest = float(max(abs(plan.corrections.slopes)))
        found = f"corrections as steep as {steepest:.3g} {plan.unit} a count"
        limit = "a 32-bit float cannot hold them to 1e-5 of the travel"
        yield Problem(where, found, limit, "Calibrate again with fewer points, or with a straight line.")


def _from_middle(plan: HandoverPlan) -> float:
    """Position of the line in the middle of the band; of an endless axis in the turn that is reported."""
    middle = plan.offset + plan.slope * plan.middle_code
    if plan.turn is None:
        return middle
    half = abs(plan.slope) * (plan.highest_valid - plan.lowest_valid + 1) / 2.0
    reach = half + (0.0 if plan.corrections is None else float(max(abs(plan.corrections.values))))
    if -plan.turn <= middle - reach - plan.turn_from and middle + reach - plan.turn_from < 2.0 * plan.turn:
        return middle  # one turn taken off or added brings every code home
    return plan.turn_from + (middle - plan.turn_from) % plan.turn
