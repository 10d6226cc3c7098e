"""Relief: how far each part must move, and which way, before it keeps its required gap.

A part can be moved in the ways that a shop moves it: a wall inboard or outboard, a rail notched inboard or upward, a
lip rolled (see `well.rolled`), trimmed up or pulled out, a crown raised. Each way is tried on its own and measured
again; the least of them is the answer, and every one that works is given. A move is exact to a tenth of a millimetre:
that much clears, certified, and a tenth less does not.

For a scan, a move of the whole part says little: `map_of` gives the millimetres to take off at every corner of its
mesh, and the volume.

Moves are made at ride height, in corner axes (ahead, outboard, above); lengths are millimetres.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import numpy.typing as npt

from clearance.answers.changed import with_lip_rolled, with_part_moved
from clearance.answers.checked import Progress, failing, gaps_of, silent, spare_of
from clearance.answers.search import Measured, edge, first_that_clears
from clearance.defaults import STEP_MM
from clearance.gap.found import Gap
from clearance.pose import Array
from clearance.steady import steady
from clearance.units import both
from clearance.well.part_kinds import PART_KINDS
from clearance.well.rolled import folded_mm, rolling_gains_mm

if TYPE_CHECKING:
    from clearance.answers.cut_line import CutLine, Region
    from clearance.mockup.mockup import MockUp

FURTHEST_MM = 200.0
"""A part that must move further than this is another car."""

WAYS: dict[str, Array] = {
    "inboard": np.array([0.0, -1.0, 0.0]),
    "outboard": np.array([0.0, 1.0, 0.0]),
    "up": np.array([0.0, 0.0, 1.0]),
    "down": np.array([0.0, 0.0, -1.0]),
    "ahead": np.array([1.0, 0.0, 0.0]),
    "back": np.array([-1.0, 0.0, 0.0]),
}
"""The ways a shop moves metal, as unit directions."""

_LEAST_ALONG = 0.25
"""A way at more than about 75 degrees to the gap's own direction opens it too slowly to be worth trying."""
ROLLED = "rolled"
"""The way of a lip whose flange is turned up, its edge staying where it is."""
_MOST_ALONG = 0.97
"""A way this close to the gap's own direction leaves nothing to be gained by going straight away from the tire."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Move:
    """One way of moving one part, with the least distance that clears."""

    way: str
    direction: tuple[float, float, float]
    distance_mm: float
    gap: Gap
    """Measured with the part moved so far."""
    words: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Relief:
    """One part that misses its required gap, and the ways to give it."""

    before: Gap
    kind: str
    moves: tuple[Move, ...]
    """Those that work, least first."""


@steady
def relief(mockup: MockUp, *, progress: Progress = silent) -> tuple[Relief, ...]:
    """The relief that every part under its required gap needs."""
    gaps = {gap.part: gap for gap in gaps_of(mockup)}
    wanting = failing(gaps.values())
    found = []
    for done, name in enumerate(wanting):
        progress(done, len(wanting), name)
        found.append(Relief(before=gaps[name], kind=mockup.part(name).kind, moves=_moves(mockup, gaps[name])))
    return tuple(found)


def _moves(mockup: MockUp, gap: Gap) -> tuple[Move, ...]:
    moves = [move for way in ways_open(gap) if (move := least_move(mockup, gap, way, WAYS[way])) is not None]
    roll = least_roll(mockup, gap)
    if roll is not None:
        moves.append(roll)
    if any(move.way in WAYS and float(WAYS[move.way] @ gap.toward_part) > _MOST_ALONG for move in moves):
        return tuple(sorted(moves, key=lambda move: (move.distance_mm, move.way)))
    straight = least_move(mockup, gap, "straight away", gap.toward_part)
    if straight is not None and all(straight.distance_mm < m.distance_mm - STEP_MM for m in moves):
        moves.append(straight)
    return tuple(sorted(moves, key=lambda move: (move.distance_mm, move.way)))


def ways_open(gap: Gap) -> tuple[str, ...]:
    """The ways that lead away from the tire at the witness, steepest first."""
    along = {way: float(direction @ gap.toward_part) for way, direction in WAYS.items()}
    return tuple(sorted((w for w in along if along[w] > _LEAST_ALONG), key=lambda w: (-along[w], w)))


def least_move(mockup: MockUp, gap: Gap, way: str, direction: npt.ArrayLike) -> Move | None:
    """The least distance that this part must move one way, measured; None where FURTHEST_MM is not enough.

    A part that moves d changes its gap by no more than d, so nothing shorter than the shortfall is even tried.
    """
    unit = np.asarray(direction, dtype=float)
    unit = unit / np.linalg.norm(unit)
    spare = Measured(
        lambda distance: spare_of(with_part_moved(mockup, gap.part, distance * unit), (gap.part,)), STEP_MM
    )
    steps = first_that_clears(spare, spare.index(FURTHEST_MM))
    if steps is None:
        return None
    distance = spare.value(steps)
    kind = mockup.part(gap.part).kind
    return Move(
        way=way,
        direction=(float(unit[0]), float(unit[1]), float(unit[2])),
        distance_mm=distance,
        gap=_gap_moved(mockup, gap.part, distance * unit),
        words=PART_KINDS[kind].moved.get(way, f"move it {way}"),
    )


def least_roll(mockup: MockUp, gap: Gap) -> Move | None:
    """The least that this lip must be rolled, measured; None for no lip, or where rolling does not gain enough.

    An edge between all that rolling gains, which clears, and nothing: that much clears and a tenth less does not.
    """
    most = rolling_gains_mm(mockup.part(gap.part), mockup.terms.limits.lip_roll_mm or 0.0)
    whole = Measured(lambda x: spare_of(with_lip_rolled(mockup, gap.part, x), (gap.part,)), STEP_MM)
    limit = int(most / STEP_MM + 1e-6)
    if limit < 1 or not whole.clears(limit):
        return None
    steps = edge(whole, limit, 0)
    distance = whole.value(steps)
    stays = folded_mm(mockup.part(gap.part))
    return Move(
        way=ROLLED,
        direction=(0.0, 1.0, 0.0),
        distance_mm=distance,
        gap=gaps_of(with_lip_rolled(mockup, gap.part, distance), (gap.part,))[0],
        words=f"roll the lip: rolling gains {both(most)} at most here, {stays:.1f} mm of it stay folded flat",
    )


def _gap_moved(mockup: MockUp, name: str, by_mm: Array) -> Gap:
    return gaps_of(with_part_moved(mockup, name, by_mm), (name,))[0]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class ReliefMap:
    """What to take off a scanned surface, corner by corner of its mesh."""

    part: str
    vertices_mm: Array
    """(v, 3) at ride height, corner axes."""
    faces: npt.NDArray[np.int64]
    """(t, 3)."""
    need_mm: Array
    """(v,): required gap less the least gap that the corner ever has; below zero where there is more than enough."""
    regions: tuple[Region, ...] = ()
    """Of a scan: those that come too near, worst first."""
    cut: CutLine | None = None
    """Of a scan: where to cut it instead."""

    @property
    def take_off_mm(self) -> Array:
        """(v,): what comes off at each corner; 0 where there is enough."""
        off: Array = np.maximum(0.0, self.need_mm)
        return off

    @property
    def area_mm2(self) -> float:
        """Of every triangle with something to take off."""
        areas = _areas(self.vertices_mm, self.faces)
        return float(areas[(self.take_off_mm[self.faces] > 0).any(axis=1)].sum())

    @property
    def volume_mm3(self) -> float:
        """Area times the mean of what comes off at its corners: the space to be won, taken square to the surface.

        Where the tire comes at the surface aslant this overstates it, by one over the cosine.
        """
        return float((_areas(self.vertices_mm, self.faces) * self.take_off_mm[self.faces].mean(axis=1)).sum())

    @property
    def most_mm(self) -> float:
        """The most to take off anywhere."""
        return float(self.take_off_mm.max(initial=0.0))


@steady
def map_of(mockup: MockUp, name: str) -> ReliefMap:
    """What to take off one part, over the whole cycle."""
    from clearance.gap.map import over_vertices

    part = mockup.part(name)
    vertices, faces, least = over_vertices(mockup, part)
    return ReliefMap(
        part=name,
        vertices_mm=np.asarray(vertices),
        faces=np.asarray(faces, dtype=np.int64),
        need_mm=part.required_mm - np.asarray(least),
    )


def _areas(vertices: Array, faces: npt.NDArray[np.int64]) -> Array:
    a, b, c = vertices[faces[:, 0]], vertices[faces[:, 1]], vertices[faces[:, 2]]
    areas: Array = np.linalg.norm(np.cross(b - a, c - a), axis=1) / 2
    return areas
