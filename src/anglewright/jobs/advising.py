"""What to change next on an axis: usual changes with their cost, and the cheapest that meets the need."""

from anglewright.budget.advice import MOST_AT_ONCE, Advice, Option
from anglewright.jobs.shown import Json, Table
from anglewright.quantities.showing import show
from anglewright.quantities.units import Unit
from anglewright.rig import Axis

PRICES = (
    "95 % then: to first order. Money: bands of 2026 for small quantities, common practice, no source; "
    "minutes at the bench."
)


def advice_sentence(axis: Axis, advice: Advice) -> str:
    """The cheapest change that meets the need, or what stands in the way; empty where the need is met.

    Parameters
    ----------
    axis : Axis
        The axis, for its unit.
    advice : Advice
        What changes would leave. [m or rad]

    Returns
    -------
    str
        One sentence or two, or nothing.
    """
    if advice.now <= advice.permissible:
        return ""
    best, all_of_them = advice.cheapest, advice.together
    if best is not None:
        left = show(best.half_width_95, axis.unit, digits=2)
        price = f"{_band(best)} units of money" if best.money[1] else "no money"
        return f"{axis.name}, cheapest way to the need: {best.text}. That leaves ±{left} for {price}."
    if all_of_them is None:
        return f"{axis.name}: none of the usual changes brings it nearer to the need."
    left = show(all_of_them.half_width_95, axis.unit, digits=2)
    if all_of_them.meets:
        few = f"{axis.name}: no {MOST_AT_ONCE} of the usual changes are enough"
        return f"{few}; all that help, made together, leave ±{left}, which is."
    return f"{axis.name}: none of the usual changes meets the need; all that help, together, leave ±{left}."


def advice_table(axis: Axis, advice: Advice) -> Table:
    """Every useful change by cost, with what it leaves, and the cheapest way to the need.

    Parameters
    ----------
    axis : Axis
        The axis, for its unit.
    advice : Advice
        What changes would leave. [m or rad]

    Returns
    -------
    Table
        One row a change.
    """
    rows = [_row(option, axis.unit) for option in advice.options]
    if advice.cheapest is not None and len(advice.cheapest.changes) > 1:
        rows.append(_row(advice.cheapest, axis.unit))
    lost = [
        f"{change.text}: {change.but}."
        for option in advice.options
        for change in option.changes
        if change.but
    ]
    return Table(
        title=f"{axis.name}: what a change costs and what it leaves",
        columns=("change", "money", "minutes", "95 % then", "meets"),
        rows=tuple(rows),
        right=("money", "minutes", "95 % then"),
        note=" ".join([PRICES, *(f"{text[:1].upper()}{text[1:]}" for text in lost)]),
    )


def advice_json(axis: Axis, advice: Advice | None) -> Json:
    """The keys ``next``, ``cheapest`` and ``advice`` of a budget.

    Parameters
    ----------
    axis : Axis
        The axis, for its unit.
    advice : Advice or None
        What changes would leave; None where the need is met. [m or rad]

    Returns
    -------
    dict
        Changes by cost; the cheapest way to the need, null where there is none or no need of one.
    """
    if advice is None:
        return {"next": [], "cheapest": None, "advice": ""}
    best = advice.cheapest if advice.now > advice.permissible else None
    return {
        "next": [_option_json(option, axis.unit) for option in advice.options],
        "cheapest": _option_json(best, axis.unit) if best else None,
        "advice": advice_sentence(axis, advice),
    }


def _option_json(option: Option, unit: Unit) -> Json:
    return {
        "change": option.text,
        "half_width_95": unit.difference_from_si(option.half_width_95),
        "cost": option.cost,
        "money": list(option.money),
        "minutes": option.minutes,
        "meets": option.meets,
        "but": [change.but for change in option.changes if change.but],
        "source": "practice",
    }


def _band(option: Option) -> str:
    low, high = option.money
    return f"{low:g} to {high:g}" if high > low else f"{high:g}"


def _row(option: Option, unit: Unit) -> tuple[str, ...]:
    left = f"±{show(option.half_width_95, unit, digits=3)}"
    return (option.text, _band(option), f"{option.minutes:g}", left, "yes" if option.meets else "no")
