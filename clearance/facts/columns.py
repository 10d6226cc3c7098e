"""The rows of an answer as a table for a spreadsheet: one line a row, each column with its unit.

* column - a key of the row; what lies in a table within it has both names: gap.at_least
* unit   - as the answer's published shape says it; the findings of a check are in mm, their angles in deg
* list   - of numbers or words: its values with a blank between them; a list of rows lays each of its rows beside the
           rest of the row that it is in
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Mapping, Sequence
from typing import Any

from clearance.facts.shape import Shape
from clearance.plain import csv_row, csv_rows

_UNIT = re.compile(r", (mm|mm2|deg|in|kg|kPa|km/h|percent|hours|0 to 1)(;|$)")
_ANGLES = ("steer",)


def table_text(answer: Mapping[str, Any], listed: str) -> str:
    """The rows under `listed`, or the answer as one row where nothing is listed, as CSV with a line of headings."""
    from clearance.facts.published import answer_schemas

    rows = _rows(answer, listed)
    shape = answer_schemas().get(str(answer.get("format")))
    units = _in_mm(rows) if shape is None else dict(_units(_of(shape, listed)))
    columns = _columns(rows) or list(_keys(_of(shape or {}, listed)))
    heads = [f"{key} ({units[key]})" if key in units else key for key in columns]
    return "".join([csv_row(heads), *(csv_row([row.get(key, "") for key in columns]) for row in rows)])


def heads_of(each: Shape) -> dict[str, str]:
    """Of rows of a shape that are written one by one: each column, and its heading with the unit."""
    units = dict(_units(each))
    return {key: f"{key} ({units[key]})" if key in units else key for key in _keys(each)}


def rows_text(columns: Sequence[str], rows: Iterable[Mapping[str, Any]]) -> str:
    """Such rows, with no table in any, as lines of a CSV."""
    return csv_rows([_cell(row.get(key, "")) for key in columns] for row in rows)


def _rows(answer: Mapping[str, Any], listed: str) -> list[dict[str, object]]:
    given = answer.get(listed) if listed else None
    return [dict(_cells(row)) for one in (given if isinstance(given, list) else [answer]) for row in _laid_out(one)]


def _columns(rows: Sequence[Mapping[str, object]]) -> list[str]:
    columns = list(dict.fromkeys(key for row in rows for key in row))
    # where a table is there in some rows, the others say nothing in its place
    return [key for key in columns if not any(other.startswith(f"{key}.") for other in columns)]


def _laid_out(row: Mapping[str, Any]) -> Iterator[dict[str, Any]]:
    """The row for each row of the first list of rows in it; once where it has none."""
    inner = next((key for key, value in row.items() if _is_rows(value)), None)
    if inner is None:
        yield dict(row)
        return
    rest = {key: value for key, value in row.items() if not isinstance(value, list)}
    for one in row[inner]:
        yield {**rest, inner: one}


def _is_rows(value: Any) -> bool:
    return isinstance(value, list) and bool(value) and all(isinstance(one, Mapping) for one in value)


def _cells(row: Mapping[str, Any], before: str = "") -> Iterator[tuple[str, object]]:
    for key, value in row.items():
        if isinstance(value, Mapping):
            yield from _cells(value, f"{before}{key}.")
        else:
            yield f"{before}{key}", _cell(value)


def _cell(value: Any) -> object:
    if value is None:
        return ""
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, Sequence) and not isinstance(value, str):
        return " ".join(str(_cell(one)) for one in value)
    return value


def _of(shape: Shape, listed: str) -> Shape:
    found: Shape = shape.get("properties", {}).get(listed, {}).get("items", shape) if listed else shape
    return found


def _keys(shape: Shape, before: str = "") -> Iterator[str]:
    """The columns that a row of a shape can have."""
    for key, one in shape.get("properties", {}).items():
        if one.get("properties"):
            yield from _keys(one, f"{before}{key}.")
        else:
            yield f"{before}{key}"


def _units(shape: Shape, before: str = "") -> Iterator[tuple[str, str]]:
    """Column and unit of every number that a shape says the unit of."""
    for key, one in shape.get("properties", {}).items():
        inner = one.get("items", one) if one.get("type") == "array" else one
        if isinstance(inner, dict) and inner.get("properties"):
            yield from _units(inner, f"{before}{key}.")
        elif unit := _UNIT.search(one.get("description", "")) or _UNIT.search(inner.get("description", "")):
            yield f"{before}{key}", unit[1]


def _in_mm(rows: Sequence[Mapping[str, object]]) -> dict[str, str]:
    """Of findings, whose numbers are lengths but for angles and counts."""
    floats = {key for row in rows for key, value in row.items() if isinstance(value, float)}
    return {key: "deg" if key.rsplit(".", 1)[-1] in _ANGLES else "mm" for key in floats if "per_mm" not in key}
