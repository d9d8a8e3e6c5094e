"""Times as people log them: plain numbers in some unit, days with a clock, a clock without a day."""

import math
import re
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import UTC, datetime
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from anglewright.quantities.units import UNITS
from anglewright.tables.numbers import PLAIN, NumberForm
from anglewright.tables.wishes import OPTION

if TYPE_CHECKING:
    import polars as pl

Array = NDArray[np.float64]
DAY_S = 86_400.0  # [s]
_CLOCK = r"(\d{1,2}):(\d{2})(?::(\d{2})(?:[.,:](\d{1,9}))?)?"
_DAY_CLOCK = re.compile(
    rf"(\d{{4}})[-/.](\d{{1,2}})[-/.](\d{{1,2}})[T ]\s*{_CLOCK}\s*(Z|[+-]\d{{2}}:?\d{{2}})?"
)
_TURNED = re.compile(rf"(\d{{1,2}})([-/.])(\d{{1,2}})[-/.](\d{{4}})[T ]\s*{_CLOCK}")
_ALONE = re.compile(_CLOCK)
_UNIX = ((1e9, 3e9, 1.0, "s"), (1e12, 3e12, 1e-3, "ms"), (1e15, 3e15, 1e-6, "us"), (1e18, 3e18, 1e-9, "ns"))
_WHOLE_STEP = 2.0  # a usual step of whole numbers, from which on they are thousandths of a second [1]


@dataclass(frozen=True, slots=True, kw_only=True)
class Clock:
    """How a column tells the time.

    `form` is "number", "day" (a day and a clock) or "clock" (a clock alone); `size_s` the seconds in
    one of its numbers; `zero_s` what is taken off, so that a calendar begins at the first row. [s]
    `month_first` says that a day such as 03/14/2026 begins with its month.
    """

    form: str = "number"
    numbers: NumberForm = PLAIN
    size_s: float = 1.0
    zero_s: float = 0.0
    said: str = ""
    month_first: bool = False

    def seconds(self, cells: "Sequence[str] | pl.Series") -> Array:
        """Time of each cell, nan where it holds none; of a clock alone the time of day. [s]"""
        if self.form == "number":
            return (self.numbers.values(cells) - self.zero_s / self.size_s) * self.size_s
        texts = cells if isinstance(cells, Sequence) else cells.fill_null("").to_list()
        zero = 0.0 if self.form == "clock" else self.zero_s
        told = (_told(text, self.form, month_first=self.month_first) for text in texts)
        return np.array([time - zero for time in told], dtype=np.float64)


def clock_of(name: str, cells: Sequence[str], *, numbers: NumberForm, unit: str = "") -> Clock | None:
    """How a column tells the time, from its name and some of its cells; None where it does not.

    Parameters
    ----------
    name : str
        Name of the column, which may hold a unit.
    cells : sequence of str
        Some of its cells.
    numbers : NumberForm
        How it writes its numbers.
    unit : str
        The unit asked for, empty to find it out.

    Returns
    -------
    Clock or None
        The form that most of the cells have.

    References
    ----------
    iso-8601
    """
    filled = [cell for cell in cells if cell.strip()]
    month_first, order = _order_of_days(filled)
    for form in ("day", "clock"):
        told = (_told(cell, form, month_first=month_first) for cell in filled)
        times = [time for time in told if not math.isnan(time)]
        if times and len(times) > len(filled) // 2:
            what = "its days and clock are" if form == "day" else "its clock is"
            said = f"column '{name}': {what} read as seconds from the first row, {filled[0].strip()}{order}"
            return Clock(form=form, zero_s=times[0], said=said, month_first=month_first)
    values = numbers.values(filled)
    values = values[np.isfinite(values)]
    if len(values) == 0 or 2 * len(values) < len(filled):
        return None
    return _numeric(name, values, numbers, unit)


def _order_of_days(cells: Sequence[str]) -> tuple[bool, str]:
    """Whether days parted by strokes begin with the month, and what is to be said of it."""
    dates = [match for cell in cells if (match := _TURNED.fullmatch(cell.strip())) and match[2] == "/"]
    if not dates:
        return False, ""
    if any(int(match[3]) > 12 for match in dates):
        return True, ", the month first"
    if any(int(match[1]) > 12 for match in dates):
        return False, ", the day first"
    day, month = (f"{int(dates[0][k]):02d}" for k in (1, 3))
    written = f"{dates[0][4]}-{month}-{day}"
    return False, f", the day first as {written}; if the month is first, write the days like {written}"


def _numeric(name: str, values: Array, numbers: NumberForm, unit: str) -> Clock:
    words = [word for word in re.split(r"[^A-Za-zµμ]+", name) if word]
    named = unit or next((_UNIT_WORDS[word.lower()] for word in words if word.lower() in _UNIT_WORDS), "")
    middle = float(np.median(values))
    for low, high, size, text in _UNIX:
        if low <= middle <= high and named in ("", text, "s"):
            said = f"column '{name}' counts {text} since 1970; it is read as seconds from the first row"
            return Clock(numbers=numbers, size_s=size, zero_s=float(values[0]) * size, said=said)
    if named:
        said = f"column '{name}' is read in {named}" if named != "s" else ""
        return Clock(numbers=numbers, size_s=UNITS[named].size, said=said)
    steps = np.diff(values)
    steps = steps[steps > 0]
    whole = bool(np.all(values == np.rint(values)))
    if not whole or not len(steps):
        return Clock(numbers=numbers)
    thousandths = float(np.median(steps)) >= _WHOLE_STEP
    taken, other = ("ms", "s") if thousandths else ("s", "ms")
    said = (
        f"column '{name}' names no unit; its whole numbers are taken as {taken} "
        f"({OPTION} clock={other} where they are {other})"
    )
    return Clock(numbers=numbers, size_s=UNITS[taken].size, said=said)


_UNIT_WORDS = {
    **dict.fromkeys(("s", "sec", "secs", "second", "seconds"), "s"),
    **dict.fromkeys(("ms", "msec", "millis", "millisecond", "milliseconds"), "ms"),
    **dict.fromkeys(("us", "µs", "μs", "usec", "micros", "microsecond", "microseconds"), "us"),
    **dict.fromkeys(("ns", "nsec", "nanos", "nanoseconds"), "ns"),
    **dict.fromkeys(("min", "minutes"), "min"),
}


def _told(text: str, form: str, *, month_first: bool = False) -> float:
    """Seconds that a text tells, of the day or since 1970, or nan. [s]"""
    text = text.strip()
    if form == "clock":
        match = _ALONE.fullmatch(text)
        return _of_clock(match.groups()) if match else math.nan
    match = _DAY_CLOCK.fullmatch(text)
    if match:
        return _of_day(match[1], match[2], match[3], match.groups()[3:7]) - _offset(match[8])
    match = _TURNED.fullmatch(text)
    if match is None:
        return math.nan
    first, second = match[1], match[3]
    turned = match[2] == "/" and (int(second) > 12 or (month_first and int(first) <= 12))
    day, month = (second, first) if turned else (first, second)
    return _of_day(match[4], month, day, match.groups()[4:8])


def _of_clock(parts: Sequence[str | None]) -> float:
    hours, minutes, seconds = (float(part or 0) for part in parts[:3])
    part = float(f"0.{parts[3]}") if parts[3] else 0.0
    if hours > 24 or minutes > 59 or seconds > 60:
        return math.nan
    return 3600.0 * hours + 60.0 * minutes + seconds + part


def _of_day(year: str, month: str, day: str, clock: Sequence[str | None]) -> float:
    try:
        start = datetime(int(year), int(month), int(day), tzinfo=UTC)
    except ValueError:
        return math.nan
    return start.timestamp() + _of_clock(clock)


def _offset(zone: str | None) -> float:
    """Seconds by which a zone is ahead of Greenwich. [s]"""
    if not zone or zone == "Z":
        return 0.0
    return float(zone[0] + "1") * (3600.0 * int(zone[1:3]) + 60.0 * int(zone[-2:]))


def over_midnight(times: Array, *, last: float) -> Array:
    """Times of a clock without a day, put on by a day wherever it begins again. [s]

    `last` is the time before the first, nan where there is none; a step back of over half a day is
    a new day.
    """
    if len(times) == 0:
        return times
    before = np.concatenate([[last if math.isfinite(last) else times[0]], times[:-1]])
    lag = np.nan_to_num(before % DAY_S - times % DAY_S)
    lag[0] = 0.0 if math.isnan(last) else lag[0]
    days = np.cumsum(lag > DAY_S / 2)
    start = 0.0 if math.isnan(last) else math.floor(last / DAY_S) * DAY_S
    return np.asarray(times + start + days * DAY_S)
