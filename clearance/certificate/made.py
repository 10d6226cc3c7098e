"""A tree of boxes and planes that proves a distance, made so that `verify` can check it.

The search of the gap is not used: a distance is known, and here a box is split until planes settle it. How a plane is
found proves nothing; `verify.lower_bounds` says what each of them proves, and only that counts.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass, field

import numpy as np

from clearance.certificate.interval import Array, Ints
from clearance.certificate.tree import BEYOND, COVERED, GROUP, LEAF, SIDE, Leaves, Subject, Tree
from clearance.certificate.verify import lower_bounds
from clearance.errors import OutputError
from clearance.geom.chain import Chain
from clearance.geom.path import Path
from clearance.geom.revolve import Solid

_BATCH = 1_500
_MOST_NODES = 6_000_000
_TRIANGLE = (0, 1, 2)
_SAME_WAY = 0.1
"""Two directions whose mean is shorter than this have none between them."""
_GROUP_COUNTS = 2.0
"""How much the size of a group counts in choosing what to split: the corners of its box are no places of the part."""


def made(
    subject: Subject,
    path: Path,
    solid: Solid,
    at_least_mm: float,
    *,
    progress: Callable[[int, int], None] | None = None,
) -> Tree:
    """A tree that proves that no place comes nearer than `at_least_mm`. `path` and `solid` are the subject's own.

    Raises OutputError where that takes more boxes than is sensible.
    """
    return _Maker(subject, path, solid, at_least_mm).run(progress)


@dataclass(slots=True, kw_only=True, eq=False)
class _Nodes:
    """Open nodes of one sort: groups of triangles, or (bits of) single ones."""

    number: Ints
    first: Ints
    last: Ints
    corners: Array
    """(n, 3, 3); (0, 3, 3) for groups."""
    shares: Array
    middle: Array
    half: Array

    def __len__(self) -> int:
        return len(self.number)

    def take(self, rows: Ints) -> _Nodes:
        single = len(self.corners) > 0
        return _Nodes(
            number=self.number[rows],
            first=self.first[rows],
            last=self.last[rows],
            corners=self.corners[rows] if single else self.corners,
            shares=self.shares[rows] if single else self.shares,
            middle=self.middle[rows],
            half=self.half[rows],
        )


@dataclass(slots=True)
class _Written:
    """Steps, children, cuts and planes by node number."""

    step: list[int] = field(default_factory=list)
    child: list[int] = field(default_factory=list)
    cut: dict[int, int] = field(default_factory=dict)
    planes: dict[int, Array] = field(default_factory=dict)

    def new(self, count: int) -> Ints:
        first = len(self.step)
        self.step += [-1] * count
        self.child += [-1] * count
        return np.arange(first, first + count)


class _Maker:
    def __init__(self, subject: Subject, path: Path, solid: Solid, at_least_mm: float) -> None:
        self.subject, self.path, self.solid, self.wanted = subject, path, solid, at_least_mm
        self.order = np.arange(len(subject.triangles))
        self.low, self.high = subject.triangles.min(axis=1), subject.triangles.max(axis=1)
        self.written = _Written()
        self.cuts: set[tuple[int, int]] = set()
        """Groups, by where they begin and end in the order, that were cut already."""
        self.boxes: dict[tuple[int, int], tuple[Array, Array, float, float]] = {}

    def run(self, progress: Callable[[int, int], None] | None) -> Tree:
        """Split until everything is settled."""
        box = self.subject.motion.box
        root = _Nodes(
            number=self.written.new(1),
            first=np.array([0]),
            last=np.array([len(self.order)]),
            corners=np.zeros((0, 3, 3)),
            shares=np.zeros((0, 3)),
            middle=box.mean(axis=1)[None],
            half=((box[:, 1] - box[:, 0]) / 2)[None],
        )
        waiting = self._sorted(root)
        while waiting:
            nodes = waiting.pop()
            if len(nodes) > _BATCH:
                waiting.append(nodes.take(np.arange(_BATCH, len(nodes))))
                nodes = nodes.take(np.arange(_BATCH))
            waiting += self._settled_or_split(nodes)
            waiting = _joined(waiting)
            if len(self.written.step) > _MOST_NODES:
                raise OutputError(
                    f"a certificate of this would take more than {_MOST_NODES:,} boxes. Ask for one with a coarser"
                    " tolerance."
                )
            if progress is not None:
                progress(len(self.written.step), sum(len(n) for n in waiting))
        return self._tree()

    def _sorted(self, nodes: _Nodes) -> list[_Nodes]:
        """Groups of one triangle become that triangle."""
        if len(nodes.corners):
            return [nodes]
        single = nodes.last - nodes.first == 1
        parts = []
        if not single.all():
            parts.append(nodes.take(np.flatnonzero(~single)))
        if single.any():
            one = nodes.take(np.flatnonzero(single))
            rows = self.order[one.first]
            one.corners, one.shares = self.subject.triangles[rows], self.subject.share[rows]
            parts.append(one)
        return parts

    def _settled_or_split(self, nodes: _Nodes) -> list[_Nodes]:
        nodes = self._without_what_is_beyond(nodes)
        if not len(nodes):
            return []
        points, shares = self._held(nodes)
        leaves = Leaves(
            points=points,
            shares=shares,
            middle=nodes.middle,
            half=nodes.half,
            planes=np.zeros((len(nodes), 1, 6)),
            skin=self._skin(nodes),
        )
        look = _Look(self.path, self.solid, leaves)
        left = np.arange(len(nodes))
        for planes in look.planes(self.subject):
            some = _leaves_of(leaves, left, planes[left])
            settled = lower_bounds(self.subject, some) >= self.wanted
            for row in left[settled]:
                number = int(nodes.number[row])
                self.written.step[number] = LEAF if planes.shape[1] == 1 else COVERED
                self.written.planes[number] = planes[row]
            left = left[~settled]
            if not len(left):
                return []
        return self._split(nodes.take(left), look.sizes[left], look.place_size[left])

    def _without_what_is_beyond(self, nodes: _Nodes) -> _Nodes:
        keep = np.ones(len(nodes), dtype=bool)
        for i, j, most in self.subject.motion.limits:
            apart = np.abs(nodes.middle[:, i] - nodes.middle[:, j])
            keep &= apart - nodes.half[:, i] - nodes.half[:, j] <= most
        for number in nodes.number[~keep]:
            self.written.step[int(number)] = BEYOND
        return nodes if keep.all() else nodes.take(np.flatnonzero(keep))

    def _skin(self, nodes: _Nodes) -> Array:
        """(n,): the greatest skin in each node."""
        most = float(self.subject.skin.max())
        if float(self.subject.skin.min()) == most:
            return np.full(len(nodes), most)
        each = zip(nodes.first.tolist(), nodes.last.tolist(), strict=True)
        return np.array([self.subject.skin[self.order[first:last]].max() for first, last in each])

    def _held(self, nodes: _Nodes) -> tuple[Array, Array]:
        if len(nodes.corners):
            return nodes.corners, nodes.shares
        low, high = (np.empty((len(nodes), 3)) for _ in range(2))
        least, most = np.empty(len(nodes)), np.empty(len(nodes))
        for i, (first, last) in enumerate(zip(nodes.first.tolist(), nodes.last.tolist(), strict=True)):
            low[i], high[i], least[i], most[i] = self._around(first, last)
        which = np.array([[i, j, k] for i in (0, 1) for j in (0, 1) for k in (0, 1)])
        box = np.stack([low, high], axis=1)[:, which, np.arange(3)]
        shares = np.concatenate([np.repeat(least[:, None], 8, axis=1), np.repeat(most[:, None], 8, axis=1)], axis=1)
        return np.concatenate([box, box], axis=1), shares

    def _around(self, first: int, last: int) -> tuple[Array, Array, float, float]:
        """The box round a group, and the ends of its shares; looked up once."""
        if (first, last) not in self.boxes:
            rows = self.order[first:last]
            share = self.subject.share[rows]
            self.boxes[first, last] = (
                self.low[rows].min(axis=0), self.high[rows].max(axis=0), float(share.min()), float(share.max())
            )  # fmt: skip
        return self.boxes[first, last]

    def _split(self, nodes: _Nodes, sizes: Array, place: Array) -> list[_Nodes]:
        grouped = not len(nodes.corners)
        each = np.column_stack([sizes, place * (_GROUP_COUNTS if grouped else 1.0)])
        which = np.argmax(each, axis=1)
        numbers = nodes.middle.shape[1]
        parts = [self._halved(nodes.take(np.flatnonzero(which == n)), n) for n in range(numbers) if (which == n).any()]
        rows = np.flatnonzero(which == numbers)
        if len(rows):
            some = nodes.take(rows)
            parts += self._grouped(some) if grouped else [self._bisected(some)]
        return [part for one in parts for part in self._sorted(one)]

    def _born(self, nodes: _Nodes, step: Ints) -> Ints:
        """Numbers of two children of each node: all first ones, then all second."""
        new = self.written.new(2 * len(nodes))
        for i, (number, code) in enumerate(zip(nodes.number, step, strict=True)):
            self.written.step[int(number)] = int(code)
            self.written.child[int(number)] = int(new[2 * i])
        return np.concatenate([new[::2], new[1::2]])

    def _halved(self, nodes: _Nodes, number: int) -> _Nodes:
        count = len(nodes)
        both = nodes.take(np.concatenate([np.arange(count)] * 2))
        both.number = self._born(nodes, np.full(count, number))
        both.half = both.half.copy()
        both.half[:, number] /= 2
        both.middle = both.middle.copy()
        both.middle[:, number] += np.where(np.arange(2 * count) < count, -1.0, 1.0) * both.half[:, number]
        return both

    def _bisected(self, nodes: _Nodes) -> _Nodes:
        count, rows = len(nodes), np.arange(len(nodes))
        sides = np.linalg.norm(np.roll(nodes.corners, -1, axis=1) - nodes.corners, axis=2)
        side = np.argmax(sides, axis=1)
        other = (side + 1) % 3
        middle = (nodes.corners[rows, side] + nodes.corners[rows, other]) / 2
        share = (nodes.shares[rows, side] + nodes.shares[rows, other]) / 2
        both = nodes.take(np.concatenate([rows, rows]))
        both.number = self._born(nodes, SIDE + side)
        both.corners, both.shares = both.corners.copy(), both.shares.copy()
        # the checker pops its second child first: what stands first here is the one that comes last there
        both.corners[rows, other], both.shares[rows, other] = middle, share
        both.corners[count + rows, side], both.shares[count + rows, side] = middle, share
        return both

    def _grouped(self, nodes: _Nodes) -> list[_Nodes]:
        """Each group in two halves along its longest way."""
        count = len(nodes)
        both = nodes.take(np.concatenate([np.arange(count)] * 2))
        both.number = self._born(nodes, np.full(count, GROUP))
        both.first, both.last = both.first.copy(), both.last.copy()
        for i, (first, last) in enumerate(zip(nodes.first, nodes.last, strict=True)):
            cut = self._cut(int(first), int(last))
            self.written.cut[int(nodes.number[i])] = cut
            both.last[i] = cut
            both.first[count + i] = cut
        return [both]

    def _cut(self, first: int, last: int) -> int:
        """Where a group is cut. The first to be cut there puts its triangles in order; the others find them so."""
        cut = (first + last) // 2
        if (first, last) not in self.cuts:
            rows = self.order[first:last]
            middle = (self.low[rows] + self.high[rows]) / 2
            way = int(np.argmax(np.ptp(middle, axis=0)))
            self.order[first:last] = rows[np.argsort(middle[:, way], kind="stable")]
            self.cuts.add((first, last))
        return cut

    def _tree(self) -> Tree:
        steps: list[int] = []
        cuts: list[int] = []
        planes: list[Array] = []
        stack = [0]
        while stack:
            number = stack.pop()
            step = self.written.step[number]
            steps.append(step)
            if step in (LEAF, COVERED):
                planes.append(self.written.planes[number])
            elif step != BEYOND:
                if step == GROUP:
                    cuts.append(self.written.cut[number])
                child = self.written.child[number]
                stack += [child + 1, child]
        return Tree(
            order=self.order.astype(np.int64),
            steps=np.array(steps, dtype=np.int64),
            cuts=np.array(cuts, dtype=np.int64),
            planes=np.concatenate(planes) if planes else np.zeros((0, 6)),
        )


def _leaves_of(leaves: Leaves, rows: Ints, planes: Array) -> Leaves:
    return Leaves(
        points=leaves.points[rows],
        shares=leaves.shares[rows],
        middle=leaves.middle[rows],
        half=leaves.half[rows],
        planes=planes,
        skin=leaves.skin[rows],
    )


def _joined(waiting: list[_Nodes]) -> list[_Nodes]:
    """Nodes of one sort together."""
    joined = []
    for single in (False, True):
        same = [n for n in waiting if len(n) and (len(n.corners) > 0) == single]
        if len(same) == 1:
            joined += same
        elif same:
            joined.append(
                _Nodes(**{name: np.concatenate([getattr(n, name) for n in same]) for name in _Nodes.__slots__})
            )
    return joined


class _Look:
    """What leaves look like at their middles, and planes that may settle them."""

    def __init__(self, path: Path, solid: Solid, leaves: Leaves) -> None:
        self.path, self.solid, self.leaves = path, solid, leaves
        rates = path.rates(leaves.middle)
        self.place = leaves.points.mean(axis=1) + leaves.shares.mean(axis=1)[:, None] * rates.far
        spread = np.linalg.norm(leaves.points - leaves.points.mean(axis=1)[:, None], axis=2)
        far = np.linalg.norm(rates.far, axis=1)[:, None]
        self.place_size = (spread + np.abs(leaves.shares - leaves.shares.mean(axis=1)[:, None]) * far).max(axis=1)
        reach = np.linalg.norm(self.place - rates.centre, axis=1)[:, None]
        speed = np.linalg.norm(rates.centre_by - leaves.shares.mean(axis=1)[:, None, None] * rates.far_by, axis=2)
        self.sizes = leaves.half * (speed + reach * np.linalg.norm(rates.axis_by, axis=2))

    def planes(self, subject: Subject) -> Iterator[Array]:
        """Planes to be tried in turn, (n, 1 or outlines of the cover, 6) each.

        Of the hull at the middle, at the nearest corner and between the two; then of the cover.
        """
        look, leaves = self, self.leaves
        middle = _plane(look.solid.hull_chain, look.path, look.place, leaves.middle)
        yield middle[:, None]
        if leaves.points.shape[1] > len(_TRIANGLE) and not subject.cover:
            return  # a group is cheaper to cut than to look at closely
        place, setting = look.nearest()
        worst = _plane(look.solid.hull_chain, look.path, place, setting)
        yield worst[:, None]
        between = (middle + worst) / 2
        opposite = np.hypot(between[:, 0], between[:, 1]) < _SAME_WAY
        yield np.where(opposite[:, None], middle, between)[:, None]
        if subject.cover:
            for at, when in ((look.place, leaves.middle), (place, setting)):
                planes = [_plane(chain, look.path, at, when) for chain in look.solid.piece_chains]
                yield np.stack(planes, axis=1)

    def nearest(self) -> tuple[Array, Array]:
        """Of corners of the places, at the middle and the ends of each number, the one nearest to the solid."""
        look, leaves = self, self.leaves
        count, corners, numbers = len(leaves.middle), leaves.points.shape[1], leaves.middle.shape[1]
        ways = np.concatenate([np.zeros((1, numbers)), np.eye(numbers), -np.eye(numbers)])
        best = np.full(count, np.inf)
        place, setting = look.place.copy(), leaves.middle.copy()
        for way in ways:
            here = leaves.middle + way * leaves.half
            far = look.path.far_at(here)
            for corner in range(corners):
                point = leaves.points[:, corner] + leaves.shares[:, corner, None] * far
                distance = _distance(look.solid.hull_chain, look.path, point, here)
                nearer = distance < best
                best = np.where(nearer, distance, best)
                place[nearer], setting[nearer] = point[nearer], here[nearer]
        return place, setting


def _seen(path: Path, place: Array, setting: Array) -> tuple[Array, Array, Array]:
    centre, axis = path.at(setting)
    offset = place - centre
    along = np.einsum("ij,ij->i", offset, axis)
    off = offset - along[:, None] * axis
    radial = np.sqrt(np.einsum("ij,ij->i", off, off))
    return along, radial, off / np.maximum(radial, 1e-12)[:, None]


def _distance(chain: Chain, path: Path, place: Array, setting: Array) -> Array:
    along, radial, _ = _seen(path, place, setting)
    return chain.near(along, radial).distance


def _plane(chain: Chain, path: Path, place: Array, setting: Array) -> Array:
    """The plane (n, 6) through the nearest place of an outline."""
    along, radial, outward = _seen(path, place, setting)
    near = chain.near(along, radial)
    return np.column_stack([near.across, near.away, outward, np.maximum(radial, 1e-3)])
