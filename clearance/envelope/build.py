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
from dataclasses import dataclass

import numpy as np

from clearance.beside import in_order
from clearance.defaults import SLACK_MM
from clearance.envelope.planes import Held, Planes
from clearance.envelope.surface import (
    TURNS,
    Aim,
    Surface,
    among,
    cut_faces,
    face_keys,
    first_surface,
    heart_of,
    mend,
    nearest_of,
    refine,
)
from clearance.errors import OutputError
from clearance.geom.bracket import Open, reached
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
_WORK = 12_000_000
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
    coming = _side_by_side([(nearest, heart, grown_mm, slack_mm) for nearest, heart in pieces], processes)

    def wait(progress: Callable[[int, int], None] | None = None) -> tuple[Envelope, ...]:
        parts: list[list[Envelope]] = [[] for _ in grown_mm]
        every = (each for envelopes in coming for each in zip(parts, envelopes, strict=True))
        for done, (part, envelope) in enumerate(every, start=1):
            part.append(envelope)
            if progress is not None:
                progress(done, len(pieces) * len(grown_mm))
        return tuple(one[0] if len(one) == 1 else _united(one) for one in parts)

    return wait


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
    """The envelopes of one part of a cycle, laid together."""
    every = tuple(sorted(set(grown_mm)))
    laid = dict(zip(every, _laid(nearest, heart, every, slack_mm), strict=True))
    return tuple(laid[grow] for grow in grown_mm)


def _laid(nearest: Nearest, heart: Array, grown_mm: tuple[float, ...], slack_mm: float) -> list[Envelope]:
    """The envelopes at the slack asked for, their meshes side by side in one surface; where a sharp edge asks for more
    faces than are sensible, each by itself, at twice that."""
    for times in _COARSER:
        slack = times * slack_mm
        aim = _aim(slack, len(grown_mm))
        surface = first_surface(nearest, heart, tuple(grow + _LEVEL * slack for grow in grown_mm), aim)
        envelopes = _proven(nearest, surface, aim, np.array(grown_mm), slack)
        if envelopes is not None:
            return envelopes
        if len(grown_mm) > 1:
            return [_laid(nearest, heart, (grow,), slack_mm)[0] for grow in grown_mm]
    raise OutputError(
        "the envelope could not be proven to hold every position. Ask for more slack, or report this corner file."
    )


def _aim(slack_mm: float, growths: int) -> Aim:
    return Aim(
        dip_mm=_DIP * slack_mm,
        bridge_mm=_BRIDGE * slack_mm,
        room_mm=(_MOST - _LEVEL) * slack_mm,
        most_faces=growths * max(_FACES, int(_FACES_MM / slack_mm)),
    )


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
    grown_mm: Array,
    slack_mm: float,
) -> list[Envelope] | None:
    """Refine a surface until no face of it is reached by the disc as it is grown (g,), and none lies too far outside.

    None where it does not come to an end.
    """
    proven = near = np.zeros(0, dtype=np.int64)
    standoff, furthest = np.full(len(grown_mm), np.inf), np.full(len(grown_mm), -np.inf)
    touched = np.zeros(0, dtype=np.intp)
    planes = Planes(nearest, _BULGE * slack_mm) if Planes.serve(nearest) else None
    for turn in range(_TRIES):
        before = surface.radius.copy()
        refine(nearest, surface, aim, TURNS if turn == 0 else _FEW_TURNS)
        key, of = face_keys(surface.faces), surface.of_face
        # whatever moved is open again
        moved = np.flatnonzero(surface.radius[: len(before)] != before)
        changed = key[np.isin(surface.faces, np.concatenate([moved, touched])).any(axis=1)]
        proven, near = proven[~among(proven, changed)], near[~among(near, changed)]
        unproven = np.flatnonzero(~among(key, proven))
        found = _reached(nearest, planes, surface, unproven, grown_mm, _DOUBT * slack_mm)
        hopeless = len(found.face) > _HOPELESS * len(surface.faces)
        if not found.finished or hopeless or len(surface.faces) > aim.most_faces:
            break
        standoff = np.minimum(standoff, found.standoff_mm)
        held = np.ones(len(surface.faces), dtype=bool)
        held[found.face] = False
        fresh = np.flatnonzero(held & ~among(key, near))
        far = _far_mm(nearest, surface, fresh, grown_mm[of[fresh]] + slack_mm) - grown_mm[of[fresh]]
        loose = far > slack_mm
        ends = not len(found.face) and (not loose.any() or turn >= _FINE_TURNS)
        counts = np.ones(len(far), dtype=bool) if ends else ~loose
        np.maximum.at(furthest, of[fresh[counts]], far[counts])
        if ends:
            return [
                _one_of(surface, number, float(grow), float(standoff[number]), float(furthest[number]))
                for number, grow in enumerate(grown_mm)
            ]
        proven = np.concatenate([proven, key[unproven[held[unproven]]]])
        near = np.concatenate([near, key[fresh[~loose]]])
        touched = mend(nearest, surface, found.face, found.setting, aim, push=turn >= _PUSH_FROM)
        cut_faces(nearest, surface, np.flatnonzero(among(face_keys(surface.faces), key[fresh[loose]])))
    return None


def _one_of(surface: Surface, number: int, grown_mm: float, standoff_mm: float, slack_mm: float) -> Envelope:
    """One of the meshes of a surface, with what is proven of it."""
    rows = np.flatnonzero(surface.growth == number)
    place = np.zeros(len(surface.growth), dtype=np.intp)
    place[rows] = np.arange(len(rows))
    return Envelope(
        vertices_mm=surface.vertices[rows],
        faces=place[surface.faces[surface.of_face == number]],
        grown_mm=grown_mm,
        standoff_mm=standoff_mm,
        slack_mm=slack_mm,
    )


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Found:
    """The faces that the grown disc reaches, and what is proven of the others."""

    face: np.ndarray
    """(m,)"""
    setting: Array
    """(m, k): at which it does."""
    standoff_mm: Array
    """(g,): the others of each growth keep so much more than it."""
    finished: bool


def _reached(
    nearest: Nearest, planes: Planes | None, surface: Surface, rows: np.ndarray, grown_mm: Array, doubt_mm: float
) -> _Found:
    """Which of some faces the grown disc reaches: planes hold most of the others, and the search the rest."""
    corners, of = surface.vertices[surface.faces[rows]], surface.of_face[rows]
    held = None
    if planes is not None:
        held = planes.hold(corners, surface.normal[surface.faces[rows]], grown_mm[of])
    searched = []
    for number, grow in enumerate(grown_mm):
        own = np.flatnonzero(of == number)
        found = reached(
            corners[own],
            nearest.path,
            nearest.solid,
            nearer_than_mm=float(grow),
            doubt_mm=doubt_mm,
            limits=nearest.limits,
            work=_WORK,
            left=None if held is None else _left_of(held, own),
        )
        least = found.at_least_mm if held is None else min(found.at_least_mm, held.least_mm[own].min(initial=np.inf))
        searched.append((rows[own[found.triangle]], found.setting, least - grow, found.finished))
    faces, settings, standoff, finished = zip(*searched, strict=True)
    return _Found(
        face=np.concatenate(faces),
        setting=np.concatenate(settings),
        standoff_mm=np.array(standoff),
        finished=all(finished),
    )


def _left_of(held: Held, own: np.ndarray) -> Open:
    """What planes leave open of some triangles (n,), numbered as they stand there."""
    place = np.searchsorted(own, held.triangle)
    rows = np.flatnonzero(among(held.triangle, own))
    return Open(triangle=place[rows], middle=held.middle[rows], half=held.half[rows])


def _far_mm(nearest: Nearest, surface: Surface, rows: np.ndarray, wanted_mm: Array) -> Array:
    """(m,): no place of some faces (m,) is further than this from the disc at some setting.

    The setting between those of the corners is tried first, then theirs, and last the nearest of all for the middle.
    Faces that three distances do not bound by what is wanted (m,) are cut in four, each part with a setting of its own.
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
            left = left[bound[left] > wanted_mm[face[left]]]
        loose = left[:0]
        if cut >= _INTERPOLATED and len(left):
            starts = [settings[left].mean(axis=1), *(own[face[left], corner] for corner in range(3))]
            found = nearest_of(nearest, corners[left].mean(axis=1), starts)
            bound[left] = np.minimum(bound[left], _furthest_corner(nearest, corners[left], found.settings))
            loose = left[found.distance > wanted_mm[face[left]]]
        more = np.flatnonzero((bound > wanted_mm[face]) & ~np.isin(face, face[loose]))
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
