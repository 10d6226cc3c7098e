"""The surface of a swept disc as seen from its heart: one radius for every direction.

The disc is convex. Where one point, the heart, lies inside it at every setting, the swept disc is all that can be seen
from there, so a closed mesh around it needs nothing but a radius in every direction, and can never meet itself.

* heart    - a point deep inside the disc at every setting
* toward   - unit directions (n, 3) from the heart to the vertices
* level    - how far outside the swept disc the vertices are laid
* dip      - how far the middle of an edge or of a face lies nearer to the disc than the level: the mesh cuts a bulge
* bridge   - how far it lies beyond: the mesh spans a crease, as there are between one lock and the other

Edges whose middles dip or bridge too much are turned over where that helps, and cut in two where it does not: halfway,
or where a crease lies. The mesh follows the shape by itself: long triangles along the tread, short ones across the
shoulder. How far a middle is off is read from how the normal turns along the edge, and looked at where the ends belong
to different parts of the sweep; none of it need be right, for the proof comes after. Lengths are millimetres.
"""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np

from clearance.geom.mesh import edges_of, split
from clearance.geom.nearest import Found, Nearest
from clearance.geom.revolve import lathe
from clearance.pose import Array, turn_onto

_FIRST_MM = 55.0
"""About how far apart the first directions are, along the disc."""
_FULL = 0.65
"""Of the dip: how far the sides of a ring dip at the most."""
_LONG_MM = 60.0
"""Edges longer than this are halved whatever they do, so that little hides between them."""
_TRACED = 9
_AGAIN = 4
"""After so many steps inward all stations are asked again, at the last of them too."""
TURNS = 8
"""How often a surface is gone over, at most."""
_SLIVER = 1.6
"""A face's longest side may be this much longer than one that is halved, or it is halved too."""
_HELPS = 0.7
"""An edge is turned over where the new one is off by less than this share of the old."""
ON_MM = 0.02
"""Another setting must come this much nearer to be believed."""
_STEEP = 0.05
_THIN = 0.06
"""Height over longest side of a face, as seen from the heart, below which it is thin: none is made by turning an edge
over, and its longest side is turned over where that does no harm."""
_THIN_OFF = 1.4
_PUSHED = 0.15
_ALIKE = 0.1
"""A share of the dip: where a look agrees this well with what the normals have one expect, it is believed."""
_SHARP = 0.5
"""Normals that differ by more than this (of a unit) may have a sharp edge between them."""
_NEAR_END = 0.2
"""A valley is cut where it lies, but no nearer to an end than this share of the edge."""
_PATIENCE = 5
_BRANCH = 0.8
"""Settings this many stations apart may lie in different valleys."""
_PROMISING_MM = 1.5
"""A setting that is further off than this before it settles is not looked into."""
_KEY = np.int64(1) << 31
_FACE_KEY = np.int64(1_000_003)


@dataclass(slots=True, kw_only=True, eq=False)
class Surface:
    """Closed meshes around a heart, one for each growth, and at which setting the disc comes nearest to each vertex."""

    heart: Array
    """(3,)"""
    toward: Array
    """(v, 3)"""
    radius: Array
    """(v,)"""
    settings: Array
    """(v, k)"""
    normal: Array
    """(v, 3): the disc's own, where it comes nearest."""
    growth: np.ndarray
    """(v,): which of the growths each vertex belongs to."""
    level_mm: Array
    """(v,): how far outside the swept disc each is laid."""
    faces: np.ndarray
    """(t, 3), outward"""
    good_edges: np.ndarray = field(default_factory=lambda: np.zeros(0, dtype=np.int64))
    """Keys of edges that were looked at and are near enough to the level."""
    good_faces: np.ndarray = field(default_factory=lambda: np.zeros(0, dtype=np.int64))
    """The same of faces."""

    @property
    def vertices(self) -> Array:
        """(v, 3)"""
        return self.heart + self.radius[:, None] * self.toward

    @property
    def of_face(self) -> np.ndarray:
        """(t,): which of the growths each face belongs to."""
        return np.asarray(self.growth[self.faces[:, 0]])

    def add(self, toward: Array, radius: Array, settings: Array, beside: np.ndarray) -> None:
        """More vertices, each of the same mesh as another (n,); no face has them yet."""
        self.growth = np.concatenate([self.growth, self.growth[beside]])
        self.level_mm = np.concatenate([self.level_mm, self.level_mm[beside]])
        self.toward = np.concatenate([self.toward, toward])
        self.radius = np.concatenate([self.radius, radius])
        self.settings = np.concatenate([self.settings, settings])
        self.normal = np.concatenate([self.normal, np.zeros_like(toward)])

    def doubt(self, vertices: np.ndarray) -> None:
        """Look again at what hangs on vertices that moved."""
        doubted = np.zeros(len(self.radius), dtype=bool)
        doubted[vertices] = True
        edges = self.good_edges
        self.good_edges = edges[~(doubted[edges // _KEY] | doubted[edges % _KEY])]
        near = self.faces[doubted[self.faces].any(axis=1)]
        self.good_faces = self.good_faces[~among(self.good_faces, face_keys(near))]


@dataclass(frozen=True, slots=True, kw_only=True)
class Aim:
    """How near to its level the mesh is to lie."""

    dip_mm: float
    bridge_mm: float
    room_mm: float
    """No vertex is moved further above its level than this."""
    most_faces: int
    """Where all meshes together want more, they are left as they are."""

    def off(self, above: Array) -> Array:
        """By how much of what is allowed places so far above the level are off; more than 1 is too much."""
        return np.where(above < 0.0, -above / self.dip_mm, above / self.bridge_mm)


def heart_of(nearest: Nearest) -> tuple[Array, float]:
    """The point that lies deepest inside a disc at all of its stations, and how deep; negative where there is none.

    Depth in a convex solid is a concave function of the point, so going uphill finds the deepest.
    """
    centre, axis = nearest.centre, nearest.axis
    low, high, _, _ = nearest.solid.profile.bounds
    point = centre.mean(axis=0) + (low + high) / 2 * axis.mean(axis=0)
    best, deepest = point, -np.inf
    step = 0.1 * nearest.solid.reach_mm
    for _ in range(160):
        found = _seen_at(nearest, np.repeat(point[None], len(centre), axis=0))
        worst = int(np.argmax(found[0]))
        if -found[0][worst] > deepest:
            best, deepest = point, float(-found[0][worst])
        point = point - step * found[1][worst]
        step *= 0.96
    return best, deepest


def _seen_at(nearest: Nearest, points: Array) -> tuple[Array, Array]:
    """Distance (m,) and its gradient (m, 3), one point to each station."""
    found = nearest.seen(points, nearest.centre, nearest.axis)
    return found[0], found[1]


def first_surface(nearest: Nearest, heart: Array, levels_mm: tuple[float, ...], aim: Aim) -> Surface:
    """A coarse mesh for each level, its vertices on it and their directions taken from the disc at the middle of the
    cycle."""
    ring = _stepped(nearest.solid.profile.outline(aim.dip_mm))
    places, faces = lathe(ring, _turns(ring[:, 1].max(), aim.dip_mm))
    middle = nearest.path.box.mean(axis=1)[None]
    centre, axis = nearest.path.at(middle)
    toward = places @ turn_onto(axis[0]).T + centre[0] - heart
    size = np.linalg.norm(toward, axis=1)
    toward = toward / size[:, None]
    # from well outside towards the heart, never much further than the nearest station is away
    strayed = np.linalg.norm(nearest.centre - centre, axis=1)
    strayed = strayed + nearest.solid.reach_mm * np.linalg.norm(nearest.axis - axis, axis=1)
    lowest = min(levels_mm)
    radius = size * (1.0 + 0.3 * strayed.max() / size.min()) + lowest
    settings = np.zeros((0, 0))
    for turn in range(_TRACED):
        points = heart + radius[:, None] * toward
        if turn % _AGAIN == 0:
            settings = nearest.among_stations(points)
        found = nearest.look(points, settings)
        above = found.distance - lowest
        slant = np.maximum(np.einsum("ij,ij->i", found.normal, toward), 0.7)
        radius = radius - np.where(above > 5.0, above / slant, above)
    count, growths = len(radius), len(levels_mm)
    surface = Surface(
        heart=heart,
        toward=np.tile(toward, (growths, 1)),
        radius=np.concatenate([radius + (level - lowest) for level in levels_mm]),
        settings=np.tile(found.settings, (growths, 1)),
        normal=np.tile(found.normal, (growths, 1)),
        growth=np.repeat(np.arange(growths), count),
        level_mm=np.repeat(np.array(levels_mm), count),
        faces=np.concatenate([faces + growth * count for growth in range(growths)]),
    )
    lay(nearest, surface, np.arange(growths * count), rounds=4)
    return surface


def _turns(radius_mm: float, dip_mm: float) -> int:
    """How many sides the first rings have: so many that halved some times over they dip by what is allowed and not by
    much less."""
    most = float(np.sqrt(8.0 * radius_mm * _FULL * dip_mm))
    step = most * 2.0 ** np.floor(np.log2(_FIRST_MM / most))
    return max(24, int(np.ceil(2 * np.pi * radius_mm / step)))


def _stepped(ring: Array) -> Array:
    """A closed ring with no step longer than `_FIRST_MM`, but for the one along the axis."""
    pieces = []
    for one, following in zip(ring, np.roll(ring, -1, axis=0), strict=True):
        count = max(1, int(np.ceil(np.hypot(*(following - one)) / _FIRST_MM)))
        if one[1] < 1e-9 and following[1] < 1e-9:
            count = 1
        pieces.append(one + (following - one) * (np.arange(count) / count)[:, None])
    return np.concatenate(pieces)


def lay(nearest: Nearest, surface: Surface, rows: np.ndarray, rounds: int = 2) -> None:
    """Move vertices along their directions onto their level, their settings along."""
    for _ in range(rounds):
        found = nearest.settle(
            surface.heart + surface.radius[rows, None] * surface.toward[rows], surface.settings[rows]
        )
        slant = np.einsum("ij,ij->i", found.normal, surface.toward[rows])
        above = found.distance - surface.level_mm[rows]
        surface.radius[rows] -= above / np.maximum(slant, _STEEP)
        surface.settings[rows], surface.normal[rows] = found.settings, found.normal
        rows = rows[np.abs(above) > ON_MM / 10]
        if not len(rows):
            break


def refine(nearest: Nearest, surface: Surface, aim: Aim, turns: int = TURNS) -> None:
    """Turn over and halve edges until no middle of an edge or face is off by more than the aim allows.

    Where that does not come nearer for some turns, it is left: the proof decides.
    """
    fewest, since = np.inf, 0
    for turn in range(turns):
        edges, sides = edges_of(surface.faces)
        key = _edge_keys(edges)
        fresh = np.flatnonzero(~among(key, surface.good_edges))
        moved = _spread_settings(nearest, surface, edges[fresh])
        if len(moved):
            surface.doubt(moved)
            fresh = np.flatnonzero(~among(key, surface.good_edges))
        above, at = _between(nearest, surface, edges[fresh], aim)
        off = aim.off(above)
        ends = surface.vertices[edges[fresh]]
        length = np.linalg.norm(ends[:, 0] - ends[:, 1], axis=1)
        # a distance changes no faster than its place: a short edge is off only where one of its ends is wrong
        short = length < 2.0 * min(aim.dip_mm, aim.bridge_mm)
        wrong = np.flatnonzero(short & (off > 1.0))
        if len(wrong):
            both = np.repeat(at[wrong], 2, axis=0)
            surface.doubt(_tried_on(nearest, surface, edges[fresh[wrong]].ravel(), both))
        bad = ((off > 1.0) & ~short) | (length > _LONG_MM)
        surface.good_edges = np.concatenate([surface.good_edges, key[fresh[~bad]]])
        cut = key[fresh[bad]]
        if not len(cut):
            cut = key[_looked_into(nearest, surface, sides, aim)]
        elif turn > 0:
            thin = np.setdiff1d(longest_sides(surface, sides, _thin_faces(surface)), fresh[bad])
            rows = np.concatenate([fresh[bad], thin])
            turned = _turn_over(
                nearest, surface, edges, sides, rows, np.append(off[bad], np.full(len(thin), _THIN_OFF)), aim
            )
            cut = cut[~turned[: len(cut)]]
            edges, sides = edges_of(surface.faces)
            key = _edge_keys(edges)
            if turned.any() and not len(cut):
                continue
        fewest, since = (len(cut), 0) if len(cut) < fewest else (fewest, since + 1)
        if not len(cut) or since > _PATIENCE or len(surface.faces) > aim.most_faces:
            break
        halve(nearest, surface, edges, sides, _without_slivers(surface, edges, sides, among(key, cut)))


def _edge_keys(edges: np.ndarray) -> np.ndarray:
    keys: np.ndarray = edges[:, 0].astype(np.int64) * _KEY + edges[:, 1]
    return keys


def face_keys(faces: np.ndarray) -> np.ndarray:
    """One number for each face, whichever way round its corners are told."""
    one, two, three = np.sort(faces, axis=1).astype(np.int64).T
    keys: np.ndarray = (one * _FACE_KEY + two) * _FACE_KEY + three
    return keys


def among(keys: np.ndarray, known: np.ndarray) -> np.ndarray:
    """(n,): which of keys (n,) stand among others."""
    if not len(known):
        return np.zeros(len(keys), dtype=bool)
    lined = np.sort(known)
    place = np.minimum(np.searchsorted(lined, keys), len(lined) - 1)
    there: np.ndarray = lined[place] == keys
    return there


def _spread_settings(nearest: Nearest, surface: Surface, edges: np.ndarray) -> np.ndarray:
    """Try on every vertex what its neighbours found; the vertices that moved."""
    moved: list[np.ndarray] = []
    own = np.concatenate([edges[:, 0], edges[:, 1]])
    other = np.concatenate([edges[:, 1], edges[:, 0]])
    for _ in range(6):
        rows = _tried_on(nearest, surface, own, surface.settings[other])
        if not len(rows):
            break
        moved.append(rows)
        news = np.isin(other, rows)
        own, other = own[news], other[news]
    return np.unique(np.concatenate(moved)) if moved else np.zeros(0, dtype=np.intp)


def _tried_on(nearest: Nearest, surface: Surface, own: np.ndarray, starts: Array) -> np.ndarray:
    """Try settings on vertices, where they may lead to another branch; the vertices that moved, laid anew."""
    branch = _apart(nearest, surface.settings[own], starts)
    own, starts = own[branch], starts[branch]
    promising = nearest.distance(surface.vertices[own], starts) < surface.level_mm[own] + _PROMISING_MM
    own, starts = own[promising], starts[promising]
    if not len(own):
        return own
    found = nearest.settle(surface.vertices[own], starts)
    nearer = np.flatnonzero(found.distance < surface.level_mm[own] - ON_MM)
    order = nearer[np.lexsort((found.distance[nearer], own[nearer]))]
    rows, first = np.unique(own[order], return_index=True)
    surface.settings[rows] = found.settings[order[first]]
    lay(nearest, surface, rows, rounds=3)
    return rows


def _apart(nearest: Nearest, one: Array, other: Array) -> np.ndarray:
    """Which pairs of settings are so far apart that a step downhill may not lead from one to the other."""
    smooth = nearest.smooth
    far = np.abs(one - other)[:, :smooth] > _BRANCH * nearest.step[:smooth]
    return np.asarray(far.any(axis=1))


def nearest_of(nearest: Nearest, points: Array, starts: list[Array]) -> Found:
    """The nearest that can be reached from several settings for each point, downhill from every one that promises."""
    count = len(points)
    every = np.concatenate(starts)
    distance = nearest.distance(np.tile(points, (len(starts), 1)), every).reshape(len(starts), count)
    best = np.argmin(distance, axis=0)
    found = nearest.settle(points, every[best * count + np.arange(count)])
    # the others at once: a step downhill costs as much for ten points as for a thousand
    promising = (distance < found.distance + _PROMISING_MM) & (np.arange(len(starts))[:, None] != best)
    start, row = np.nonzero(promising)
    apart = _apart(nearest, every[start * count + row], found.settings[row])
    start, row = start[apart], row[apart]
    if len(row):
        there = nearest.settle(points[row], every[start * count + row])
        order = np.lexsort((there.distance, row))
        rows, first = np.unique(row[order], return_index=True)
        own = order[first]
        nearer = there.distance[own] < found.distance[rows]
        found.put(rows[nearer], there.take(own[nearer]))
    return found


def _between(nearest: Nearest, surface: Surface, edges: np.ndarray, aim: Aim) -> tuple[Array, Array]:
    """How far above the level the middles of edges lie, and at which settings the disc comes nearest to them.

    Along an edge whose ends the disc meets much alike, the surface is an arc: how the normal turns from one end to the
    other says how far it lies from the chord. Elsewhere the middle is looked at.
    """
    one, other = edges.T
    vertices = surface.vertices
    ends = surface.settings[one], surface.settings[other]
    chord = vertices[other] - vertices[one]
    turned = surface.normal[other] - surface.normal[one]
    above = -np.einsum("ij,ij->i", chord, turned) / 8.0
    settings = (ends[0] + ends[1]) / 2.0
    sharp = np.einsum("ij,ij->i", turned, turned) > _SHARP**2
    rows = np.flatnonzero(_apart(nearest, *ends) | sharp)
    middle = (vertices[one[rows]] + vertices[other[rows]]) / 2.0
    level = surface.level_mm[one]
    unlike = np.abs(nearest.distance(middle, settings[rows]) - level[rows] - above[rows]) >= _ALIKE * aim.dip_mm
    rows = rows[unlike]
    found = nearest_of(nearest, middle[unlike], [ends[0][rows], ends[1][rows], settings[rows]])
    above[rows], settings[rows] = found.distance - level[rows], found.settings
    return above, settings


def _looked_into(nearest: Nearest, surface: Surface, sides: np.ndarray, aim: Aim) -> np.ndarray:
    """Look into the faces that are not known to be good; the longest sides of those that are off.

    Where the disc meets the corners much alike, the edges have said all. The others are looked at in the middle, unless
    the setting between the corners finds there what the turn of the normals has one expect.
    """
    key = face_keys(surface.faces)
    fresh = np.flatnonzero(~among(key, surface.good_faces))
    faces = surface.faces[fresh]
    settings = surface.settings[faces]
    turns = surface.normal[faces] - np.roll(surface.normal[faces], 1, axis=1)
    mixed = np.any([_apart(nearest, settings[:, i], settings[:, i - 1]) for i in range(3)], axis=0)
    rows = np.flatnonzero(mixed | (np.einsum("nij,nij->ni", turns, turns).max(axis=1) > _SHARP**2))
    settings, corners, normal = settings[rows], surface.vertices[faces[rows]], surface.normal[faces[rows]]
    chords, turns = (np.roll(each, -1, axis=1) - each for each in (corners, normal))
    level = surface.level_mm[faces[:, 0]]
    expected = level[rows] - np.einsum("nij,nij->n", chords, turns) / 18.0
    middle, between = corners.mean(axis=1), settings.mean(axis=1)
    unlike = np.flatnonzero(np.abs(nearest.distance(middle, between) - expected) > _ALIKE * aim.dip_mm)
    off = np.zeros(len(fresh))
    if len(unlike):
        starts = [*(settings[unlike, i] for i in range(3)), between[unlike]]
        off[rows[unlike]] = aim.off(nearest_of(nearest, middle[unlike], starts).distance - level[rows[unlike]])
    bad = (off > 1.0) & (longest_mm(surface, fresh) > 2.0 * min(aim.dip_mm, aim.bridge_mm))
    surface.good_faces = np.concatenate([surface.good_faces, key[fresh[~bad]]])
    return longest_sides(surface, sides, fresh[bad])


def longest_sides(surface: Surface, sides: np.ndarray, rows: np.ndarray) -> np.ndarray:
    """The edges that are the longest sides of some faces."""
    corners = surface.vertices[surface.faces[rows]]
    lengths = np.linalg.norm(corners - np.roll(corners, -1, axis=1), axis=2)
    return np.unique(sides[rows, np.argmax(lengths, axis=1)])


def _turn_over(
    nearest: Nearest,
    surface: Surface,
    edges: np.ndarray,
    sides: np.ndarray,
    rows: np.ndarray,
    off: Array,
    aim: Aim,
) -> np.ndarray:
    """Turn edges over to the other diagonal of their two faces, where that is nearer to the aim; which were turned."""
    # the two sides of each edge, the lower number first
    number = sides.size
    pair = (np.sort(sides.ravel() * number + np.arange(number)) % number).reshape(-1, 2)[rows]
    (left, right), (i, j) = (pair // 3).T, (pair % 3).T
    faces = surface.faces
    far_left, far_right = faces[left, (i + 2) % 3], faces[right, (j + 2) % 3]
    one, other = faces[left, i], faces[left, (i + 1) % 3]
    outward = (_plump(surface, far_left, one, far_right) > _THIN) & (
        _plump(surface, far_right, other, far_left) > _THIN
    )
    across = np.sort(np.column_stack([far_left, far_right]), axis=1)
    there = among(_edge_keys(across), _edge_keys(edges))
    gain = np.full(len(rows), np.inf)
    tried = np.flatnonzero(outward & ~there)
    if len(tried):
        above, _ = _between(nearest, surface, across[tried], aim)
        gain[tried] = aim.off(above) - _HELPS * off[tried]
    taken = np.zeros(len(rows), dtype=bool)
    used = np.zeros(len(faces), dtype=bool)
    for row in np.argsort(gain, kind="stable"):
        if gain[row] >= 0:
            break
        if not used[left[row]] and not used[right[row]]:
            used[left[row]] = used[right[row]] = taken[row] = True
    # two faces may not gain the same edge from different sides
    _, first = np.unique(_edge_keys(across[taken]), return_index=True)
    at = np.flatnonzero(taken)
    taken[:] = False
    taken[at[first]] = True
    faces = faces.copy()
    faces[left[taken]] = np.column_stack([far_left, one, far_right])[taken]
    faces[right[taken]] = np.column_stack([far_right, other, far_left])[taken]
    surface.faces = faces
    return taken


def _plump(surface: Surface, one: np.ndarray, two: np.ndarray, three: np.ndarray) -> Array:
    """Height over longest side of faces as seen from the heart; less than 0 where they are turned inward."""
    a, b, c = (surface.toward[corner] for corner in (one, two, three))
    twice = np.einsum("ij,ij->i", a, np.cross(b, c))
    longest = np.maximum.reduce([np.einsum("ij,ij->i", p - q, p - q) for p, q in ((a, b), (b, c), (c, a))])
    return np.asarray(twice / np.maximum(longest, 1e-18))


def _thin_faces(surface: Surface) -> np.ndarray:
    return np.flatnonzero(_plump(surface, *surface.faces.T) < _THIN)


def _without_slivers(surface: Surface, edges: np.ndarray, sides: np.ndarray, halved: np.ndarray) -> np.ndarray:
    """The same edges, and the longest side of every face of which a much shorter one is halved."""
    ends = surface.vertices[edges]
    length = np.linalg.norm(ends[:, 0] - ends[:, 1], axis=1)[sides]
    longest = np.argmax(length, axis=1)
    most = length[np.arange(len(sides)), longest]
    for _ in range(12):
        cut = halved[sides]
        shortest = np.where(cut, length, np.inf).min(axis=1)
        also = sides[np.arange(len(sides)), longest][most > _SLIVER * shortest]
        if halved[also].all():
            break
        halved[also] = True
    return halved


def halve(nearest: Nearest, surface: Surface, edges: np.ndarray, sides: np.ndarray, halved: np.ndarray) -> None:
    """Cut edges in two, the new vertices laid on their level."""
    rows = np.flatnonzero(halved)
    ends = edges[rows].T
    share = _where_to_cut(nearest, surface, *ends)
    place = (1.0 - share) * surface.vertices[ends[0]] + share * surface.vertices[ends[1]]
    one, other = surface.settings[ends[0]], surface.settings[ends[1]]
    found = nearest_of(nearest, place, [one, other, (1.0 - share) * one + share * other])
    toward = place - surface.heart
    size = np.linalg.norm(toward, axis=1)
    toward = toward / size[:, None]
    slant = np.maximum(np.einsum("ij,ij->i", found.normal, toward), _STEEP)
    first = len(surface.radius)
    surface.add(toward, size + (surface.level_mm[ends[0]] - found.distance) / slant, found.settings, ends[0])
    number = np.full(len(edges), -1)
    number[rows] = first + np.arange(len(rows))
    surface.faces = split(surface.faces, sides, number)
    lay(nearest, surface, np.arange(first, len(surface.radius)))


def _where_to_cut(nearest: Nearest, surface: Surface, one: np.ndarray, other: np.ndarray) -> Array:
    """(n, 1): the share of the way from one end to the other where edges are best cut.

    Where an edge spans a valley between two parts of the sweep, the planes through its ends meet there; else halfway.
    """
    chord = surface.vertices[other] - surface.vertices[one]
    rise = np.einsum("ij,ij->i", surface.normal[one], chord)
    back = -np.einsum("ij,ij->i", surface.normal[other], chord)
    valley = (rise > 0) & (back > 0) & _apart(nearest, surface.settings[one], surface.settings[other])
    share = np.where(valley, back / np.where(valley, rise + back, 1.0), 0.5)
    return np.asarray(np.clip(share, _NEAR_END, 1.0 - _NEAR_END)[:, None])


def mend(nearest: Nearest, surface: Surface, faces: np.ndarray, settings: Array, aim: Aim, *, push: bool) -> np.ndarray:
    """Mend faces that the disc reaches, each at a setting (m, k) of its own; the vertices that moved.

    Corners that the setting shows to be wrong are laid anew. Where there are none, the face is cut across its longest
    side; where that is short already, and everywhere on `push`, its corners are moved outward by a part of the dip.
    """
    corners = surface.faces[faces]
    starts = np.repeat(settings, 3, axis=0)
    if push:
        # as far as the setting itself asks for, or a little, whatever else is near
        own = corners.ravel()
        lacks = surface.level_mm[own] - nearest.distance(surface.vertices[own], starts)
        further = np.zeros(len(surface.radius))
        np.maximum.at(further, own, np.maximum(lacks, _PUSHED * aim.dip_mm))
        moved = np.unique(own)
        # but not so far that the slack is gone; a face that asks for that is cut
        most = surface.level_mm[moved] + aim.room_mm
        room = most - nearest.distance(surface.vertices[moved], surface.settings[moved])
        surface.radius[moved] += np.clip(1.5 * further[moved], 0.0, np.maximum(room, 0.0))
        tight = moved[1.5 * further[moved] > room]
        cut_faces(nearest, surface, faces[np.isin(corners, tight).any(axis=1)])
        return moved
    moved = _tried_on(nearest, surface, corners.ravel(), starts)
    surface.doubt(moved)
    left = ~np.isin(corners, moved).any(axis=1)
    short = left & (longest_mm(surface, faces) <= 4.0 * aim.dip_mm)
    pushed = np.unique(corners[short])
    surface.radius[pushed] += _PUSHED * aim.dip_mm
    cut_faces(nearest, surface, faces[left & ~short])
    return np.concatenate([moved, pushed])


def cut_faces(nearest: Nearest, surface: Surface, faces: np.ndarray) -> None:
    """Halve the longest sides of faces; no vertex moves."""
    if len(faces):
        edges, sides = edges_of(surface.faces)
        halved = np.zeros(len(edges), dtype=bool)
        halved[longest_sides(surface, sides, faces)] = True
        halve(nearest, surface, edges, sides, halved)


def longest_mm(surface: Surface, faces: np.ndarray) -> Array:
    """(m,): the length of the longest side of some faces."""
    corners = surface.vertices[surface.faces[faces]]
    return np.asarray(np.linalg.norm(corners - np.roll(corners, -1, axis=1), axis=2).max(axis=1))
