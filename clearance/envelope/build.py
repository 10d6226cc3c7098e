"""The envelope in seconds: the wheel swept as a closed disc.

Nothing of a tub reaches into the hollow of a barrel or the dish of a wheel face, so here the wheel is taken as its own
revolved convex hull: a disc, tire and all. The distance to a convex solid is a convex function, which is what makes both
finding the surface and proving it quick.

    lattice near the surface -> dual mesh -> corners moved to the level -> split where the middles are off -> proven

* level    - how far outside the swept disc the corners are laid: enough that the chords of bulges do not dip inside
* standoff - proven by `geom.bracket` over every triangle and every setting: the disc never comes nearer than this
* slack    - how far outside the disc the surface lies at the corners, the middles of the sides and of the faces; measured

An articulation limit is not used: the envelope holds the whole box of travels. Lengths are millimetres.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np

from clearance.envelope.surface import dual_mesh, edges_of, is_closed, lattice_near, split, triangles_of
from clearance.envelope.sweep import Chart, Sweep, stations, sweep_of
from clearance.errors import OutputError
from clearance.geom.bracket import bracket
from clearance.geom.field import least_over_path
from clearance.geom.revolve import Solid, hull
from clearance.mockup.mockup import MockUp
from clearance.pose import Array

SLACK_MM = 0.5
_PITCH_MM = 11.0
"""Lattice step at one millimetre of slack; it goes with the square root of the slack."""
_LEVEL = 0.5
"""Where in the slack the corners are laid."""
_ROUNDS = 2
_TRIES = 5
_WORK = 4_000_000
_STEP_MM = 25.0
"""How far apart settings are tried first."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Envelope:
    """A watertight mesh in corner axes that holds the disc at every position, with what is known of it."""

    vertices_mm: Array
    """(v, 3)"""
    faces: np.ndarray
    """(t, 3), outward"""
    grown_mm: float
    """By how much more than the disc it holds: a required gap, the motion's uncertainty."""
    standoff_mm: float
    """Proven: the grown disc never comes nearer to the surface than this; at least 0."""
    slack_mm: float
    """Measured: no corner, middle of a side or of a face lies further outside the true (grown) sweep."""


def envelope_of(
    mockup: MockUp,
    *,
    grown_mm: float = 0.0,
    slack_mm: float = SLACK_MM,
    progress: Callable[[int, int], None] | None = None,
) -> Envelope:
    """The envelope of a mock-up's wheel as a disc, grown by `grown_mm` and by what its motion is uncertain by.

    Raises OutputError where containment cannot be proven.
    """
    sweep, play_mm = without_play(as_disc(sweep_of(mockup.solid, mockup.suspension)))
    grown = grown_mm + sweep.uncertainty_mm + play_mm
    level = grown + _LEVEL * slack_mm
    for turn in range(_TRIES):
        if progress is not None:
            progress(turn, _TRIES)
        skin = _Skin(sweep, grown, level, slack_mm)
        skin.lay()
        skin.split_where_off()
        missing = grown - skin.at_least_mm()
        if missing <= 0:
            return skin.done(-missing)
        # where the mesh cuts a corner it is laid anew further out: the further, the smoother
        level += missing + 0.1 * slack_mm
    raise OutputError(
        f"the envelope could not be proven to hold every position: {missing:.2f} mm are missing somewhere."
        " Ask for more slack, or report this corner file."
    )


def as_disc(sweep: Sweep) -> Sweep:
    """The same motion with the wheel closed to its convex hull, the limit on articulation left out."""
    outline = hull(sweep.solid.profile)
    return replace(sweep, solid=Solid(profile=outline, pieces=(outline,)), across=None, articulation_mm=None)


def without_play(sweep: Sweep) -> tuple[Sweep, float]:
    """A motion of more than one number without its play, and by how much to grow the sweep so that it holds that too.

    Play beside travel and steering would make four or five numbers of every setting. What the wheel can be pushed by, in any
    direction, is at most the diagonal of its play.
    """
    path = sweep.path
    if not path.has_shift or len(path.sizes) < 2:
        return sweep, 0.0
    play = float(np.linalg.norm(np.abs(path.box[-2:]).max(axis=1)))
    own = slice(0, -2)
    still = replace(
        path,
        box=path.box[own],
        has_shift=False,
        centre_bend=path.centre_bend[own, own],
        axis_bend=path.axis_bend[own, own],
        far_bend=path.far_bend[own, own],
    )
    return replace(sweep, path=still), play


class _Skin:
    """A closed mesh on its way to the level."""

    def __init__(self, sweep: Sweep, grown_mm: float, level_mm: float, slack_mm: float) -> None:
        self.sweep, self.grown, self.slack, self.level = sweep, grown_mm, slack_mm, level_mm
        self.vertices = np.zeros((0, 3))
        self.faces = np.zeros((0, 3), dtype=int)

    def field(self, points: Array) -> Array:
        """Distance (n,) from points to the swept disc, at real settings."""
        return least_over_path(points, self.sweep.path, self.sweep.solid, step_mm=_STEP_MM)

    def lay(self) -> None:
        """A closed mesh about the level, its corners moved to it."""
        pitch = _PITCH_MM * float(np.sqrt(self.slack))
        chart = Chart(self.sweep.solid, beyond_mm=8 * pitch + self.level)
        at = stations(self.sweep)
        for _ in range(5):
            lattice = lattice_near(self.sweep, chart, at, level_mm=self.level, pitch_mm=pitch)
            vertices, quads, _ = dual_mesh(lattice, self.level)
            faces = triangles_of(vertices, quads)
            if is_closed(faces):
                break
            pitch *= 0.83
        else:
            raise OutputError("the envelope's surface would not close. Ask for another slack, or report this corner file.")
        self.vertices, self.faces = vertices, faces
        for _ in range(3):
            self._to_level(np.arange(len(vertices)))
        self.faces = triangles_of(self.vertices, quads)

    def _to_level(self, rows: np.ndarray) -> None:
        """Move corners along the mesh's normal by what they are off, where that brings them nearer.

        In a crease the normal says little: there half a step, or none, is better than one that folds the mesh.
        """
        normal = self._normals()[rows]
        start = self.vertices[rows]
        off = self.level - self.field(start)
        left = np.abs(off)
        for share in (1.0, 0.4):
            moved = start + (share * np.clip(off, -3.0, 3.0))[:, None] * normal
            then = np.abs(self.level - self.field(moved))
            better = then < 0.9 * left
            self.vertices[rows[better]] = moved[better]
            left = np.minimum(left, then)

    def _normals(self) -> Array:
        a, b, c = (self.vertices[self.faces[:, i]] for i in range(3))
        across = np.cross(b - a, c - a)
        normal = np.zeros_like(self.vertices)
        for i in range(3):
            np.add.at(normal, self.faces[:, i], across)
        return normal / np.maximum(np.linalg.norm(normal, axis=1), 1e-12)[:, None]

    def split_where_off(self) -> None:
        """Split sides whose middles dip too far in or stand too far out, until none does or the rounds are over."""
        known: dict[int, float] = {}
        for _ in range(_ROUNDS):
            edges, face_edges = edges_of(self.faces)
            a, b = edges.T
            key = a.astype(np.int64) << 32 | b
            fresh = np.flatnonzero([k not in known for k in key.tolist()])
            middle = (self.vertices[a[fresh]] + self.vertices[b[fresh]]) / 2
            known.update(zip(key[fresh].tolist(), self.field(middle).tolist(), strict=True))
            height = np.array([known[k] for k in key.tolist()])
            low, high = self.level - 0.4 * self.slack, self.level + self.slack
            length = np.linalg.norm(self.vertices[a] - self.vertices[b], axis=1)
            chosen = np.flatnonzero(((height < low) | (height > high)) & (length > 2 * self.slack))
            if not len(chosen):
                break
            number = np.full(len(edges), -1)
            number[chosen] = len(self.vertices) + np.arange(len(chosen))
            self.vertices = np.concatenate([self.vertices, (self.vertices[a[chosen]] + self.vertices[b[chosen]]) / 2])
            self.faces = split(self.faces, face_edges, number)
            for _ in range(2):
                self._to_level(number[chosen])

    def at_least_mm(self) -> float:
        """Proven: how near the disc comes to the surface at most, over every triangle and setting."""
        found = bracket(
            self.vertices[self.faces],
            self.sweep.path,
            self.sweep.solid,
            tolerance_mm=0.2 * self.slack,
            deep_work=_WORK,
            work=_WORK,
        )
        return found.at_least_mm

    def done(self, standoff_mm: float) -> Envelope:
        """The proven mesh with what is known of it."""
        return Envelope(
            vertices_mm=self.vertices,
            faces=self.faces,
            grown_mm=self.grown,
            standoff_mm=standoff_mm,
            slack_mm=float(self._looked_at().max() - self.grown),
        )

    def _looked_at(self) -> Array:
        """The field at corners, middles of sides and middles of faces."""
        edges, _ = edges_of(self.faces)
        middles = (self.vertices[edges[:, 0]] + self.vertices[edges[:, 1]]) / 2
        return self.field(np.concatenate([self.vertices, middles, self.vertices[self.faces].mean(axis=1)]))
