"""What is in a scan, before anyone relies on it: nothing here is guessed silently, and nothing is changed.

Lengths are the file's own numbers, because the unit is not known yet. The words (piece, rim, hole, shared edge) are
those of `scan_clean`.
"""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np

from clearance.pose import Array
from clearance.units import MESH_UNITS
from clearance.well import scan_clean
from clearance.well.scan import spacing
from clearance.well.scan_place import sensible_units
from clearance.well.scan_read import MESH, RawMesh

SHOWN_PIECES = 5


@dataclass(frozen=True, slots=True, kw_only=True)
class Piece:
    """One connected piece: its triangles, and the size of the box round it in the file's numbers."""

    triangles: int
    size: tuple[float, float, float]
    at: tuple[float, float, float]
    """One of its corners, to pick it by."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Look:
    """What a scan holds."""

    name: str
    file_format: str
    kind: str
    vertices: int
    triangles: int
    merged: int
    """Vertices at the place of another one."""
    degenerate: int
    duplicated: int
    pieces: int
    largest: tuple[Piece, ...]
    open_edges: int
    rims: int
    holes: int
    largest_hole: float
    """Length round the longest hole's rim."""
    shared_edges: int
    coloured: bool
    low: tuple[float, float, float]
    size: tuple[float, float, float]
    units: tuple[str, ...]
    """In which a wheel well or a car may have this size."""
    up: str
    """The axis that is likely to be up: "x", "y", "z", or nothing."""
    up_because: str
    point_spacing: tuple[float, float, float] | None = None
    """Of a cloud: how far neighbours are apart, in the middle, 99 of 100, at most."""
    notes: tuple[str, ...] = field(default=())
    torn: tuple[str, ...] = field(default=())
    """Signs that the file is not whole."""

    @property
    def closed(self) -> bool:
        """Whether it is the surface of a solid: no open edge and none shared by more than two."""
        return self.kind == MESH and self.triangles > 0 and not self.open_edges and not self.shared_edges


def look(raw: RawMesh) -> Look:
    """What a scan holds; two million triangles take some seconds."""
    mesh, counts = scan_clean.cleaned(raw)
    count, labels = scan_clean.pieces(mesh.faces, len(mesh.vertices))
    ends = scan_clean.rims(mesh.vertices, mesh.faces, labels)
    up, because = up_guess(raw)
    return Look(
        name=raw.name,
        file_format=raw.file_format,
        kind=raw.kind,
        vertices=counts.vertices,
        triangles=counts.triangles,
        merged=counts.merged,
        degenerate=counts.degenerate,
        duplicated=counts.duplicated,
        pieces=count,
        largest=_largest(mesh, labels, count),
        open_edges=ends.open_edges,
        rims=ends.rims,
        holes=ends.holes,
        largest_hole=ends.longest_hole,
        shared_edges=ends.shared_edges,
        coloured=raw.colours is not None,
        low=_three(raw.low),
        size=_three(raw.size),
        units=sensible_units(raw.size),
        up=up,
        up_because=because,
        point_spacing=None if raw.kind == MESH else spacing(mesh.vertices),
        notes=(*raw.notes, *_far_notes(raw)),
        torn=raw.torn,
    )


def _three(values: Array) -> tuple[float, float, float]:
    x, y, z = (float(value) for value in values)
    return x, y, z


def _largest(mesh: RawMesh, labels: scan_clean.Labels, count: int) -> tuple[Piece, ...]:
    if not count:
        return ()
    low, high = scan_clean.piece_boxes(mesh.vertices, mesh.faces, labels, count)
    triangles = np.bincount(labels, minlength=count)
    first = np.zeros(count, dtype=np.int64)
    first[labels[::-1]] = np.arange(len(labels))[::-1]
    return tuple(
        Piece(
            triangles=int(triangles[k]),
            size=_three(high[k] - low[k]),
            at=_three(mesh.vertices[mesh.faces[first[k], 0]]),
        )
        for k in range(min(count, SHOWN_PIECES))
    )


def up_guess(raw: RawMesh) -> tuple[str, str]:
    """The axis that is likely to be up, and why; nothing where there is no saying."""
    if raw.file_format in ("GLB", "glTF"):
        return "y", "glTF says that y is up, and most exporters keep to it"
    size = raw.size
    order = np.argsort(size)
    whole_car = any(
        2200.0 < size[order[2]] * factor <= 8000.0 and size[order[1]] * factor >= 1200.0
        for factor in MESH_UNITS.values()
    )
    if whole_car and size[order[0]] < 0.95 * size[order[1]] and size[order[1]] < 0.75 * size[order[2]]:
        return "xyz"[order[0]], "a whole car is longer than wide and wider than high, and this is its shortest side"
    return "", "a wheel well alone does not show it; phone apps mostly make y up, CAD and surveys z"


def _far_notes(raw: RawMesh) -> tuple[str, ...]:
    furthest = float(np.abs(raw.vertices).max())
    if furthest > 1000.0 * float(raw.size.max()) > 0.0:
        return (
            f"it lies {furthest:.4g} from its origin and is only {raw.size.max():.4g} large: map coordinates?"
            " A file of single precision has lost its finest digits there",
        )
    return ()
