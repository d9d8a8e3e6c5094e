"""How a line becomes cells: by a mark, out of brackets, behind a prefix, or by names beside the numbers."""

import csv
import re
from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from itertools import islice

from anglewright.quantities.units import Kind, find_unit
from anglewright.tables.numbers import is_list, looks_like_number

DELIMITERS = {"|": "vertical bar", "\t": "tab", ";": "semicolon", ",": "comma", " ": "blank"}
COMMENTS = ("#", "//", "%", "!", "--")
"""Beginnings of a line that make it a comment; of a semicolon see `comments_in`."""

SEEN = 400  # lines looked at to find the mark [1]
_LINE, _SIGNS = 8000, 80_000  # signs of a line, and in all, that are looked at [1]
_DECIMAL_COMMA = re.compile(r"[+-]?\d+,\d+")
_BRACKETS = str.maketrans(dict.fromkeys("[](){}", " "))
_RULE = re.compile(r"(?=.*--)[|\s:+=-]+")
_VALUE = r"[+-]?(?:0[xX][0-9A-Fa-f]+|[0-9A-Fa-f]{2,8}\b|(?:\d[\d.]*|\.\d+)(?:[eE][+-]?\d+)?)"
_UNIT = r"[^\W\d_]{1,7}|[%°]"
_LABELLED = re.compile(
    rf"(?<![\w./-])([^\W\d][\w./-]{{0,60}}(?:\s?\([^()]{{0,40}}\))?)\s{{0,8}}[=:]\s{{0,8}}({_VALUE})"
    rf"(?:\s{{0,3}}({_UNIT})(?!\w|\s{{0,8}}[=:]))?(?![\w.])"
)
_BESIDE_SEMICOLON = re.compile(r"""\d["']?[ \t]?;|;[ \t]?["']?[+-]?\.?\d""")
_MISCUT = re.compile(r"""^[^"]*"[^"]*$|\d[ ]?[;|\t]|[;|\t][ ]?[+-]?\.?\d|(?<!:\d\d)(?<=\d),\d""")
_CODE = re.compile(r"(?=.*\d)(?:[0-9A-F]{4}|[0-9A-F]{8})")
_STAMP = r"[^\w+-]{0,8}\d{1,2}:\d{2}:\d{2}(?:[.,]\d{1,9})?\]?\s{0,8}-?>\s{0,8}"
_LEAD = re.compile(
    rf"({_STAMP}|.{{0,200}}?(?<![\w-])[^\W\d]\w{{0,60}}[:>\]]?\s{{0,8}}[:>\],\s]\s{{0,8}})(?=[+-]?[\d.])"
)
_MOST = 0.5  # share of the lines that settles how they are cut [1]
_LEAST = 2  # lines that must be alike before an unusual way of cutting is taken [1]


@dataclass(frozen=True, slots=True, kw_only=True)
class Cutter:
    """How the lines of one sheet are cut.

    `lead` is what stands before the numbers of every row of a log, its digits written 0; `labels` are
    the names where each number has its own beside it, and `lead` is then passed over.
    """

    mark: str = ","
    decimal_comma: bool = False
    brackets: bool = False
    lead: str = ""
    labels: tuple[str, ...] = ()
    comments: tuple[str, ...] = ("#",)

    @property
    def is_plain(self) -> bool:
        """Whether the engine can cut the lines by itself."""
        return self.mark != "|" and not (self.brackets or self.lead or self.labels)

    def is_comment(self, line: str) -> bool:
        """Whether a line is a comment or a rule between header and rows."""
        bare = line.lstrip('\ufeff \t"')
        return bare.startswith(self.comments) or _RULE.fullmatch(line) is not None

    def cells(self, line: str) -> tuple[str, ...]:
        """Cells of a line; none where it is blank, a comment, or lacks the prefix or the names of a row."""
        if not line.strip() or self.is_comment(line):
            return ()
        if self.labels:
            found = _by_label(line)
            return tuple(found.get(name, "") for name in self.labels) if found else ()
        if self.lead:
            match = _LEAD.match(line)
            if match is None or _template(match[1]) != self.lead:
                return ()
            line = line[match.end() :]
        return cut(line.translate(_BRACKETS) if self.brackets else line, self.mark)

    def is_number(self, cell: str) -> bool:
        """Whether a cell looks like a number, with a unit behind it perhaps."""
        return looks_like_number(cell, decimal_comma=self.decimal_comma)

    def decisions(self) -> tuple[str, ...]:
        """What is unusual about it, a sentence each."""
        said = [f"cells are parted by a {DELIMITERS[self.mark]}"] if self.mark != "," else []
        said += ["numbers have a decimal comma"] if self.decimal_comma else []
        said += ["brackets around the numbers are passed over"] if self.brackets else []
        said += [f"rows are the lines that begin like '{self.lead.strip()}'"] if self.lead else []
        if self.labels:
            said = [f"each number has its name beside it: {', '.join(self.labels)}"]
            before = f"what stands before the names, such as '{self.lead}', is passed over"
            said += [before] if self.lead else []
        others = [mark for mark in self.comments if mark != "#"]
        return (*said, *(f"lines that begin with '{mark}' are taken as comments" for mark in others))


def cut(line: str, mark: str) -> tuple[str, ...]:
    """Cells of one line; a quoted cell may hold the mark."""
    if mark == " ":
        return tuple(line.split())
    if mark == "|":
        line = line.strip().removeprefix("|").removesuffix("|")
    try:
        return tuple(cell.strip() for cell in next(csv.reader([line], delimiter=mark, skipinitialspace=True)))
    except (csv.Error, StopIteration):
        return tuple(cell.strip() for cell in line.split(mark))


def comments_in(lines: Iterable[str]) -> tuple[str, ...]:
    """The beginnings of comments that occur; a semicolon where no number stands in its lines."""
    bare = [line.lstrip('\ufeff \t"') for line in lines]
    found = [mark for mark in COMMENTS if any(line.startswith(mark) for line in bare)]
    semicolons = [line for line in bare if line.startswith(";") and line.strip("; \t")]
    if semicolons and not any(_BESIDE_SEMICOLON.search(line) for line in bare):
        found.append(";")
    return tuple(dict.fromkeys(("#", *found)))


def cutter_for(
    lines: Sequence[str], *, mark: str = "", decimal_comma: bool | None = None, comment: str = ""
) -> Cutter:
    """How the lines of a sheet are cut.

    Parameters
    ----------
    lines : sequence of str
        Some lines that are not blank.
    mark : str
        The delimiter asked for, empty to find it out.
    decimal_comma : bool or None
        Whether numbers have decimal commas, None to find it out.
    comment : str
        A further sign that begins a comment, empty to find it out.

    Returns
    -------
    Cutter
        The one under which the most lines hold two numbers; an unusual one only where it finds more.
    """
    comments = ("#", comment) if comment else comments_in(lines)
    bare = Cutter(comments=comments)
    rows = _looked_at(line for line in lines if not bare.is_comment(line)) or _looked_at(lines)
    plain = replace(_plain(rows, mark, decimal_comma), comments=comments)
    if mark:
        return plain
    best, score = plain, _score(plain, rows)
    for other in _unusual(plain, rows):
        found = _score(other, rows)
        if other.labels:
            named = [line for line in rows if _LABELLED.search(line)]
            better = found[0] >= _MOST * score[0] and found >= _score(best, named)
        else:
            least = max(score[0], _MOST * len(rows) if other.brackets else _LEAST)
            better = found[0] >= least and found > score
        best, score = (other, found) if better else (best, score)
    return best


def _looked_at(lines: Iterable[str]) -> list[str]:
    """The first lines, long ones in part: how a file is cut shows soon, and looking at it takes time."""
    found, signs = [], 0
    for line in islice(lines, SEEN):
        found.append(line[:_LINE])
        signs += len(found[-1])
        if signs > _SIGNS:
            break
    return found


def _plain(lines: list[str], mark: str, decimal_comma: bool | None) -> Cutter:
    """The mark under which the most lines hold numbers, and whether these have a decimal comma."""
    best, best_score, best_comma = mark or ",", -1, False
    for each in [mark] if mark else DELIMITERS:
        rows = [cut(line, each) for line in lines]
        comma = any(_DECIMAL_COMMA.fullmatch(cell) for row in rows for cell in row)
        comma = comma if decimal_comma is None else decimal_comma
        numeric = sum(_is_numeric(row, comma=comma) for row in rows)
        score = 2 * numeric * len(lines) + _alike(rows)
        if score > best_score:
            best, best_score, best_comma = each, score, comma
    return Cutter(mark=best, decimal_comma=best_comma)


def _unusual(plain: Cutter, lines: list[str]) -> list[Cutter]:
    """Other ways to cut these lines: out of brackets, behind a prefix, by names."""
    found = []
    if any(sign in line for line in lines for sign in "[{("):
        bare = [line.translate(_BRACKETS) for line in lines]
        inner = _plain(bare, "", None)
        found.append(replace(inner, brackets=True, comments=plain.comments))
    leads = Counter(_template(match[1]) for line in lines if (match := _LEAD.match(line)))
    if leads and leads.most_common(1)[0][1] >= _LEAST:
        lead = leads.most_common(1)[0][0]
        rests = [line[m.end() :] for line in lines if (m := _LEAD.match(line)) and _template(m[1]) == lead]
        found.append(replace(_plain(rests, "", None), lead=lead, comments=plain.comments))
    named = _labelled(lines)
    return [*found, replace(named, comments=plain.comments)] if named is not None else found


def _by_label(line: str) -> dict[str, str]:
    """The number beside each name in a line, with its unit where one is known by that word."""
    found = {}
    for name, value, unit in _LABELLED.findall(line):
        is_unit = unit and find_unit(unit, kinds=tuple(Kind)) is not None
        found[name] = f"{value} {unit}" if is_unit else value
    return found


def _labelled(lines: list[str]) -> Cutter | None:
    """The cutter of lines with a name beside each number, behind what each begins with; None for others."""
    names = Counter(name for line in lines for name in _by_label(line))
    if not names or max(names.values()) < _LEAST:
        return None
    most = max(names.values())
    labels = tuple(name for name, times in names.items() if times > _MOST * most)
    leads = Counter(_template(lead) for line in lines if (lead := _before_names(line)) is not None)
    lead, times = leads.most_common(1)[0] if leads else ("", 0)
    if times <= _MOST * most:
        return None
    return Cutter(labels=labels, lead=lead if re.search(r"\d", lead) else "")


def _before_names(line: str) -> str | None:
    """What stands before the names of a line, None where other numbers stand among or behind them."""
    first = _LABELLED.search(line)
    if first is None or re.search(r"\d", _LABELLED.sub("", line[first.start() :])):
        return None
    return line[: first.start()]


def _score(cutter: Cutter, lines: list[str]) -> tuple[int, int]:
    """Lines with two numbers (one, where each has its name), and numbers in all."""
    rows = [cutter.cells(line) for line in lines]
    counts = [_numbers(row, comma=cutter.decimal_comma) for row in rows]
    if cutter.labels:
        counts = [sum(map(bool, row)) for row in rows]
        return sum(count >= 1 for count in counts), sum(counts)
    return sum(count >= 2 for count in counts), sum(counts)


def _template(lead: str) -> str:
    """What stands before the numbers, digits written 0 and blanks as one."""
    return " ".join(re.sub(r"\d+", "0", lead).split())


def _numbers(row: tuple[str, ...], *, comma: bool) -> int:
    return sum(_is_value(cell, comma=comma) for cell in row)


def _is_value(cell: str, *, comma: bool) -> bool:
    return looks_like_number(cell, decimal_comma=comma) or bool(_CODE.fullmatch(cell))


def _is_numeric(row: tuple[str, ...], *, comma: bool) -> bool:
    """Whether a row holds two numbers, or one beside blank cells, and no cell that shows a wrong cut."""
    numbers = sum(_is_value(cell, comma=comma) or is_list(cell) for cell in row)
    alone = len(row) > 1 and sum(map(bool, row)) == 1
    if numbers < 2 and not (numbers and alone):
        return False
    return not any(
        _MISCUT.search(cell) for cell in row if not _is_value(cell, comma=comma) and not is_list(cell)
    )


def _alike(rows: list[tuple[str, ...]]) -> int:
    """How many rows have the usual number of cells; none where that is one."""
    counts = [len(row) for row in rows]
    usual = max(set(counts), key=counts.count)
    return counts.count(usual) if usual > 1 else 0
