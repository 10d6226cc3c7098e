"""A grid as a picture: the first number across, the second up, a panel for each value of the others.

* clear    - a shaded cell with what is left over
* does not - a white cell with a cross in its corner and what is missing
* not told - a white cell with a question mark
* zero     - the heavy line, drawn only between a cell that clears and one that does not, both certified; broken where
             a cell that is not told lies beside: the line is somewhere in there

A number in a cell is the lower end in millimetres, rounded down, so that none looks better than it is.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

from clearance.answers.grid import Cell, Grid, Over
from clearance.geom.drawing import HIDDEN, THIN, Drawing, Mark, Path, Text
from clearance.geom.profile import Line, Point
from clearance.units import MM_PER_INCH

CELL_MM = (11.0, 7.0)
MOST_PANELS = 12
_BETWEEN_MM = 30.0
_HEAVY_MM = 0.45
WORDS = {
    "rim_width": "rim width",
    "overall_diameter": "overall diameter",
    "section_width": "section width",
    "backspace": "backspace",
    "offset": "offset",
    "spacer": "spacer",
    "bump_stop": "bump stop, earlier by",
    "lock_less": "lock given up, each way",
    "camber_more": "camber, more by",
    "raised": "body raised by",
}


def picture_of(found: Grid) -> Drawing:
    """The grid; see the module. Of many panels the first are drawn, and it is said how many are left out."""
    across, *others = found.overs
    up = others[0] if others else None
    more = others[1:]
    wide, high = len(across.values), 1 if up is None else len(up.values)
    marks: list[Mark] = []
    panels = _panels(found.cells, wide * high)
    step = high * CELL_MM[1] + _BETWEEN_MM
    for number, cells in enumerate(panels[:MOST_PANELS]):
        rows = _panels(cells, wide)
        marks += _panel(across, up, rows, (0.0, -number * step), _title(more, cells[0]))
    foot = -(min(len(panels), MOST_PANELS) - 1) * step - 17.0
    marks += [_word((0.0, foot - 5.0 * k), words) for k, words in enumerate(_key(len(panels)))]
    return Drawing(marks=tuple(marks))


def _panels(cells: Sequence[Cell], size: int) -> list[Sequence[Cell]]:
    return [cells[at : at + size] for at in range(0, len(cells), size)]


def _key(panels: int) -> list[str]:
    lines = [
        "Shaded: clears, with the millimetres left over. Crossed: does not, with what is missing. ?: not told.",
        "Heavy line: what must be kept is just kept, between two certified cells; broken beside a cell not told.",
    ]
    if panels > MOST_PANELS:
        lines.append(f"{panels - MOST_PANELS} more panels are not drawn; their cells stand in the table.")
    return lines


def _panel(across: Over, up: Over | None, rows: Sequence[Sequence[Cell]], at: Point, title: str) -> list[Mark]:
    marks: list[Mark] = []
    for j, row in enumerate(rows):
        for i, cell in enumerate(row):
            marks += _drawn(cell, _corner(at, i, j))
    marks += _zero(rows, at)
    wide, high = len(rows[0]) * CELL_MM[0], len(rows) * CELL_MM[1]
    for i, value in enumerate(across.values):
        marks.append(_word((at[0] + (i + 0.5) * CELL_MM[0], at[1] - 4.0), _number(across, value), align="centre"))
    marks.append(_word((at[0] + wide / 2, at[1] - 9.0), _axis(across), align="centre", height=2.8))
    if up is not None:
        for j, value in enumerate(up.values):
            marks.append(_word((at[0] - 2.0, at[1] + (j + 0.35) * CELL_MM[1]), _number(up, value), align="right"))
        marks.append(_word((at[0], at[1] + high + 2.0), _axis(up), height=2.8))
    if title:
        marks.append(_word((at[0], at[1] + high + 7.0), title, height=3.2))
    return marks


def _corner(at: Point, i: int, j: int) -> Point:
    return at[0] + i * CELL_MM[0], at[1] + j * CELL_MM[1]


def _drawn(cell: Cell, low: Point) -> list[Mark]:
    (x, y), (wide, high) = low, CELL_MM
    corners = [(x, y), (x + wide, y), (x + wide, y + high), (x, y + high)]
    sides = tuple(Line(start=a, end=b) for a, b in zip(corners, corners[1:] + corners[:1], strict=True))
    marks: list[Mark] = [Path(elements=sides, layer=THIN, shade=0.82 if cell.clears else 1.0)]
    if cell.clears is False:
        tip, foot = y + high - 0.8, y + high - 2.2
        marks += [_line((x + 0.8, tip), (x + 2.2, foot), THIN), _line((x + 0.8, foot), (x + 2.2, tip), THIN)]
    words = "?" if cell.clears is None or cell.low_mm is None else f"{math.floor(cell.low_mm * 10) / 10:+.1f}"
    return [*marks, _word((x + wide / 2, y + 0.3 * high), words, align="centre")]


def _zero(rows: Sequence[Sequence[Cell]], at: Point) -> list[Mark]:
    """The sides between cells of another answer."""
    marks: list[Mark] = []
    for j, row in enumerate(rows):
        for i, cell in enumerate(row):
            x, y = _corner(at, i, j)
            if i + 1 < len(row):
                marks += _side(cell, row[i + 1], (x + CELL_MM[0], y), (x + CELL_MM[0], y + CELL_MM[1]))
            if j + 1 < len(rows):
                marks += _side(cell, rows[j + 1][i], (x, y + CELL_MM[1]), (x + CELL_MM[0], y + CELL_MM[1]))
    return marks


def _side(one: Cell, other: Cell, start: Point, end: Point) -> list[Mark]:
    said = {one.clears, other.clears}
    if said == {True, False}:
        return [_bar(start, end)]
    # what is not told stands between
    return [_line(start, end, HIDDEN)] if None in said and True in said else []


def _bar(start: Point, end: Point) -> Path:
    half = _HEAVY_MM
    low = (min(start[0], end[0]) - half, min(start[1], end[1]) - half)
    high = (max(start[0], end[0]) + half, max(start[1], end[1]) + half)
    corners = [low, (high[0], low[1]), high, (low[0], high[1])]
    sides = tuple(Line(start=a, end=b) for a, b in zip(corners, corners[1:] + corners[:1], strict=True))
    return Path(elements=sides, layer=THIN, shade=0.0)


def _line(start: Point, end: Point, layer: str) -> Path:
    return Path(elements=(Line(start=start, end=end),), layer=layer)


def _word(at: Point, text: str, *, align: str = "left", height: float = 2.4) -> Text:
    return Text(at=at, text=text, height_mm=height, align=align)


def _number(over: Over, value: float) -> str:
    return f"{value:.6g}"


def _axis(over: Over) -> str:
    inches = f" ({over.values[0] / MM_PER_INCH:.2f} to {over.values[-1] / MM_PER_INCH:.2f} in)"
    return f"{WORDS[over.name]}, {over.unit}{inches if over.unit == 'mm' else ''}"


def _title(more: Sequence[Over], cell: Cell) -> str:
    return "; ".join(
        f"{WORDS[over.name]} {_number(over, value)} {over.unit}" for over, value in zip(more, cell.at[2:], strict=True)
    )
