"""Readings in JSON: records in a list, columns by name, pairs of time and value, a record a line."""

import json
import math
from collections.abc import Iterator, Mapping
from typing import Any

from anglewright.tables.encoding import encoding_of
from anglewright.tables.text import Grid, Row

_DEEPEST = 6  # levels at which a list of records is looked for [1]
_FEWEST = 2  # records that make a table [1]

Table = list[tuple[str, ...]]


def grid_of_document(data: bytes, *, name: str) -> Grid | None:
    """The rows of a JSON text, or None where it is none or holds no table.

    Parameters
    ----------
    data : bytes
        The whole text.
    name : str
        Its name, for messages.

    Returns
    -------
    Grid or None
        A row for each record, beneath a row of names where the records have any.

    References
    ----------
    rfc-8259
    """
    encoding = encoding_of(data, b"")
    text = data[len(encoding.mark) :].decode(encoding.codec, "replace")
    found = _parsed(text)
    table, said = _table(found) if found is not None else ([], "")
    if not table:
        return None
    named = _is_named(table)
    rows = tuple(Row(line=place, cells=cells) for place, cells in enumerate(table, 0 if named else 1))
    return Grid(name=name, rows=rows, decisions=(said,), place="record")


def _is_named(table: Table) -> bool:
    return any(cell and not _is_numeric(cell) for cell in table[0]) and all(table[0])


def _is_numeric(cell: str) -> bool:
    try:
        float(cell)
    except ValueError:
        return False
    return True


def _parsed(text: str) -> Any:
    """What a text holds: one document, or a list of one a line."""
    try:
        return json.loads(text)
    except (ValueError, RecursionError):
        pass
    lines = [line for line in text.splitlines() if line.strip()]
    try:
        return [json.loads(line) for line in lines] if len(lines) >= _FEWEST else None
    except (ValueError, RecursionError):
        return None


def _table(found: Any) -> tuple[Table, str]:
    """The rows of a document and how they were found."""
    if isinstance(found, list) and not _is_records(found):
        found = {"": found}
    if isinstance(found, list):
        return _of_records(found), "a list of records"
    best = max(_candidates(found, "", 0), key=lambda each: len(each[0]), default=([], ""))
    return best if len(best[0]) >= _FEWEST else ([], "")


def _candidates(found: Any, path: str, depth: int) -> Iterator[tuple[Table, str]]:
    """Every table in a document, with where it stands."""
    if isinstance(found, Mapping):
        columns = {name: each for name, each in found.items() if isinstance(each, list) and each}
        series = {name: each for name, each in columns.items() if name and _is_pairs(each)}
        plain = {name: each for name, each in columns.items() if _is_plain(each)}
        if series and (len(series) > 1 or not path):
            yield _of_series(series), f"pairs of time and value under {', '.join(map(repr, series))}"
        if len(plain) > 1:
            yield _of_columns(plain), f"columns under {', '.join(map(repr, plain))}"
        if depth < _DEEPEST:
            for name, each in found.items():
                yield from _candidates(each, f"{path}/{name}" if name else path, depth + 1)
    elif isinstance(found, list) and _is_records(found):
        yield _of_records(found), f"a list of records under '{path}'"
    elif isinstance(found, list) and _is_rows(found):
        yield _of_rows(found), f"a list of rows under '{path}'" if path else "a list of rows"


def _is_records(found: list[Any]) -> bool:
    return len(found) > 0 and all(isinstance(each, Mapping) for each in found)


def _is_rows(found: list[Any]) -> bool:
    return len(found) > 0 and all(isinstance(each, list) and _is_plain(each) for each in found)


def _is_pairs(found: list[Any]) -> bool:
    return _is_rows(found) and all(len(each) == 2 for each in found)


def _is_plain(found: list[Any]) -> bool:
    return not any(isinstance(each, list | Mapping) for each in found)


def _of_records(records: list[Any]) -> Table:
    flat = [dict(_flat(record, "")) for record in records]
    names = tuple(dict.fromkeys(name for record in flat for name in record))
    return [names, *(tuple(record.get(name, "") for name in names) for record in flat)]


def _flat(record: Mapping[str, Any], path: str) -> Iterator[tuple[str, str]]:
    """Names and texts of a record; what is within another is named with a slash."""
    for name, value in record.items():
        whole = f"{path}/{name}" if path else str(name)
        if isinstance(value, Mapping) and whole.count("/") < _DEEPEST:
            yield from _flat(value, whole)
        else:
            yield whole, _text(value)


def _text(value: Any) -> str:
    if value is None:
        return ""
    if isinstance(value, list):
        return ";".join(_text(each) for each in value) if _is_plain(value) else ""
    if isinstance(value, float) and not math.isfinite(value):
        return ""
    return str(value).strip()


def _of_rows(rows: list[Any]) -> Table:
    return [tuple(_text(cell) for cell in row) for row in rows]


def _of_columns(columns: Mapping[str, list[Any]]) -> Table:
    longest = max(map(len, columns.values()))
    cells = [[*map(_text, each), *[""] * (longest - len(each))] for each in columns.values()]
    return [tuple(columns), *zip(*cells, strict=True)]


def _of_series(series: Mapping[str, list[Any]]) -> Table:
    """A row for every time; a variable that has no value then leaves its cell empty."""
    times: dict[str, dict[str, str]] = {}
    for name, pairs in series.items():
        for time, value in pairs:
            times.setdefault(_text(time), {})[name] = _text(value)
    names = tuple(name or "value" for name in series)
    ordered = sorted(times.items(), key=lambda each: _order(each[0]))
    return [("time", *names), *((time, *(each.get(name, "") for name in series)) for time, each in ordered)]


def _order(time: str) -> float:
    return float(time) if _is_numeric(time) else math.inf
