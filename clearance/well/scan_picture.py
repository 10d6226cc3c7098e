"""A scan seen from three sides, as grey pictures to lay a grid over.

Each picture looks along one axis of the given points, from its positive end, and shows the nearest surface, bright
where it faces the viewer. Points are splashed, not traced: two million triangles take seconds.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from clearance.pose import Array
from clearance.well.scan_read import Faces

Grey = npt.NDArray[np.uint8]
EMPTY = 255
MOST_SPOTS = 4_000_000


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class View:
    """One picture: its pixels, and which coordinates its left, right, bottom and top edges are at."""

    along: str
    """The axis that it looks along: "x", "y" or "z"."""
    right: str
    """The axis to the right; the remaining one is up."""
    above: str
    pixels: Grey
    """(rows, columns), the first row at the top; 255 where there is nothing."""
    extent: tuple[float, float, float, float]


def three_views(vertices: Array, faces: Faces, *, pixels: int = 480, up: str = "z") -> tuple[View, View, View]:
    """The scan (vertices (n, 3), faces (m, 3) or none) from three sides, with `up` upward where it can be."""
    low, high = vertices.min(axis=0), vertices.max(axis=0)
    pixel = float((high - low).max()) / pixels or 1.0
    spots, facing = _spots(vertices, faces, pixel)
    views = [_view(spots, facing, along, up, low, high, pixel) for along in range(3)]
    return views[0], views[1], views[2]


def _spots(vertices: Array, faces: Faces, pixel: float) -> tuple[Array, Array]:
    """Points (n, 3) no further apart than a pixel or so, and how squarely each faces each axis (n, 3), 0 to 1."""
    if not len(faces):
        return vertices, np.ones_like(vertices)
    a, b, c = (vertices[faces[:, k]] for k in range(3))
    normal = np.cross(b - a, c - a)
    double = np.sqrt((normal**2).sum(axis=1))
    longest = np.sqrt(np.stack([((b - a) ** 2).sum(1), ((c - b) ** 2).sum(1), ((a - c) ** 2).sum(1)]).max(axis=0))
    # two or three to a pixel, and enough along a sliver; a triangle within a pixel has one
    wanted = np.where(longest <= pixel, 1.0, 1.25 * double / pixel**2 + longest / pixel + 1.0)
    wanted *= min(1.0, MOST_SPOTS / wanted.sum())
    owner = np.repeat(np.arange(len(faces)), np.maximum(wanted, 1.0).astype(int))
    # a sequence that fills the unit square evenly from wherever it starts (Roberts, 2018: powers of the plastic number)
    steps = np.arange(1, len(owner) + 1)[:, None]
    u, v = ((0.5 + steps * np.array([0.7548776662466927, 0.5698402909980532])) % 1.0).T
    folded = u + v > 1.0
    u, v = np.where(folded, 1.0 - u, u)[:, None], np.where(folded, 1.0 - v, v)[:, None]
    spots = a[owner] + u * (b - a)[owner] + v * (c - a)[owner]
    facing = np.abs(normal) / np.where(double > 0.0, double, 1.0)[:, None]
    return spots, facing[owner]


def _view(spots: Array, facing: Array, along: int, up: str, low: Array, high: Array, pixel: float) -> View:
    right, above = _sides(along, up)
    shape = (int((high[above] - low[above]) / pixel) + 1, int((high[right] - low[right]) / pixel) + 1)
    columns = np.clip(((spots[:, right] - low[right]) / pixel).astype(int), 0, shape[1] - 1)
    rows = np.clip(((spots[:, above] - low[above]) / pixel).astype(int), 0, shape[0] - 1)
    picture = np.full(shape, EMPTY, dtype=np.uint8)
    # far to near: the last spot written to a pixel is the nearest
    order = np.argsort(spots[:, along], kind="stable")
    depth = (spots[order, along] - low[along]) / max(float(high[along] - low[along]), 1e-300)
    shade = 40.0 + 120.0 * facing[order, along] + 50.0 * depth
    picture[rows[order], columns[order]] = np.minimum(shade, 235.0).astype(np.uint8)
    return View(
        along="xyz"[along],
        right="xyz"[right],
        above="xyz"[above],
        pixels=picture[::-1],
        extent=(
            float(low[right]),
            float(low[right] + shape[1] * pixel),
            float(low[above]),
            float(low[above] + shape[0] * pixel),
        ),
    )


def _sides(along: int, up: str) -> tuple[int, int]:
    """Which axes lie to the right and upward when looking along one: the stated up wherever it can be."""
    rest = [way for way in range(3) if way != along]
    above = "xyz".index(up) if up and "xyz".index(up) in rest else rest[1]
    return next(way for way in rest if way != above), above
