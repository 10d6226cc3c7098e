"""What was read on each wheel in its box, from a TOML or CSV file."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from clearance import opener
from clearance.errors import WheelError
from clearance.plain import echoed


def rows_of(path: Path) -> list[Any]:
    """What was read on each box, from TOML or CSV; every refusal, a WheelError, with the file and its line."""

    text = opener.text_of(path)
    if path.suffix.lower() == ".csv":
        return [row for _, row in opener.records_in(text, path)[1]]
    try:
        tables = opener.toml_tables(text)
    except opener.NotToml as wrong:
        raise WheelError(
            f"{path}:{wrong.line}: {wrong.words} Write [[wheel]] and its keys below, or give a .csv."
        ) from None
    rows = tables.pop("wheel", [])
    if tables:
        raise WheelError(f"{path}: {echoed(next(iter(tables)))} does not belong here. Write [[wheel]] for each box.")
    if not isinstance(rows, list) or not all(isinstance(row, dict) for row in rows):
        raise WheelError(f"{path}: wheel must be a list of tables. Write [[wheel]] with two brackets.")
    return rows


def row_of(text: str) -> dict[str, str]:
    """What was read on one box, as 'name=front left, width=178 mm, ...'. Raises WheelError."""
    row: dict[str, str] = {}
    for pair in text.split(","):
        key, equals, value = pair.partition("=")
        if not equals:
            raise WheelError(
                f"--wheel: {echoed(pair.strip())} is not key=value. Write 'name=front left, straight_edge=4 1/4 in'."
            )
        if key.strip() in row:
            raise WheelError(f"--wheel: {echoed(key.strip())} stands twice. Keep one of the two.")
        row[key.strip()] = value.strip()
    return row
