"""Patterns laid on sheets, none touching another.

Bottom-left on a grid: the largest first, each tried as drawn and turned, on the first sheet where it finds room, as low
and then as far left as it goes. Not the tightest nest, but a sure one: room is judged on the true shapes, so a small
pattern goes inside a ring. Lengths are millimetres.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from clearance.errors import ShapeError
from clearance.gauge.flatwork import Shape
from clearance.units import both

GRID_MM = 8.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Placed:
    """Where one pattern lies: turned about (0, 0), then shifted, on which sheet."""

    index: int
    sheet: int
    turn_deg: float
    shift_mm: tuple[float, float]


def nested(
    shapes: Sequence[Shape], names: Sequence[str], sheet_mm: tuple[float, float], gap_mm: float, edge_mm: float
) -> list[Placed]:
    """A place for each shape on sheets of (width, height), `gap_mm` between shapes, `edge_mm` to the sheet's edges.

    Raises ShapeError where one of them is larger than a sheet.
    """
    order = sorted(range(len(shapes)), key=lambda k: (-round(_span(shapes[k]), 3), k))
    room = (sheet_mm[0] - 2 * edge_mm, sheet_mm[1] - 2 * edge_mm)
    columns, rows = int(room[0] // GRID_MM) + 1, int(room[1] // GRID_MM) + 1
    sheets: list[np.ndarray] = []
    found: dict[int, Placed] = {}
    for k in order:
        masks = _masks(shapes[k], gap_mm, (rows, columns), room)
        if not masks:
            x0, y0, x1, y1 = shapes[k].bounds
            raise ShapeError(
                f"{names[k]} is {both(x1 - x0)} by {both(y1 - y0)}: larger than a sheet of"
                f" {both(sheet_mm[0])} by {both(sheet_mm[1])}. Write a larger --sheet."
            )
        found[k] = _first_place(k, masks, sheets, (rows, columns), edge_mm, room)
    return [found[k] for k in range(len(shapes))]


Mask = tuple[float, np.ndarray, tuple[float, float], tuple[float, float]]
"""A turn, deg, the cells that a shape so turned takes, its corner and its extent, mm."""


def _masks(shape: Shape, gap_mm: float, cells: tuple[int, int], room: tuple[float, float]) -> list[Mask]:
    """The shape turned every way in which a sheet of so many cells has room for it."""
    masks = [(turn, *_mask(shape, turn, gap_mm)) for turn in (0.0, 90.0, 45.0)]
    masks = [m for m in masks if m[1].shape[0] <= cells[0] and m[1].shape[1] <= cells[1]]
    return [m for m in masks if m[3][0] <= room[0] + 1e-6 and m[3][1] <= room[1] + 1e-6]


def _first_place(
    index: int,
    masks: list[Mask],
    sheets: list[np.ndarray],
    size: tuple[int, int],
    edge_mm: float,
    room: tuple[float, float],
) -> Placed:
    for number in range(len(sheets) + 1):
        if number == len(sheets):
            sheets.append(np.zeros(size, dtype=bool))
        best: tuple[tuple[int, int], float, np.ndarray, tuple[float, float]] | None = None
        for turn, mask, corner, extent in masks:
            spot = _lowest_left(sheets[number], mask, extent, room)
            if spot is not None and (best is None or spot[0] + mask.shape[0] < best[0][0] + best[2].shape[0]):
                best = (spot, turn, mask, corner)
        if best is not None:
            (row, column), turn, mask, corner = best
            sheets[number][row : row + mask.shape[0], column : column + mask.shape[1]] |= mask
            shift = (edge_mm + column * GRID_MM - corner[0], edge_mm + row * GRID_MM - corner[1])
            return Placed(index=index, sheet=number, turn_deg=turn, shift_mm=shift)
    raise AssertionError("an empty sheet takes every shape that is not larger than it")


def _span(shape: Shape) -> float:
    x0, y0, x1, y1 = shape.bounds
    return float((x1 - x0) * (y1 - y0))


@lru_cache(maxsize=512)
def _mask(shape: Shape, turn_deg: float, gap_mm: float) -> tuple[np.ndarray, tuple[float, float], tuple[float, float]]:
    """Cells that the turned shape and its gap touch, the lower left corner of its box, and the box's size.

    It is remembered: the same shapes are tried on many sizes of sheet.
    """
    from shapely import box, intersects, prepare
    from shapely.affinity import rotate

    turned = rotate(shape, turn_deg, origin=(0.0, 0.0))
    x0, y0, x1, y1 = turned.bounds
    wide = turned.buffer(gap_mm).simplify(0.2)
    prepare(wide)
    # The gap beyond the box's right and top edge is kept free by the cells there; the left and lower sides by those
    # of whatever lies there.
    columns, rows = int((x1 - x0 + gap_mm) // GRID_MM) + 1, int((y1 - y0 + gap_mm) // GRID_MM) + 1
    xs, ys = np.meshgrid(x0 + GRID_MM * np.arange(columns), y0 + GRID_MM * np.arange(rows))
    cells = box(xs, ys, xs + GRID_MM, ys + GRID_MM)
    taken = np.asarray(intersects(wide, cells))
    taken.flags.writeable = False
    return taken, (float(x0), float(y0)), (float(x1 - x0), float(y1 - y0))


def _lowest_left(
    sheet: np.ndarray, mask: np.ndarray, extent: tuple[float, float], room: tuple[float, float]
) -> tuple[int, int] | None:
    from scipy.signal import fftconvolve

    rows, columns = sheet.shape[0] - mask.shape[0] + 1, sheet.shape[1] - mask.shape[1] + 1
    if rows <= 0 or columns <= 0:
        # The last cells may hang over the sheet's edge by less than one cell.
        return None
    if not sheet.any():
        return (0, 0)
    if int((~sheet).sum()) < int(mask.sum()):
        return None
    clash = fftconvolve(sheet.astype(float), mask[::-1, ::-1].astype(float), mode="valid") > 0.5
    free = np.argwhere(~clash)
    for row, column in free:
        if column * GRID_MM + extent[0] <= room[0] + 1e-6 and row * GRID_MM + extent[1] <= room[1] + 1e-6:
            return int(row), int(column)
    return None
