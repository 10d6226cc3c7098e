"""The envelope in seconds: the wheel swept as a closed disc.

Nothing of a tub reaches into the hollow of a barrel or the dish of a wheel face, so here the wheel is taken as its own
revolved convex hull: a disc, tire and all. The distance to a convex solid is a convex function, which is what makes
both finding the surface and proving it quick.

    lattice near the surface -> dual mesh at a level -> proven, or laid anew further out

* level    - how far outside the swept disc the mesh is laid: enough that the chords of bulges do not dip inside
* standoff - proven by `geom.bracket` over every triangle and every setting: the disc never comes nearer than this
* slack    - how far outside the disc the surface lies at a few thousand of its corners and middles of faces;
             measured, and largest in the creases between one lock and the other

An articulation limit is not used: the envelope holds the whole box of travels. Lengths are millimetres.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np

from clearance.envelope.surface import dual_mesh, is_closed, lattice_near, triangles_of
from clearance.envelope.sweep import Chart, Sweep, stations, sweep_of
from clearance.errors import OutputError
from clearance.geom.bracket import bracket
from clearance.geom.field import least_over_path
from clearance.geom.revolve import Solid, hull
from clearance.mockup.mockup import MockUp
from clearance.pose import Array

SLACK_MM = 2.0
"""Aimed at; what came of it is measured and said."""
_PITCH = 5.0
"""Lattice step over the slack that is aimed at."""
_LEVEL = 0.19
"""How far outside the corners are laid, over the lattice step: what a mesh of that step usually cuts off."""
_TRIES = 6
_WORK = 4_000_000
_LOOKED_AT = 6_000
"""Points of the surface at which the slack is measured."""


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
    """Measured: of the points looked at, none lies further outside the true (grown) sweep."""


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
    pitch = _PITCH * slack_mm
    level = grown + _LEVEL * pitch
    at = stations(sweep)
    for turn in range(_TRIES):
        if progress is not None:
            progress(turn, _TRIES)
        vertices, faces = _laid(sweep, at, level, pitch)
        found = bracket(
            vertices[faces], sweep.path, sweep.solid, tolerance_mm=0.15 * slack_mm, work=_WORK, deep_work=_WORK
        )
        missing = grown - found.at_least_mm
        if missing <= 0:
            return Envelope(
                vertices_mm=vertices,
                faces=faces,
                grown_mm=grown,
                standoff_mm=-missing,
                slack_mm=_outside_mm(sweep, at, vertices, faces) - grown,
            )
        # where the mesh cuts a corner of the sweep it is laid anew, further out by what is missing
        level += missing + 0.05 * slack_mm
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

    Play beside travel and steering would make four or five numbers of every setting. What the wheel can be pushed by,
    in any direction, is at most the diagonal of its play.
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


def _laid(sweep: Sweep, at: Array, level_mm: float, pitch_mm: float) -> tuple[Array, np.ndarray]:
    """A closed mesh along the level of the swept disc: vertices (v, 3), faces (t, 3)."""
    for _ in range(5):
        chart = Chart(sweep.solid, beyond_mm=8 * pitch_mm + level_mm)
        lattice = lattice_near(sweep, chart, at, level_mm=level_mm, pitch_mm=pitch_mm)
        vertices, quads, _ = dual_mesh(lattice, level_mm)
        faces = triangles_of(vertices, quads)
        if is_closed(faces):
            return vertices, faces
        pitch_mm *= 0.83
    raise OutputError("the envelope's surface would not close. Ask for another slack, or report this corner file.")


def _outside_mm(sweep: Sweep, at: Array, vertices: Array, faces: np.ndarray) -> float:
    """How far outside the swept disc the surface lies at most, at a fixed choice of its corners and middles of
    faces.
    """
    points = np.concatenate([vertices, vertices[faces].mean(axis=1)])
    if len(points) > _LOOKED_AT:
        points = points[np.random.default_rng(9).choice(len(points), _LOOKED_AT, replace=False)]
    best = least_over_path(points, sweep.path, sweep.solid)
    for setting in at:
        best = np.minimum(best, sweep.distance(points, np.repeat(setting[None], len(points), axis=0)))
    return float(best.max())
