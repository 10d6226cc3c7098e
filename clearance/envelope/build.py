"""The envelope: the wheel swept as a closed disc, laid as a mesh and proven.

Nothing of a tub reaches into the hollow of a barrel or the dish of a wheel face, so here the wheel is taken as its own
revolved convex hull: a disc, tire and all. The distance to a convex solid is a convex function of the place, which is
what makes both finding the surface and proving it quick.

    heart -> mesh around it, as fine as the shape asks for -> proven to hold -> proven to be near

* standoff - proven over every face and every setting, play and the limit on articulation among them: the disc never
             comes nearer than this. By planes (`planes`) and, for the faces that they leave, by `geom.bracket`
* slack    - proven too: no place of the surface is further than this from the disc at some setting. Over a face the
             distance to a convex solid is greatest at a corner, so three distances at one setting bound all of it

Lengths are millimetres.
"""

from __future__ import annotations

import sys
from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace

import numpy as np

from clearance.beside import in_order
from clearance.defaults import SLACK_MM
from clearance.envelope.planes import Planes
from clearance.envelope.surface import (
    TURNS,
    Aim,
    Surface,
    among,
    cut_faces,
    drawn_in,
    face_keys,
    first_surface,
    heart_of,
    mend,
    nearest_of,
    refine,
)
from clearance.errors import OutputError
from clearance.geom.bracket import Reached, reached
from clearance.geom.nearest import Nearest
from clearance.geom.path import part_of
from clearance.geom.revolve import Solid, closed
from clearance.mockup.mockup import MockUp
from clearance.mockup.paths import hub_path
from clearance.pose import Array
from clearance.steady import steady
from clearance.suspension.position import BODY, Suspension

_LEVEL = 0.7
"""Shares of the slack: where vertices are laid, and how far the middles of edges and faces may lie below and above."""
_DIP = 0.55
_BRIDGE = 0.2
_MOST = 0.97
"""No vertex is moved further out than this share."""
_DOUBT = 0.06
_BULGE = 0.06
"""A share of the slack: how much further the disc may reach within a cell of the cycle than at the corners of it."""
_FEW = 1200
"""So few faces are left to the search alone."""
_SHALLOW = 0.05
"""A heart must lie at least this deep, over the reach of the disc."""
_TRIES = 32
_HOPELESS = 0.05
"""Where more than this share of the faces is reached, the level is too near for the edges of the disc."""
_COARSER = (1.0, 2.0, 4.0, 8.0)
_FACES = 120_000
"""Faces that are sensible at most: a steered corner takes some 25,000 at 0.5 mm."""
_FACES_MM = 60_000.0
"""The same, times the slack, where little of it is asked for."""
_FEW_TURNS = 4
"""How often a mended surface is gone over."""
_PUSH_FROM = 3
"""From this turn on, what is still reached is moved outward too."""
_FINE_TURNS = 18
"""After so many turns a slack above what was aimed at is said instead of mended."""
_STEERS = 0.25
"""Of a unit axis: where it turns further than this, each growth is laid by itself, for neither is the other's offset in
a crease."""
_WORK = 12_000_000
_ROUNDING_MM = 1e-6
_INTERPOLATED = 2
"""After so many cuts the nearest setting is looked for, where those between the corners' do not do."""
_CUTS = 7
"""How often a face may be cut for the proof of the slack."""
_MOST_CUT = 1_500_000


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Envelope:
    """A watertight mesh in corner axes that holds the disc at every position, with what is proven of it."""

    vertices_mm: Array
    """(v, 3)"""
    faces: np.ndarray
    """(t, 3), outward"""
    grown_mm: float
    """By how much more than the disc it holds: a required gap, the motion's uncertainty."""
    standoff_mm: float
    """The grown disc never comes nearer to the surface than this; at least 0."""
    slack_mm: float
    """No place of the surface lies further outside the true (grown) sweep."""


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
    return envelopes_of(mockup, (grown_mm,), slack_mm=slack_mm, progress=progress)[0]


def envelopes_of(
    mockup: MockUp,
    grown_mm: tuple[float, ...],
    *,
    slack_mm: float = SLACK_MM,
    processes: int = 1,
    progress: Callable[[int, int], None] | None = None,
) -> tuple[Envelope, ...]:
    """The same for several growths, in several processes if asked for; the result does not depend on how many."""
    return begin_envelopes(mockup, grown_mm, slack_mm=slack_mm, processes=processes)(progress)


def begin_envelopes(
    mockup: MockUp, grown_mm: tuple[float, ...], *, slack_mm: float = SLACK_MM, processes: int = 1
) -> Callable[[Callable[[int, int], None] | None], tuple[Envelope, ...]]:
    """The same, begun beside whatever else is to be done; what it gives waits for them, and may be told of progress."""
    disc = swept_disc(mockup.solid, mockup.suspension)
    more_mm = mockup.suspension.uncertainty_mm + mockup.off_mm(BODY)
    grown = tuple(grow + more_mm for grow in grown_mm)
    return begin_around(disc, grown, slack_mm=slack_mm, processes=processes)


@steady
def begin_around(
    disc: Nearest, grown_mm: tuple[float, ...], *, slack_mm: float = SLACK_MM, processes: int = 1
) -> Callable[[Callable[[int, int], None] | None], tuple[Envelope, ...]]:
    """The same around any convex solid on its path, grown by no more than is said."""
    pieces = _with_hearts(disc)
    # each set of growths that one process makes, the most grown first to be laid
    sets = [(grow,) for grow in grown_mm] if _steers(disc) else [grown_mm]
    asked = [(nearest, heart, some, slack_mm) for some in sets for nearest, heart in pieces]
    coming = _side_by_side(asked, processes)
    count = len(pieces) * len(grown_mm)

    def wait(progress: Callable[[int, int], None] | None = None) -> tuple[Envelope, ...]:
        parts: list[list[Envelope]] = [[] for _ in grown_mm]
        # row by row over the parts of the cycle, once for all growths or once for each
        for done, (which, envelope) in enumerate(_one_by_one(coming, len(pieces), len(sets)), start=1):
            parts[which].append(envelope)
            if progress is not None:
                progress(done, count)
        return tuple(one[0] if len(one) == 1 else _united(one) for one in parts)

    return wait


def _one_by_one(coming: Iterator[tuple[Envelope, ...]], pieces: int, sets: int) -> Iterator[tuple[int, Envelope]]:
    """The envelopes as they come, each with the number of its growth."""
    for row, envelopes in enumerate(coming):
        yield from enumerate(envelopes, start=row // pieces if sets > 1 else 0)


def _steers(disc: Nearest) -> bool:
    """Does the axis turn so far over the cycle that deep creases are to be expected?"""
    axis = disc.axis
    return bool(np.linalg.norm(axis - axis.mean(axis=0), axis=1).max() > _STEERS)


_Asked = tuple[Nearest, Array, tuple[float, ...], float]


def _side_by_side(asked: list[_Asked], processes: int) -> Iterator[tuple[Envelope, ...]]:
    """The envelopes of each part of a cycle in their order: begun in several processes where the system can fork, else
    one after another once they are wanted."""
    if processes < 2 or not sys.platform.startswith("linux"):
        return (_at_every_growth(*one) for one in asked)
    return in_order(_at_every_growth, asked, processes)


@steady
def _at_every_growth(
    nearest: Nearest, heart: Array, grown_mm: tuple[float, ...], slack_mm: float
) -> tuple[Envelope, ...]:
    """The envelopes of one part of a cycle: the most grown is laid, and the others shrink from it where they can."""
    laid: dict[float, Envelope] = {}
    outer: Surface | None = None
    for grow in sorted(set(grown_mm), reverse=True):
        found = None if outer is None else _shrunk(nearest, outer, laid[max(laid)], grow, slack_mm)
        if found is None:
            found, surface = _as_near_as_can_be(nearest, heart, grow, slack_mm)
            outer = surface if outer is None else outer
        laid[grow] = found
    return tuple(laid[grow] for grow in grown_mm)


def _as_near_as_can_be(nearest: Nearest, heart: Array, grown_mm: float, slack_mm: float) -> tuple[Envelope, Surface]:
    """The envelope at the slack asked for; where a sharp edge asks for more faces than are sensible, at twice that."""
    for times in _COARSER:
        aim = _aim(grown_mm, times * slack_mm)
        surface = first_surface(nearest, heart, aim)
        envelope = _proven(nearest, surface, aim, grown_mm, times * slack_mm)
        if envelope is not None:
            return envelope, surface
    raise OutputError(
        "the envelope could not be proven to hold every position. Ask for more slack, or report this corner file."
    )


def _aim(grown_mm: float, slack_mm: float) -> Aim:
    return Aim(
        level_mm=grown_mm + _LEVEL * slack_mm,
        dip_mm=_DIP * slack_mm,
        bridge_mm=_BRIDGE * slack_mm,
        most_mm=grown_mm + _MOST * slack_mm,
        most_faces=max(_FACES, int(_FACES_MM / slack_mm)),
    )


def _shrunk(nearest: Nearest, outer: Surface, proven: Envelope, grown_mm: float, slack_mm: float) -> Envelope | None:
    """A less grown envelope from one that was proven, its corners drawn in along the disc's own normals.

    No place of it moves further than its corners do, so no face of it comes nearer to the disc than the growth asks for
    if none did before. None where that makes no star, or the other was not laid at this slack.
    """
    aim = _aim(grown_mm, slack_mm)
    by_mm = proven.grown_mm - grown_mm - _ROUNDING_MM
    drawn = drawn_in(nearest, outer, aim, by_mm) if proven.slack_mm <= slack_mm else None
    if drawn is None:
        return None
    surface, laid = drawn
    kept = face_keys(surface.faces[~np.isin(surface.faces, laid).any(axis=1)])
    return _proven(nearest, surface, aim, grown_mm, slack_mm, kept=kept, standoff_mm=proven.standoff_mm)


def _with_hearts(nearest: Nearest) -> list[tuple[Nearest, Array]]:
    """Parts of the cycle in each of which one point lies well inside the disc all the time: one, as a rule.

    A travel longer than the wheel is high has no such point; it is halved until its parts have one.
    """
    heart, depth = heart_of(nearest)
    if depth > _SHALLOW * nearest.solid.reach_mm:
        return [(nearest, heart)]
    smooth = nearest.smooth
    far = int(np.argmax(nearest.travel_mm[:smooth]))
    parts = []
    low, high = nearest.path.box[far]
    for ends in ((low, (low + high) / 2), ((low + high) / 2, high)):
        box = nearest.path.box[:smooth].copy()
        box[far] = ends
        path = part_of(nearest.path, box)
        parts += _with_hearts(Nearest(path, nearest.solid, nearest.limits))
    return parts


def _united(parts: list[Envelope]) -> Envelope:
    """The union of envelopes of the parts of a cycle: a place of its surface lies on the surface of one of them."""
    from manifold3d import Manifold, Mesh64, OpType  # type: ignore[import-not-found]

    solids = [Manifold(Mesh64(part.vertices_mm, part.faces.astype(np.uint64))) for part in parts]
    mesh = Manifold.batch_boolean(solids, OpType.Add).to_mesh64()
    return Envelope(
        vertices_mm=np.array(mesh.vert_properties[:, :3]),
        faces=np.array(mesh.tri_verts, dtype=np.intp),
        grown_mm=parts[0].grown_mm,
        standoff_mm=min(part.standoff_mm for part in parts),
        slack_mm=max(part.slack_mm for part in parts),
    )


def swept_disc(solid: Solid, suspension: Suspension) -> Nearest:
    """The wheel closed to its convex hull, on its way through the whole cycle with its play."""
    seen = hub_path(suspension, solid.reach_mm)
    return Nearest(seen.path, closed(solid), seen.limits)


def _proven(
    nearest: Nearest,
    surface: Surface,
    aim: Aim,
    grown_mm: float,
    slack_mm: float,
    *,
    kept: np.ndarray | None = None,
    standoff_mm: float = np.inf,
) -> Envelope | None:
    """Refine a surface until no face of it is reached by the grown disc, and none lies too far outside.

    Faces whose keys are `kept` are proven already to keep `standoff_mm` more. None where it does not come to an end.
    """
    proven = np.zeros(0, dtype=np.int64) if kept is None else kept
    near = np.zeros(0, dtype=np.int64)
    standoff, furthest = standoff_mm, -np.inf
    touched = np.zeros(0, dtype=np.intp)
    planes = Planes(nearest, _BULGE * slack_mm) if Planes.serve(nearest) else None
    for turn in range(_TRIES):
        before = surface.radius.copy()
        refine(nearest, surface, aim, TURNS if turn == 0 else _FEW_TURNS)
        key = face_keys(surface.faces)
        # whatever moved is open again
        moved = np.flatnonzero(surface.radius[: len(before)] != before)
        changed = key[np.isin(surface.faces, np.concatenate([moved, touched])).any(axis=1)]
        proven, near = proven[~among(proven, changed)], near[~among(near, changed)]
        unproven = np.flatnonzero(~among(key, proven))
        found = _reached(nearest, planes, surface, unproven, grown_mm, _DOUBT * slack_mm)
        hopeless = len(found.triangle) > _HOPELESS * len(surface.faces)
        if not found.finished or hopeless or len(surface.faces) > aim.most_faces:
            break
        standoff = min(standoff, found.at_least_mm - grown_mm)
        if not len(found.triangle):
            fresh = np.flatnonzero(~among(key, near))
            far = _far_mm(nearest, surface, fresh, grown_mm + slack_mm)
            loose = far > grown_mm + slack_mm
            furthest = max(furthest, float(far[~loose].max(initial=-np.inf)))
            near = np.concatenate([near, key[fresh[~loose]]])
            if not loose.any() or turn >= _FINE_TURNS:
                return Envelope(
                    vertices_mm=surface.vertices,
                    faces=surface.faces,
                    grown_mm=grown_mm,
                    standoff_mm=standoff,
                    slack_mm=max(furthest, float(far.max(initial=-np.inf))) - grown_mm,
                )
            cut_faces(nearest, surface, fresh[loose], aim)
            touched = touched[:0]
        else:
            touched = mend(nearest, surface, unproven[found.triangle], found.setting, aim, push=turn >= _PUSH_FROM)
        held = np.ones(len(unproven), dtype=bool)
        held[found.triangle] = False
        proven = np.concatenate([proven, key[unproven[held]]])
    return None


def _reached(
    nearest: Nearest, planes: Planes | None, surface: Surface, rows: np.ndarray, grown_mm: float, doubt_mm: float
) -> Reached:
    """Which of some faces the grown disc reaches: planes hold most of the others, and the search the rest."""
    corners, left, least = surface.vertices[surface.faces[rows]], np.arange(len(rows)), np.inf
    if planes is not None and len(rows) > _FEW:
        held, least = planes.hold(corners, surface.normal[surface.faces[rows]], grown_mm)
        left = np.flatnonzero(~held)
    found = reached(
        corners[left],
        nearest.path,
        nearest.solid,
        nearer_than_mm=grown_mm,
        doubt_mm=doubt_mm,
        limits=nearest.limits,
        work=_WORK,
    )
    return replace(found, triangle=left[found.triangle], at_least_mm=min(least, found.at_least_mm))


def _far_mm(nearest: Nearest, surface: Surface, rows: np.ndarray, wanted_mm: float) -> Array:
    """(m,): no place of some faces is further than this from the disc at some setting.

    The setting between those of the corners is tried first, then theirs, and last the nearest of all for the middle.
    Faces that three distances do not bound by `wanted_mm` are cut in four, each part with a setting of its own.
    """
    faces = surface.faces[rows]
    corners, own = surface.vertices[faces], surface.settings[faces]
    settings, face = own, np.arange(len(corners))
    proven = np.full(len(corners), -np.inf)
    for cut in range(_CUTS):
        bound = np.full(len(corners), np.inf)
        left = np.arange(len(corners))
        for corner in (None, 0, 1, 2):
            at = settings[left].mean(axis=1) if corner is None else own[face[left], corner]
            bound[left] = np.minimum(bound[left], _furthest_corner(nearest, corners[left], at))
            left = left[bound[left] > wanted_mm]
        loose = left[:0]
        if cut >= _INTERPOLATED and len(left):
            starts = [settings[left].mean(axis=1), *(own[face[left], corner] for corner in range(3))]
            found = nearest_of(nearest, corners[left].mean(axis=1), starts)
            bound[left] = np.minimum(bound[left], _furthest_corner(nearest, corners[left], found.settings))
            loose = left[found.distance > wanted_mm]
        more = np.flatnonzero((bound > wanted_mm) & ~np.isin(face, face[loose]))
        if cut == _CUTS - 1 or 4 * len(more) > _MOST_CUT:
            more = more[:0]
        done = np.ones(len(bound), dtype=bool)
        done[more] = False
        np.maximum.at(proven, face[done], bound[done])
        if not len(more):
            break
        corners, settings = _quartered(corners[more]), _quartered(settings[more])
        face = np.tile(face[more], 4)
    return proven + nearest.path.error_mm


def _quartered(corners: Array) -> Array:
    """Triangles (n, 3, k) cut in four at the middles of their sides, (4 n, 3, k)."""
    a, b, c = (corners[:, i] for i in range(3))
    ab, bc, ca = (a + b) / 2, (b + c) / 2, (c + a) / 2
    quarters = ((a, ab, ca), (ab, b, bc), (ca, bc, c), (ab, bc, ca))
    return np.concatenate([np.stack(quarter, axis=1) for quarter in quarters])


def _furthest_corner(nearest: Nearest, corners: Array, settings: Array) -> Array:
    """(n,): how far the furthest corner of triangles (n, 3, 3) is from the disc at settings (n, k), row by row."""
    count = len(corners)
    if not count:
        return np.zeros(0)
    # the disc stands where it stands for all three
    centre, axis = (np.repeat(each, 3, axis=0) for each in nearest.path.at(settings))
    furthest: Array = nearest.seen(corners.reshape(-1, 3), centre, axis)[0].reshape(count, 3).max(axis=1)
    return furthest
