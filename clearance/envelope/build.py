"""The envelope: a closed surface that holds the tire and wheel at every position, and is nowhere far outside.

Laid at a level just above zero of the field (see `sweep`), refined where it bends or creases, and then proven: where a
triangle's standoff falls short, its corners are moved out and it is proven again. The statement that an envelope makes is
that of the proof alone, however the surface was found.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from clearance.envelope.proof import outside, standoff
from clearance.envelope.surface import dual_mesh, edges_of, is_closed, lattice_near, split, triangles_of
from clearance.envelope.sweep import Chart, Sweep, settle, spacing, stations, sweep_of
from clearance.errors import OutputError
from clearance.mockup.mockup import MockUp
from clearance.pose import Array

SLACK_MM = 0.5
"""How far outside the truth an envelope may lie, unless asked otherwise."""
PITCH_MM = 8.0
"""Lattice step at the usual slack; it goes with the square root of the slack."""
_ROUNDS = 9
_LEVEL = 0.45
"""Where in the slack the surface is laid: chords of bulges dip below it, chords of hollows rise above it."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Envelope:
    """A watertight mesh in corner axes, with what is proven of it."""

    vertices_mm: Array
    """(v, 3)"""
    faces: np.ndarray
    """(t, 3), outward"""
    grown_mm: float
    """By how much more than the tire and wheel it holds: a required gap, play of a fit."""
    standoff_mm: float
    """Proven: no point of the grown tire and wheel, at any position, comes closer to the surface than this; at least 0."""
    slack_mm: float
    """Proven: no point of the surface is further than this outside the true (grown) swept solid."""
    stations: int
    """How many positions the search began from; the proof does not rest on them."""

    @property
    def holds_everything(self) -> bool:
        """Is containment proven?"""
        return self.standoff_mm >= 0.0


def envelope_of(mockup: MockUp, *, grown_mm: float = 0.0, slack_mm: float = SLACK_MM) -> Envelope:
    """The envelope of a mock-up's tire and wheel, grown by `grown_mm` and by what its motion is uncertain by.

    Raises OutputError where containment cannot be proven, which no sound solid and motion should cause.
    """
    sweep = sweep_of(mockup.solid, mockup.suspension)
    return swept(sweep, grown_mm=grown_mm + sweep.uncertainty_mm, slack_mm=slack_mm)


def swept(sweep: Sweep, *, grown_mm: float = 0.0, slack_mm: float = SLACK_MM, pitch_mm: float | None = None) -> Envelope:
    """The envelope of a sweep; see `envelope_of`."""
    pitch = pitch_mm or PITCH_MM * float(np.sqrt(slack_mm / SLACK_MM))
    level = grown_mm + _LEVEL * slack_mm
    chart = Chart(sweep.solid, beyond_mm=8 * pitch + level)
    at = stations(sweep)
    for _ in range(4):
        lattice = lattice_near(sweep, chart, at, level_mm=level, pitch_mm=pitch)
        vertices, quads, nearby = dual_mesh(lattice, level)
        faces = triangles_of(vertices, quads)
        if is_closed(faces):
            break
        pitch *= 0.83
    surface = _Surface(sweep, chart, level)
    surface.lay(vertices, quads, at, nearby)
    surface.refine(slack_mm)
    return surface.proven(grown_mm, slack_mm, len(at))


class _Surface:
    """A mesh on its way to the level: each vertex with two settings at which the solid comes near."""

    def __init__(self, sweep: Sweep, chart: Chart, level_mm: float) -> None:
        self.sweep, self.chart, self.level = sweep, chart, level_mm
        self.step = spacing(sweep)
        self.vertices = np.zeros((0, 3))
        self.normal = np.zeros((0, 3))
        self.settings = np.zeros((0, 0))
        self.other = np.zeros((0, 0))
        self.faces = np.zeros((0, 3), dtype=int)

    def lay(self, vertices: Array, quads: np.ndarray, at: Array, nearby: np.ndarray) -> None:
        """Bring the dual mesh to the level."""
        one, other = self._two_best(vertices, at, nearby)
        self.vertices, self.normal, self.settings, self.other = self._to_level(vertices, one, other, 3)
        self.faces = triangles_of(self.vertices, quads)

    def _two_best(self, points: Array, at: Array, nearby: np.ndarray) -> tuple[Array, Array]:
        """Of the stations (n, m) near each point, the best and the best that is another one."""
        distance = np.stack([self.sweep.distance(points, at[nearby[:, i]]) for i in range(nearby.shape[1])], axis=1)
        rows = np.arange(len(points))
        best = nearby[rows, np.argmin(distance, axis=1)]
        distance[nearby == best[:, None]] += 1e3
        return at[best], at[nearby[rows, np.argmin(distance, axis=1)]]

    def _to_level(self, points: Array, one: Array, other: Array, times: int) -> tuple[Array, Array, Array, Array]:
        points = points.copy()
        step = self.step
        for turn in range(times):
            one = settle(self.sweep, self.chart, points, one, step, rounds=2 if turn == 0 else 1)
            d1, n1 = self.sweep.distance_and_normal(points, one)
            if turn < 2:
                other = settle(self.sweep, self.chart, points, other, step, rounds=2 if turn == 0 else 1)
            d2, n2 = self.sweep.distance_and_normal(points, other)
            swap = d2 < d1
            one, other = np.where(swap[:, None], other, one), np.where(swap[:, None], one, other)
            field, normal = np.where(swap, d2, d1), np.where(swap[:, None], n2, n1)
            points += np.clip(self.level - field, -20.0, 20.0)[:, None] * normal
            step = step / 4
        return points, normal, one, other

    def refine(self, slack_mm: float) -> None:
        """Split edges whose middles stray from the level, until none does by more than a fifth of the slack."""
        tried: dict[int, None] = {}
        for _ in range(_ROUNDS):
            edges, face_edges = edges_of(self.faces)
            a, b = edges.T
            length = np.linalg.norm(self.vertices[a] - self.vertices[b], axis=1)
            bend = length * np.linalg.norm(self.normal[a] - self.normal[b], axis=1) / 8
            top = len(self.vertices)
            key = a.astype(np.int64) << 32 | b
            suspect = np.flatnonzero((bend > 0.06 * slack_mm) & (length > slack_mm) & ~np.isin(key, list(tried)))
            if len(suspect) == 0:
                break
            middle = (self.vertices[a[suspect]] + self.vertices[b[suspect]]) / 2
            one = settle(self.sweep, self.chart, middle, self.settings[a[suspect]], self.step / 4, rounds=1)
            other = settle(self.sweep, self.chart, middle, self.settings[b[suspect]], self.step / 4, rounds=1)
            field = np.minimum(self.sweep.distance(middle, one), self.sweep.distance(middle, other))
            off = np.abs(field - self.level) > 0.2 * slack_mm
            tried.update(dict.fromkeys(key[suspect[~off]].tolist()))
            if not off.any():
                break
            chosen = suspect[off]
            new, normal, first, second = self._to_level(middle[off], one[off], other[off], 2)
            number = np.full(len(edges), -1)
            number[chosen] = top + np.arange(len(chosen))
            self.faces = split(self.faces, face_edges, number)
            self.vertices = np.concatenate([self.vertices, new])
            self.normal = np.concatenate([self.normal, normal])
            self.settings = np.concatenate([self.settings, first])
            self.other = np.concatenate([self.other, second])

    def proven(self, grown_mm: float, slack_mm: float, count: int) -> Envelope:
        """Prove containment, moving out what falls short, and measure the slack."""
        least, worst = standoff(self.sweep, self.vertices, self.faces, grown_mm)
        for turn in range(14):
            short = least < grown_mm
            if not short.any():
                break
            moved = self._taught(short, worst) if turn < 3 else self._pushed(short, grown_mm - least)
            again = moved[self.faces].any(axis=1)
            least[again], worst[again] = standoff(self.sweep, self.vertices, self.faces[again], grown_mm)
        if np.any(least < grown_mm):
            raise OutputError(
                f"the envelope could not be proven to hold every position: it falls short by"
                f" {float(grown_mm - least.min()):.2f} mm somewhere. Ask for more slack, or report this corner file."
            )
        far = outside(self.sweep, self.vertices, self.faces, self.settings)
        return Envelope(
            vertices_mm=self.vertices,
            faces=self.faces,
            grown_mm=grown_mm,
            standoff_mm=float(least.min() - grown_mm),
            slack_mm=float(far.max() - grown_mm),
            stations=count,
        )

    def _taught(self, short: np.ndarray, worst: Array) -> np.ndarray:
        """Bring the corners of triangles that fall short to the level again, with the setting that the proof found."""
        corners = self.faces[short].ravel()
        chosen, first = np.unique(corners, return_index=True)
        setting = np.repeat(worst[short], 3, axis=0)[first]
        before = self.vertices[chosen]
        after, normal, one, other = self._to_level(before, self.settings[chosen], setting, 2)
        # never inwards: a neighbour may need what is already out
        outward = np.einsum("ij,ij->i", after - before, normal) > 0
        normal = np.where(outward[:, None], normal, self.normal[chosen])
        self.vertices[chosen] = np.where(outward[:, None], after, before + 0.05 * normal)
        self.normal[chosen], self.settings[chosen], self.other[chosen] = normal, one, other
        moved = np.zeros(len(self.vertices), dtype=bool)
        moved[chosen] = True
        return moved

    def _pushed(self, short: np.ndarray, shortfall: Array) -> np.ndarray:
        """Move the corners of triangles that fall short outwards."""
        push = np.zeros(len(self.vertices))
        np.maximum.at(push, self.faces[short].ravel(), np.repeat(shortfall[short], 3))
        moved = push > 0
        self.vertices[moved] += (push[moved] * 1.1 + 0.01)[:, None] * self.normal[moved]
        return moved
