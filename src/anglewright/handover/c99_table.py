"""The parts of the C code that only a curve has: its table of corrections and its calibrated codes."""

from string import Template
from textwrap import wrap

from anglewright.handover.floats import EPSILON, float_text
from anglewright.handover.identifiers import comment_text
from anglewright.handover.plan import HandoverPlan

TABLE_ERROR = 2.0 * EPSILON
"""Of the counts from the first node: how far four roundings may shift a code. [1]"""

_TABLE = Template("""
/* Corrections of the line [$unit]: the first at code $first, one every $step counts$round. */
static const float ${stem}_corrections[$count] = {
$values
};

/* Correction at a code, on the straight piece between two nodes of the table. */
static float ${stem}_correction(int32_t raw)
{
    /* pieces from the first node */
    float place = ((float)(raw - ${STEM}_MIDDLE_CODE) - $from_middle) / $step_text;
    int node;

$turned    if (place <= 0.0f) {
        return ${stem}_corrections[0];
    }
    if (place >= $last.0f) {
        return ${stem}_corrections[$last];
    }
    node = (int)place;
    return ${stem}_corrections[node]
         + (place - (float)node) * (${stem}_corrections[node + 1] - ${stem}_corrections[node]);
}
""")
_TURNED = """    place = fmodf(place, {last}.0f); /* the table comes round */
    if (place < 0.0f) {{
        place += {last}.0f;
    }}
"""


def table_text(plan: HandoverPlan) -> str:
    """The table of corrections and what reads it, in C; nothing where the line is enough."""
    table = plan.corrections
    if table is None:
        return ""
    last = len(table.heights) - 1
    return _TABLE.substitute(
        stem=plan.stem,
        STEM=plan.stem.upper(),
        unit=comment_text(plan.unit),
        first=f"{table.first:.9g}",
        step=f"{table.step:.9g}",
        round="" if table.period is None else "; the last is the first once more",
        count=last + 1,
        last=last,
        values=_rows([float_text(value) for value in table.heights.tolist()]),
        from_middle=float_text(_first_from_middle(plan)),
        step_text=float_text(table.step),
        turned="" if table.period is None else _TURNED.format(last=last),
    )


def _rows(constants: list[str]) -> str:
    """Constants as lines of a C array."""
    lines = wrap(", ".join(constants), 92, break_long_words=False, break_on_hyphens=False)
    return "\n".join(f"    {line}" for line in lines)


def _first_from_middle(plan: HandoverPlan) -> float:
    """The first node from the middle code; of a table that comes round, the next above it. [count]"""
    table = plan.corrections
    assert table is not None
    first = table.first - plan.middle_code
    return first if table.period is None else first % table.period


def steepness(plan: HandoverPlan) -> float:
    """How far the corrections move where a code is shifted by all the counts to it. [axis unit]"""
    table = plan.corrections
    if table is None:
        return 0.0
    reach = abs(_first_from_middle(plan)) + (plan.highest_valid - plan.lowest_valid)
    return float(max(abs(table.slopes))) * reach


def points_lines(plan: HandoverPlan) -> str:
    """The calibrated codes as constants, where they are fewer than the valid ones."""
    points, upper = plan.points, plan.stem.upper()
    if points is None:
        return ""
    words = ("first", "last") if points.wrap else ("lowest", "highest")
    return (
        f"#define {upper}_POINTS_LOW       INT32_C({points.low}) /* {words[0]} calibrated code [counts] */\n"
        f"#define {upper}_POINTS_HIGH      INT32_C({points.high}) /* {words[1]} calibrated code [counts] */\n"
    )


def adding_line(plan: HandoverPlan) -> str:
    """The line that adds the correction to the position; nothing where there is no table."""
    return f"        reading.position += {plan.stem}_correction(raw);\n" if plan.corrections else ""


def outside_lines(plan: HandoverPlan) -> str:
    """The last tests of a raw value: above the band, and outside the calibrated codes."""
    upper, points = plan.stem.upper(), plan.points
    if points is None:
        return f"    return raw > {upper}_HIGH_CODE ? {upper}_FAULT_ABOVE_BAND : {upper}_FAULT_OK;\n"
    both = "&&" if points.wrap else "||"
    outside = f"raw < {upper}_POINTS_LOW {both} raw > {upper}_POINTS_HIGH"
    return (
        f"    if (raw > {upper}_HIGH_CODE) {{\n        return {upper}_FAULT_ABOVE_BAND;\n    }}\n"
        f"    if ({outside}) {{\n        return {upper}_FAULT_OUTSIDE_POINTS;\n    }}\n"
        f"    return {upper}_FAULT_OK;\n"
    )
