"""One corner over a grid of changes, as a person reads it."""

from __future__ import annotations

from pathlib import Path

from clearance.answers.grid import Cell, Grid, Over
from clearance.mockup.mockup import MockUp
from clearance.units import both
from clearance.words.text import head, table

_MOST = 20


def page(corner: MockUp, found: Grid, folder: Path | None) -> str:
    """How many clear, those with the most left over, and what stops the rest."""
    clear = [cell for cell in found.cells if cell.clears]
    against = [cell for cell in found.cells if cell.clears is False]
    untold = len(found.cells) - len(clear) - len(against)
    lines = [
        *head(corner),
        f"{len(found.cells):,} combinations of {', '.join(_range(over) for over in found.overs)}:",
        f"{len(clear):,} clear, {len(against):,} do not, of {untold:,} it is not told.",
        "",
    ]
    lines += [*_best(found, clear), *_stopped(against)]
    if folder is not None:
        lines.append(f"In {folder}: grid.csv, grid.svg; and grid.parquet where pyarrow is installed.")
    return "\n".join(lines).rstrip() + "\n"


def _best(found: Grid, clear: list[Cell]) -> list[str]:
    if not clear:
        return []
    best = sorted(clear, key=lambda cell: -round(cell.low_mm or 0.0, 1))[:_MOST]
    heads = [over.name.replace("_", " ") for over in found.overs]
    rows = [_row(found, cell) for cell in best]
    return ["Those with the most left over:", table([*heads, "left over", "part that binds"], rows), ""]


def _range(over: Over) -> str:
    name = over.name.replace("_", " ")
    if len(over.values) == 1:
        return f"{name} {_said(over, over.values[0])}"
    return f"{name} {_said(over, over.values[0])} to {_said(over, over.values[-1])} ({len(over.values)} values)"


def _said(over: Over, value: float) -> str:
    return both(value) if over.unit == "mm" else f"{value:g} {over.unit}"


def _row(found: Grid, cell: Cell) -> list[str]:
    values = [_said(over, value) for over, value in zip(found.overs, cell.at, strict=True)]
    part = "" if cell.gap is None else cell.gap.part
    return [*values, both(cell.low_mm or 0.0), part]


def _stopped(against: list[Cell]) -> list[str]:
    counted: dict[str, int] = {}
    for cell in against:
        if cell.gap is not None:
            counted[cell.gap.part] = counted.get(cell.gap.part, 0) + 1
    said = [f"{part} ({count:,})" for part, count in sorted(counted.items(), key=lambda one: (-one[1], one[0]))]
    return [f"What stops the others: {', '.join(said)}.", ""] if said else []
