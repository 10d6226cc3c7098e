"""Published dimensions of tires, row by row, each with its source.

`published_rows.csv` holds what was read: a standard's row, a maker's data sheet, a seller's table. A size often has
several rows, because makers and treads differ; `row_of` joins them and keeps the largest dimensions, so that what is
used for a marking is never under what any table gives for it. `recalled_rows.csv` holds what was only remembered of
the standards' annexes; it is never used as a dimension, only held against the bounds and shown beside them.

Section width and overall diameter are millimetres, on the measuring rim (inches). A missing one was not published.
"""

from __future__ import annotations

import csv
from collections.abc import Iterable
from dataclasses import dataclass
from functools import cache
from importlib import resources
from typing import TypeVar

from clearance.tire.size import Marking, read
from clearance.units import MM_PER_INCH

Given = TypeVar("Given")


@dataclass(frozen=True, slots=True, kw_only=True)
class Row:
    """One published row, or what all rows of one size say together."""

    size: str
    rim_in: float | None
    """Measuring rim width; the narrowest of several."""
    section_mm: float | None
    overall_mm: float | None
    """The largest of several."""
    least_overall_mm: float | None
    """The smallest of several."""
    rims_in: tuple[float, float] | None = None
    """Narrowest and widest permitted rim, where a table says."""
    around_mm: float | None = None
    """Rolling circumference, where a table says."""
    source: str


def row_of(marking: Marking) -> Row | None:
    """What the published rows of a marking say together; None where there is none."""
    return _joined().get(_exact_key(marking))


def recalled_of(marking: Marking) -> Row | None:
    """What is remembered of a standard's row for a marking, radial or bias; None where nothing is."""
    rows = _recalled_by_key()
    size = key(marking)
    return rows.get(size) or rows.get(size.replace("R", "-")) or rows.get(size.removesuffix("LT"))


@cache
def _recalled_by_key() -> dict[str, Row]:
    return {key(read(row.size)): row for row in recalled_rows()}


@cache
def published_rows() -> tuple[Row, ...]:
    """Every published row, as it was read."""
    return _rows("published_rows.csv")


@cache
def recalled_rows() -> tuple[Row, ...]:
    """Every row from memory."""
    return _rows("recalled_rows.csv")


@cache
def _joined() -> dict[str, Row]:
    by_key: dict[str, list[Row]] = {}
    for row in published_rows():
        by_key.setdefault(_exact_key(read(row.size)), []).append(row)
    return {size: _join(rows) for size, rows in by_key.items()}


def _exact_key(marking: Marking) -> str:
    """The key, and for metric sizes what else they are made for: a mud tire's row is none of a car tire's."""
    if marking.form not in ("metric", "temporary spare"):
        return key(marking)
    service = marking.prefix or ("C" if marking.commercial else "")
    return f"{service}{key(marking)}{'R' if marking.radial else 'D'}"


def _join(rows: list[Row]) -> Row:
    overalls = _given(row.overall_mm for row in rows)
    sources = dict.fromkeys(row.source for row in rows)
    return Row(
        size=rows[0].size,
        rim_in=min(_given(row.rim_in for row in rows), default=None),
        section_mm=max(_given(row.section_mm for row in rows), default=None),
        overall_mm=max(overalls, default=None),
        least_overall_mm=min(overalls, default=None),
        rims_in=next(iter(_given(row.rims_in for row in rows)), None),
        around_mm=next(iter(_given(row.around_mm for row in rows)), None),
        source="; ".join(sources),
    )


def _given(values: Iterable[Given | None]) -> list[Given]:
    return [value for value in values if value is not None]


def _rows(name: str) -> tuple[Row, ...]:
    text = resources.files("clearance.tire").joinpath(name).read_text(encoding="utf-8")
    return tuple(_row(cells) for cells in csv.DictReader(text.splitlines()))


def _row(cells: dict[str, str]) -> Row:
    def number(column: str) -> float | None:
        return float(cells[column]) if cells.get(column) else None

    least, most = number("rim_least_in"), number("rim_most_in")
    return Row(
        size=cells["size"],
        rim_in=number("rim_in"),
        section_mm=number("section_mm"),
        overall_mm=number("overall_mm"),
        least_overall_mm=number("overall_mm"),
        rims_in=None if least is None or most is None else (least, most),
        around_mm=number("around_mm"),
        source=cells["source"],
    )


RIMS_IN: dict[str, tuple[float, float]] = {
    "175/70-13": (4.5, 6.0),
    "205/60-15": (5.5, 7.5),
    "195/65-15": (5.5, 7.0),
    "205/65-15": (5.5, 7.5),
    "235/75-15": (6.0, 8.0),
    "255/60-15": (7.0, 9.0),
    "275/60-15": (7.5, 9.5),
    "205/55-16": (5.5, 7.5),
    "225/50-16": (6.0, 8.0),
    "215/45-17": (7.0, 8.0),
    "225/45-17": (7.0, 8.5),
    "225/50-17": (6.0, 8.0),
    "235/45-17": (7.5, 9.0),
    "245/45-17": (7.5, 9.0),
    "255/40-17": (8.5, 10.0),
    "255/45-17": (8.0, 9.5),
    "275/40-17": (9.0, 11.0),
    "225/40-18": (7.5, 9.0),
    "235/40-18": (8.0, 9.5),
    "245/40-18": (8.0, 9.5),
    "255/35-18": (8.5, 10.0),
    "285/35-18": (9.5, 11.0),
    "275/35-20": (9.0, 11.0),
}
"""Narrowest and widest permitted rim of metric sizes (handbook, from memory; 205/60-15 from a published test)."""

LT_RIMS_IN: dict[str, tuple[float, float, float]] = {
    "235/85-16": (6.0, 6.5, 7.5),
    "245/75-16": (6.5, 7.0, 8.0),
    "255/85-16": (6.5, 7.0, 8.0),
    "265/75-16": (7.0, 7.5, 8.0),
    "285/75-16": (7.5, 8.0, 9.0),
    "305/70-16": (8.0, 9.0, 9.5),
    "315/75-16": (8.0, 8.5, 10.0),
    "385/70-16": (10.0, 11.0, 12.0),
    "255/75-17": (6.5, 7.0, 8.5),
}
"""Narrowest, measuring and widest rim of light-truck sizes (two tire makers' specification sheets)."""


def key(marking: Marking) -> str:
    """How this module writes a size: numbers and construction, speed and load left out.

    Tires of one numeric or letter size differ between radial and bias; metric ones do not.
    """
    rim, width = marking.rim_in, marking.width_mm or 0.0
    if marking.form in ("numeric", "commercial inch", "flotation"):
        return _key_in_inches(marking)
    if marking.form == "millimetre rim":
        return f"{width:g}/{marking.aspect:g}R{rim * MM_PER_INCH:.0f}"
    if marking.form == "letter":
        return f"{marking.letter}{'R' if marking.radial else ''}{marking.aspect:g}-{rim:g}"
    if marking.form == "bare metric":
        return f"{width:g}R{rim:g}"
    return f"{width:g}/{marking.aspect:g}-{rim:g}"


def _key_in_inches(marking: Marking) -> str:
    rim, width_in = marking.rim_in, (marking.width_mm or 0.0) / MM_PER_INCH
    build = "R" if marking.radial else "-"
    if marking.form == "numeric":
        light = "LT" if marking.commercial and not marking.radial else ""
        return f"{width_in:.2f}{build}{rim:g}{light}"
    if marking.form == "commercial inch":
        return f"{width_in:g}{build}{rim:g}"
    return f"{(marking.overall_mm or 0.0) / MM_PER_INCH:g}x{width_in:.2f}{build}{rim:g}"
