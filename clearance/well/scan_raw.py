"""What stood in a mesh or point file, in the file's own axes and unit, and how its pieces are put together.

* mesh   - vertices and triangles
* points - a cloud without faces
* piece  - one mesh of a file that holds several, where its place in the scene puts it
* torn   - a sign that the file is not whole, which may also be how it was made: whoever uses it as metal must say that
           it is whole. What cannot be whole is refused where it is read
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field

import numpy as np
import numpy.typing as npt

from clearance.errors import MeshError
from clearance.pose import Array

Faces = npt.NDArray[np.int64]
Colours = npt.NDArray[np.uint8]

MESH = "mesh"
POINTS = "points"

MOST_TRIANGLES = 40_000_000
AGAIN = "Export it again."


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class RawMesh:
    """What stood in the file, in the file's own axes and unit."""

    name: str
    """The file's name, without its folder."""
    vertices: Array
    """(n, 3)."""
    faces: Faces
    """(m, 3) indices into `vertices`; (0, 3) for points."""
    colours: Colours | None = None
    """(n, 4) red, green, blue, alpha; None where the file has none."""
    file_format: str = ""
    notes: tuple[str, ...] = field(default=())
    torn: tuple[str, ...] = field(default=())
    """Signs that something is missing from the file; empty as a rule."""

    @property
    def kind(self) -> str:
        """ "mesh" or "points"."""
        return MESH if len(self.faces) else POINTS

    @property
    def low(self) -> Array:
        """(3,): the least corner of the box around it."""
        least: Array = self.vertices.min(axis=0)
        return least

    @property
    def size(self) -> Array:
        """(3,): the box around it."""
        extent: Array = np.ptp(self.vertices, axis=0)
        return extent


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Piece:
    """One mesh of a file, in the axes of the whole; faces (0, 3) for points."""

    vertices: Array
    faces: Faces
    colours: Colours | None = None


def no_faces() -> Faces:
    """(0, 3)"""
    return np.zeros((0, 3), dtype=np.int64)


def hold_indices(faces: Faces, count: int) -> None:
    """Refuses a triangle whose corner is no vertex of its own piece: joined, it would quietly name one of the next.

    Raises MeshError with the vertex that is not there.
    """
    if len(faces) and (faces.min() < 0 or faces.max() >= count):
        wrong = int(faces.max()) if faces.max() >= count else int(faces.min())
        raise MeshError(f"a triangle names vertex {wrong}, but there are {count} (counted from 0). {AGAIN}")


def joined(pieces: Sequence[Piece]) -> Piece:
    """The pieces as one; points only where there is no triangle in any. Raises MeshError where there is nothing."""
    chosen = _sound(pieces)
    starts = np.cumsum([0, *(len(piece.vertices) for piece in chosen)])
    colours = [piece.colours for piece in chosen if piece.colours is not None]
    return Piece(
        vertices=np.concatenate([piece.vertices for piece in chosen]),
        faces=np.concatenate([piece.faces + start for piece, start in zip(chosen, starts, strict=False)]),
        colours=np.concatenate(colours) if len(colours) == len(chosen) else None,
    )


def _sound(pieces: Sequence[Piece]) -> list[Piece]:
    """Those with triangles, or where none has any those with points; refused where there are none, or too many."""
    meshes = [piece for piece in pieces if len(piece.faces)]
    chosen = meshes or [piece for piece in pieces if len(piece.vertices)]
    if not chosen:
        raise MeshError("there are no triangles and no points in it. Export the scan again.")
    if sum(len(piece.faces) for piece in chosen) > MOST_TRIANGLES:
        raise MeshError(f"it unpacks to more than {MOST_TRIANGLES:,} triangles. Crop or decimate it first.")
    for piece in chosen:
        hold_indices(piece.faces, len(piece.vertices))
    return chosen


def fan(corners: Faces) -> Faces:
    """(n, k) corners of faces as (n (k - 2), 3) triangles from the first corner of each."""
    count = corners.shape[1]
    parts = [corners[:, [0, k, k + 1]] for k in range(1, count - 1)]
    return np.stack(parts, axis=1).reshape(-1, 3)
