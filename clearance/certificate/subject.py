"""What is certified, as the plain numbers that `verify` works on: parts as a mock-up has them, an envelope's faces.

Reading the corner file and fitting the path are believed; how far the path may be from the suspension is proven by
`suspension.enclosed`, and that bound goes in with the rest.
"""

from __future__ import annotations

from functools import lru_cache

import numpy as np

from clearance.certificate.motion import Motion
from clearance.certificate.outline import Outline
from clearance.certificate.tree import Subject
from clearance.geom.limit import Limit
from clearance.geom.path import OUT, Path
from clearance.geom.profile import Line, Profile
from clearance.geom.revolve import Solid
from clearance.mockup.mockup import MockUp
from clearance.mockup.paths import seen_by
from clearance.pose import Array
from clearance.well.part import Part

COVER_MM = 4e-6
"""What a cover is grown by when it is held against the outline: chords within a nanometre, and room."""
_CHORD_MM = 1e-6


def subject_of(mockup: MockUp, part: Part) -> Subject:
    """A part's triangles, and the caps of its holes with what may stand out of them; the wheel as the part sees it."""
    seen = seen_by(mockup, part)
    caps = [hole.triangles_mm for hole in part.holes]
    share = np.zeros(part.triangles_mm.shape[:2]) if part.far_end is None else part.far_end.share
    skins = [np.full(len(cap), hole.stands_out_mm) for cap, hole in zip(caps, part.holes, strict=True)]
    return Subject(
        triangles=np.concatenate([part.triangles_mm, *caps]),
        share=np.concatenate([share, np.zeros((sum(map(len, caps)), 3))]),
        skin=np.concatenate([np.full(len(share), part.skin_mm), *skins]),
        motion=motion_of(seen.path, seen.limits, mockup.solid.reach_mm),
        outline=outline_of(mockup.solid.profile),
        cover=cover_of(mockup.solid),
        cover_mm=COVER_MM,
    )


def subject_of_faces(faces_mm: Array, path: Path, disc: Solid, limits: tuple[Limit, ...]) -> Subject:
    """The faces (n, 3, 3) of an envelope, and the disc that it holds."""
    return Subject(
        triangles=faces_mm,
        share=np.zeros((len(faces_mm), 3)),
        skin=np.zeros(len(faces_mm)),
        motion=motion_of(path, limits, disc.reach_mm),
        outline=outline_of(disc.profile),
        cover=(),
        cover_mm=0.0,
    )


def motion_of(path: Path, limits: tuple[Limit, ...], reach_mm: float) -> Motion:
    """A fitted path as numbers."""
    slide = np.zeros((0, OUT)) if path.slide is None or path.slide.turns else path.slide.by
    return Motion(
        box=path.box,
        table=path.coefficients.reshape((*path.sizes, -1)),
        slide=slide,
        error_mm=path.error_mm,
        reach_mm=reach_mm,
        limits=tuple((limit.one, limit.other, limit.most) for limit in limits),
    )


def outline_of(profile: Profile) -> Outline:
    """A profile's lines and arcs as numbers; what lies on the axis is no surface, but holds the solid together."""
    lines = [(e.start, e.end) for e in profile.elements if isinstance(e, Line)]
    arcs = [(*e.start, *e.end, *e.centre, 1.0 if e.ccw else -1.0) for e in profile.elements if not isinstance(e, Line)]
    return Outline(lines=np.array(lines).reshape(-1, 2, 2), arcs=np.array(arcs).reshape(-1, 7))


@lru_cache(maxsize=16)
def disc_outline(solid: Solid) -> Outline:
    """The outline of a solid's surface, without what lies on its axis."""
    lines = [(e.start, e.end) for e in solid.profile.surfaces if isinstance(e, Line)]
    return Outline(lines=np.array(lines).reshape(-1, 2, 2), arcs=outline_of(solid.profile).arcs)


@lru_cache(maxsize=16)
def cover_of(solid: Solid) -> tuple[Outline, ...]:
    """The outlines of a solid's convex pieces; none where they do not hold all of it."""
    from shapely.geometry import Polygon
    from shapely.ops import unary_union

    whole = Polygon(solid.profile.outline(_CHORD_MM))
    pieces = unary_union([Polygon(piece.outline(_CHORD_MM)).buffer(COVER_MM - 2 * _CHORD_MM) for piece in solid.pieces])
    if whole.difference(pieces).area > 0.0:
        return ()
    return tuple(outline_of(piece) for piece in solid.pieces)
