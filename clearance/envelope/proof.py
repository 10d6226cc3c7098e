"""What an envelope is worth: proof that nothing reaches its surface, and how far outside the truth it lies.

* standoff - of a triangle: a proven lower bound of its distance to the tire and wheel over every setting of the path
* outside  - of a triangle: a proven upper bound of how far any of its points lies from the swept solid

Standoff, by branch and bound on (patch of triangles, box of settings, convex piece of the solid). With centre c, unit axis u
and a point p, put d = p - c, a = u.d, w = d - a u, r = |w|. The signed distance s(a, r) to a convex piece is a convex
function, so at the middle of the patch and of the box it has a supporting line

    s(a, r) >= s0 + s_a (a - a0) + s_r (r - r0),        r >= e.w    (e = w0 / r0)

whose right side is linear in p and, but for bounded second derivatives of the path, linear in the setting. Where s_r < 0
the second inequality is replaced by r <= e.w + |w - w0|^2 / (2 e.w). The first-order bound (a signed distance never
changes faster than things move) is used where it is better. docs/envelope-and-zones.md has every term.

Outside: at one fixed setting the distance to a convex piece is convex where s_r >= 0, so over a flat triangle it is greatest
at a corner; where s_r < 0 it exceeds that by at most R^2 / (2 (r - R)). Any one setting will do, since the swept solid
holds the solid at that setting.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from clearance.envelope.sweep import Sweep, seen_from_hub
from clearance.geom.chain import Chain
from clearance.pose import Array

_PATCHES = (512, 64, 8, 1)
"""Triangles in a patch, level by level."""
_PLANES_FROM = 2
"""The level from which the corners of a patch are looked at one by one; above, its radius stands for them."""
_AT_ONCE = 40_000
_LEAST_MOVE_MM = 0.01
"""A box of settings in which nothing moves further than this is not halved again."""


_QUARTERS = 3
"""How often a triangle in question is looked at in quarters."""
_Short = tuple[Array, Array, np.ndarray]
"""Least value and its setting for each triangle, and the triangle that each patch is part of."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Patch:
    """All patches of one level."""

    corners: Array
    """(n, 3 m, 3)"""
    middle: Array
    radius: Array


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Pairs:
    """Patches against boxes of settings and pieces of the solid."""

    patch: np.ndarray
    piece: np.ndarray
    middle: Array
    half: Array

    def __getitem__(self, rows: np.ndarray | slice) -> _Pairs:
        return _Pairs(
            patch=self.patch[rows], piece=self.piece[rows], middle=self.middle[rows], half=self.half[rows]
        )


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Bound:
    least: Array
    by_points: Array
    by_setting: Array
    moves: Array
    found: Array
    """Distance of the middle of the patch at the middle of the box: a real place at a real setting."""


def standoff(sweep: Sweep, vertices: Array, faces: np.ndarray, need_mm: float) -> tuple[Array, Array]:
    """(t,): for each triangle a proven lower bound of its distance to the solid at every setting of the path.

    Where the bound reaches `need_mm` the search stops; `path.error_mm` is taken off. Where it falls short the number is an
    estimate of the shortfall, and the second answer (t, k) is a setting at which the solid comes that near.
    """
    order = _along_a_curve(vertices[faces].mean(axis=1))
    levels = [_patches(vertices, faces[order], count) for count in _PATCHES]
    least = np.full(len(faces), np.inf)
    worst = np.zeros((len(faces), sweep.path.numbers))
    need = need_mm + sweep.path.error_mm
    pairs = _first_pairs(sweep, len(levels[0].middle))
    for level, size in enumerate(_PATCHES):
        pairs = _sifted(sweep, levels[level], level, pairs, need, None)
        if size > 1:
            pairs = _into_smaller(pairs, size, _PATCHES[level + 1], len(faces))
    whole, owner = levels[-1], np.arange(len(faces))
    for depth in range(_QUARTERS):
        if len(pairs.patch) == 0:
            break
        whole, owner, pairs = _quartered(whole, owner, pairs)
        short = (least, worst, owner) if depth == _QUARTERS - 1 else None
        pairs = _sifted(sweep, whole, len(_PATCHES), pairs, need, short)
    out, at = np.empty(len(faces)), np.empty_like(worst)
    out[order] = np.where(np.isfinite(least), least, need) - sweep.path.error_mm
    at[order] = worst
    return out, at


def _first_pairs(sweep: Sweep, patches: int) -> _Pairs:
    box = sweep.path.box
    pieces = len(sweep.solid.piece_chains)
    patch, piece = (a.ravel() for a in np.meshgrid(np.arange(patches), np.arange(pieces), indexing="ij"))
    middle = box.mean(axis=1) if len(box) else np.zeros(0)
    half = (box[:, 1] - box[:, 0]) / 2 if len(box) else np.zeros(0)
    count = len(patch)
    return _Pairs(patch=patch, piece=piece, middle=np.tile(middle, (count, 1)), half=np.tile(half, (count, 1)))


def _sifted(
    sweep: Sweep, patches: _Patch, level: int, pairs: _Pairs, need: float, short: _Short | None
) -> _Pairs:
    """Drop the pairs that are proven; halve the settings of the rest until smaller patches promise more.

    With `short` there are no smaller patches: it takes the bound and setting of every pair that cannot be improved.
    """
    waiting = [pairs]
    smaller: list[_Pairs] = []
    while waiting:
        now = waiting.pop()
        if len(now.patch) > _AT_ONCE:
            waiting += [now[_AT_ONCE:], now[:_AT_ONCE]]
            continue
        now = now[_reachable(sweep, now)]
        if len(now.patch) == 0:
            continue
        bound = _bounded(sweep, patches, level, now)
        kept = np.flatnonzero(bound.least < need)
        now, by_setting, by_points = now[kept], bound.by_setting[kept], bound.by_points[kept]
        if len(now.patch) == 0:
            continue
        # what is really reached cannot be proven clear: no use in looking closer
        reached = bound.found[kept] < need
        can_halve = (bound.moves[kept] > _LEAST_MOVE_MM) & ~reached
        if short is None:
            halve = can_halve & (by_setting.sum(axis=1) > by_points)
            smaller.append(now[~halve])
        else:
            halve = can_halve & (by_setting.sum(axis=1) > np.maximum(0.1 * (need - bound.least[kept]), 0.03))
            value = np.where(reached, bound.found[kept] - by_points, bound.least[kept])
            _note(short, now[~halve], value[~halve])
        if halve.any():
            waiting.append(_halved(now[halve], by_setting[halve]))
    return _joined(smaller) if smaller else pairs[np.zeros(0, dtype=int)]


def _note(short: _Short, pairs: _Pairs, value: Array) -> None:
    """Keep the least value of each triangle, with its setting."""
    least, worst, owner = short
    face = owner[pairs.patch]
    order = np.lexsort((value, face))
    first = order[np.unique(face[order], return_index=True)[1]]
    lower = first[value[first] < least[face[first]]]
    least[face[lower]] = value[lower]
    worst[face[lower]] = pairs.middle[lower]


def _quartered(whole: _Patch, owner: np.ndarray, pairs: _Pairs) -> tuple[_Patch, np.ndarray, _Pairs]:
    """The triangles that are still in question, each as four; the mesh itself stays as it is."""
    asked, index = np.unique(pairs.patch, return_inverse=True)
    a, b, c = (whole.corners[asked, i] for i in range(3))
    ab, bc, ca = (a + b) / 2, (b + c) / 2, (c + a) / 2
    quarters = [(a, ab, ca), (ab, b, bc), (ca, bc, c), (ab, bc, ca)]
    corners = np.stack([np.stack(q, axis=1) for q in quarters], axis=1).reshape(-1, 3, 3)
    middle = corners.mean(axis=1)
    radius = np.sqrt(((corners - middle[:, None]) ** 2).sum(axis=2).max(axis=1))
    four = _Pairs(
        patch=(index[:, None] * 4 + np.arange(4)).ravel(),
        piece=np.repeat(pairs.piece, 4),
        middle=np.repeat(pairs.middle, 4, axis=0),
        half=np.repeat(pairs.half, 4, axis=0),
    )
    return _Patch(corners=corners, middle=middle, radius=radius), np.repeat(owner[asked], 4), four


def _reachable(sweep: Sweep, pairs: _Pairs) -> np.ndarray:
    if sweep.across is None:
        return np.ones(len(pairs.patch), dtype=bool)
    return sweep.allowed(pairs.middle, pairs.half[:, sweep.across[0]] + pairs.half[:, sweep.across[1]])


def _halved(pairs: _Pairs, weight: Array) -> _Pairs:
    number = np.argmax(weight, axis=1)
    rows = np.arange(len(number))
    half = pairs.half.copy()
    half[rows, number] /= 2
    step = np.zeros_like(half)
    step[rows, number] = half[rows, number]
    two = [_Pairs(patch=pairs.patch, piece=pairs.piece, middle=pairs.middle + s * step, half=half) for s in (-1, 1)]
    return _joined(two)


def _joined(many: list[_Pairs]) -> _Pairs:
    return _Pairs(
        patch=np.concatenate([p.patch for p in many]),
        piece=np.concatenate([p.piece for p in many]),
        middle=np.concatenate([p.middle for p in many]),
        half=np.concatenate([p.half for p in many]),
    )


def _into_smaller(pairs: _Pairs, size: int, smaller: int, faces: int) -> _Pairs:
    times = size // smaller
    patch = (pairs.patch[:, None] * times + np.arange(times)).ravel()
    there = patch * smaller < faces
    return _Pairs(
        patch=patch[there],
        piece=np.repeat(pairs.piece, times)[there],
        middle=np.repeat(pairs.middle, times, axis=0)[there],
        half=np.repeat(pairs.half, times, axis=0)[there],
    )


def _bounded(sweep: Sweep, patches: _Patch, level: int, pairs: _Pairs) -> _Bound:
    """The lower bound of every pair, and what each of its uncertainties contributes."""
    path = sweep.path
    rates = path.rates(pairs.middle)
    x0, radius = patches.middle[pairs.patch], patches.radius[pairs.patch]
    a0, r0, e = seen_from_hub(x0, rates.centre, rates.axis)
    d0 = x0 - rates.centre
    s0, sa, sr = _supporting(sweep.solid.piece_chains, pairs.piece, a0, r0)
    g = sa[:, None] * rates.axis + sr[:, None] * e
    lever = sa[:, None] * d0 - (sr * a0)[:, None] * e
    slope = np.einsum("nki,ni->nk", rates.axis_by, lever) - np.einsum("nki,ni->nk", rates.centre_by, g)

    half = pairs.half
    reach = np.linalg.norm(d0, axis=1)
    bend_c = np.einsum("ni,ij,nj->n", half, path.centre_bend, half) / 2
    bend_u = np.einsum("ni,ij,nj->n", half, path.axis_bend, half) / 2
    speed_c, speed_u = (np.linalg.norm(by, axis=2) * half for by in (rates.centre_by, rates.axis_by))
    move_c, move_u = speed_c.sum(axis=1) + bend_c, speed_u.sum(axis=1) + bend_u
    change_d = radius + move_c
    change_a = change_d + move_u * (reach + change_d)
    rest = bend_c + np.linalg.norm(lever, axis=1) * bend_u + move_u * (np.abs(sa) * change_d + np.abs(sr) * change_a)
    # where the distance falls with the radius, the radius itself must not be understated
    swing = change_d + (reach + change_d) * move_u
    inward = np.maximum(-sr, 0.0)
    room = r0 - swing
    curl = np.where(inward > 0, inward * swing**2 / (2 * np.maximum(room, 1e-9)), 0.0)
    hopeless = (inward > 0) & (room <= 0)

    by_points = radius if level < _PLANES_FROM else -_least_along(patches.corners, pairs.patch, x0, g)
    second = s0 - by_points - (np.abs(slope) * half).sum(axis=1) - rest - curl
    moves = move_c + (reach + radius) * move_u
    first = s0 - radius - moves
    second = np.where(hopeless, -np.inf, second)
    # what each number adds; the last terms grow with the square of the box and so with its widest side
    widest = speed_c + speed_u * reach[:, None]
    share = widest / np.maximum(widest.sum(axis=1), 1e-12)[:, None]
    use_first = first > second
    linear = np.where(use_first[:, None], widest, np.abs(slope) * half)
    # the patch's own size curls too, however small the box
    own = np.where(inward > 0, inward * radius**2 / (2 * np.maximum(room, 1e-9)), 0.0)
    loose = np.where(use_first, 0.0, rest + curl - own)
    return _Bound(
        least=np.maximum(first, second),
        by_points=np.where(use_first, radius, np.maximum(by_points, 0.2 * radius) + own),
        by_setting=linear + loose[:, None] * share,
        moves=moves,
        found=s0,
    )


def _supporting(chains: tuple[Chain, ...], piece: np.ndarray, along: Array, away: Array) -> tuple[Array, Array, Array]:
    s, sa, sr = np.empty(len(piece)), np.empty(len(piece)), np.empty(len(piece))
    for number, chain in enumerate(chains):
        rows = np.flatnonzero(piece == number)
        if len(rows):
            near = chain.near(along[rows], away[rows])
            s[rows], sa[rows], sr[rows] = near.distance, near.across, near.away
    return s, sa, sr


def _least_along(corners: Array, patch: np.ndarray, x0: Array, g: Array) -> Array:
    reach = np.einsum("nmi,ni->nm", corners[patch], g).min(axis=1)
    least: Array = reach - np.einsum("ni,ni->n", x0, g)
    return least


def _patches(vertices: Array, faces: np.ndarray, count: int) -> _Patch:
    """Runs of `count` faces; the last run is filled up with its last face."""
    runs = -(-len(faces) // count)
    filled = np.concatenate([faces, np.repeat(faces[-1:], runs * count - len(faces), axis=0)])
    corners = vertices[filled].reshape(runs, 3 * count, 3)
    middle = (corners.min(axis=1) + corners.max(axis=1)) / 2 if count > 1 else corners.mean(axis=1)
    radius = np.sqrt(((corners - middle[:, None]) ** 2).sum(axis=2).max(axis=1))
    return _Patch(corners=corners, middle=middle, radius=radius)


def _along_a_curve(points: Array) -> np.ndarray:
    """An order in which neighbours in space are mostly neighbours in line (Morton's)."""
    low = points.min(axis=0)
    size = max(float((points.max(axis=0) - low).max()), 1e-9)
    cell = ((points - low) / size * 1023).astype(np.int64)
    code = np.zeros(len(points), dtype=np.int64)
    for bit in range(10):
        for axis in range(3):
            code |= (cell[:, axis] >> bit & 1) << (3 * bit + axis)
    return np.argsort(code, kind="stable")


def inner_pieces(sweep: Sweep) -> tuple[Chain, ...]:
    """The convex pieces that lie within the solid (all of them on most wheels)."""
    solid = sweep.solid
    inside: list[Chain] = []
    for piece, chain in zip(solid.pieces, solid.piece_chains, strict=True):
        ring = piece.outline(0.01)
        step = np.linspace(0.0, 1.0, 24, endpoint=False)[:, None, None]
        along = (ring + step * (np.roll(ring, -1, axis=0) - ring)).reshape(-1, 2)
        if float(solid.chain.near(along[:, 0], np.abs(along[:, 1])).distance.max()) < 1e-3:
            inside.append(chain)
    return tuple(inside)


def outside(sweep: Sweep, vertices: Array, faces: np.ndarray, settings: Array) -> Array:
    """(t,): a proven upper bound of how far any point of a triangle lies from the swept solid.

    `settings` (v, k) are real settings at which the solid comes near to each vertex.
    """
    corners = vertices[faces]
    longest = np.linalg.norm(corners - np.roll(corners, 1, axis=1), axis=2).max(axis=1)
    best = np.full(len(faces), np.inf)
    pieces = inner_pieces(sweep)
    for chosen in range(3):
        q = settings[faces[:, chosen]]
        centre, axis = sweep.path.at(q)
        seen = [seen_from_hub(corners[:, i], centre, axis) for i in range(3)]
        # any one setting with the plain bound: no further than from the nearest corner
        plain = np.stack([sweep.solid.chain.near(a, r).distance for a, r, _ in seen], axis=1)
        best = np.minimum(best, plain.min(axis=1) + longest)
        radius = longest / np.sqrt(3.0)
        for chain in pieces:
            near = [chain.near(a, r) for a, r, _ in seen]
            greatest = np.max([n.distance for n in near], axis=0)
            inward = np.min([n.away for n in near], axis=0) < 0.05
            room = np.maximum(np.min([r for _, r, _ in seen], axis=0) - radius, 1e-9)
            best = np.minimum(best, greatest + np.where(inward, radius**2 / (2 * room), 0.0))
    return best + sweep.path.error_mm
