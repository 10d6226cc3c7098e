"""What was read on each wheel in its box, from a TOML or CSV file."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from clearance import opener
from clearance.errors import WheelError
from clearance.plain import cell_text, echoed
from clearance.units import in_unit
from clearance.wheel.box_form import BY_LETTER, HOW, LENGTH, NAME, Reading
from clearance.wheel.inspection import SAME_EDGE


def rows_of(path: Path) -> list[Any]:
    """What was read on each box, from TOML or CSV; every refusal, a WheelError, with the file and its line."""

    text = opener.text_of(path)
    if path.suffix.lower() == ".csv":
        return _rows_of_csv(text, path)
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


# ---- the CSV that was written to be filled


def _rows_of_csv(text: str, path: Path) -> list[Any]:
    heading, records = opener.records_in(text, path)
    columns = _columns(heading)
    if columns is None:
        return [row for _, row in records]
    return [_filled(row, columns, f"{path}:{line}") for line, row in records if not _says_how(row)]


def _columns(heading: tuple[str, ...]) -> dict[str, tuple[Reading, str]] | None:
    """Heading: what its column holds, and in which unit; None where the first is not that of a blank CSV."""
    if not heading or cell_text(heading[0]).lower() != NAME:
        return None
    found = {}
    for words in heading[1:]:
        letter, _, rest = words.partition(" ")
        unit = rest.rpartition("(")[2].removesuffix(")").strip() if rest.endswith(")") else ""
        if letter.upper() in BY_LETTER:
            found[words] = (BY_LETTER[letter.upper()], unit)
    return found


def _says_how(row: dict[str, str]) -> bool:
    return cell_text(row[next(iter(row))]).lower().startswith(HOW)


def _filled(row: dict[str, str], columns: dict[str, tuple[Reading, str]], place: str) -> dict[str, str]:
    """One row by the keys that a file of readings has; what is empty was not read.

    Raises WheelError where a column has no letter of the sheet, or half of the bolt circle was read.
    """
    name, *others = row
    found = {"name": cell_text(row[name])}
    for words in others:
        text = cell_text(row[words])
        if not text:
            continue
        if words not in columns:
            raise WheelError(
                f"{place}: no column of this sheet is called {echoed(words)}. It begins with one of"
                f" {', '.join(BY_LETTER)}."
            )
        reading, unit = columns[words]
        found[reading.key] = in_unit(text, unit) if reading.of == LENGTH else text
    if ("holes" in found) != ("hole_reading" in found):
        lacking = "H1, from hole to hole," if "holes" in found else "H, how many holes there are,"
        raise WheelError(f"{place} ({found['name']}): H and H1 tell the bolt circle together; {lacking} is empty.")
    if "holes" in found:
        found["hole_from"] = SAME_EDGE
    return found


# ---- the command line


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
