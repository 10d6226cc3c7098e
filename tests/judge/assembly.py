"""A body on its links, assembled: the place and quaternion that leave every link as long as it was measured.

* unknowns - the body's place (3) and quaternion (4), then whatever else is not known: a lever's angle, a rack's travel
* asked    - what the mechanic sets: a height, a rack's travel, the other wheel's height
* rows     - numbers, in millimetres, that are zero in an assembled corner
* bushings - rows that rubber holds: where there are more links than can all be kept, the body settles where the
             squares of these are least in all

Newton's method; slopes come from `moving`. A linkage can be assembled in more than one way, so a lattice of settings is
first walked to from ride height, in short steps; what it finds says where to start for any other setting. Wherever the
start came from, it is the rows that decide.
"""

from __future__ import annotations

import itertools
from collections.abc import Callable
from dataclasses import dataclass, field

import numpy as np

from .errors import CannotStand
from .moving import Array, Moving, dot, numbers, side_by_side
from .placing import Placing, turn_of

KEPT = 1e-9
"""What may be left of a row, mm."""
_QUIET = 1e-10
"""So little is left, or so little would still change, that it is over."""
_ROUNDS = 60
_PACE = 10.0
"""How far a walk goes in one step, in mm and, where an angle is asked for, in a third of a degree."""
_MOST_MM = 60.0
"""A round that moves the body further than this is cut short."""


@dataclass(frozen=True, slots=True, eq=False)
class Reach:
    """A body somewhere: what rows are made of."""

    body: Placing
    more: list[Moving]
    """The unknowns beyond the body's own."""
    asked: list[Moving]


Rows = Callable[[Reach], Moving]


@dataclass(slots=True, eq=False)
class Assembly:
    """A body, what holds it, and how far it is asked to move."""

    rows: Rows
    box: Array
    """(a, 2): least and greatest of everything asked; zero, ride height, is within."""
    more: int = 0
    bushings: Rows | None = None
    nodes: list[Array] = field(init=False)
    lattice: Array | None = field(init=False, default=None)
    """The unknowns at every node, once they were asked for."""

    def __post_init__(self) -> None:
        most = 7 if len(self.box) < 3 else 5
        self.nodes = [np.linspace(*ends, most) if ends[1] > ends[0] else ends[:1] for ends in self.box]

    @property
    def unknowns(self) -> int:
        """The body's seven, and more."""
        return 7 + self.more

    def ride_height(self, count: int) -> Array:
        """(n, unknowns) as measured."""
        start = np.zeros((count, self.unknowns))
        start[:, 3] = 1.0
        return start

    def walk(self, asked: Array) -> Array:
        """The unknowns at settings (n, a), each reached in a straight line from ride height."""
        steps = max(1, int(np.ceil(np.abs(asked).max(initial=0.0) / _PACE)))
        before = here = self.ride_height(len(asked))
        for step in range(1, steps + 1):
            ahead = 2.0 * here - before if step > 1 else here
            before, here = here, self._solved(asked * (step / steps), ahead)[0]
        return here

    def stand(self, asked: Array) -> tuple[Placing, list[Moving]]:
        """The body at settings (n, a), and the other unknowns; without rates. Raises CannotStand."""
        here, _ = self._solved(asked, self._start(asked))
        return self.still(here), [Moving(column, np.zeros((1, 0))) for column in here[:, 7:].T]

    def moving(self, asked: Array) -> tuple[Placing, list[Moving]]:
        """The same, with their rates of change with everything asked."""
        here, system = self._solved(asked, self._start(asked))
        rate = -np.linalg.solve(system.slopes, system.pulls)[:, : self.unknowns]
        return (
            Placing(Moving(here[:, :3], rate[:, :3]), turn_of(Moving(here[:, 3:7], rate[:, 3:7]))),
            [Moving(here[:, k], rate[:, k]) for k in range(7, self.unknowns)],
        )

    def _start(self, asked: Array) -> Array:
        """The polynomial through the lattice, one number asked after another."""
        if self.lattice is None:
            grid = np.array(list(itertools.product(*self.nodes)))
            self.lattice = self.walk(grid).reshape(*(len(n) for n in self.nodes), -1)
        found = np.broadcast_to(self.lattice, (len(asked), *self.lattice.shape))
        for column, nodes in enumerate(self.nodes):
            found = np.einsum("nk,nk...->n...", _weights(nodes, asked[:, column]), found)
        return found

    def _solved(self, asked: Array, start: Array) -> tuple[Array, _System]:
        """Newton's method from a start (n, unknowns): the unknowns, and the rows there."""
        here = start
        for _ in range(_ROUNDS):
            system = self._system(here, asked)
            step = system.step(self.unknowns)
            # where bushings give, how far the body would still move says how near the least is
            if np.abs(step if self.bushings else system.left).max(initial=0.0) <= _QUIET:
                break
            far = np.abs(step[:, :3]).max(axis=1)
            here = here + step * np.minimum(1.0, _MOST_MM / np.maximum(far, 1e-30))[:, None]
        left = np.abs(system.kept).max(axis=1)
        if not np.isfinite(here).all() or left.max(initial=0.0) > KEPT:
            worst = asked[int(np.argmax(np.nan_to_num(left, nan=np.inf)))]
            raise CannotStand(f"at {np.round(worst, 3).tolist()} the linkage cannot be assembled")
        return here, system

    def still(self, here: Array) -> Placing:
        """The assembled body, without rates."""
        nothing = np.zeros((1, 7, 0))
        return Placing(Moving(here[:, :3], nothing[:, :3]), turn_of(Moving(here[:, 3:7], nothing[:, 3:])))

    def _reach(self, here: Array, asked: Array) -> Reach:
        rates = self.unknowns + asked.shape[1]
        place = np.zeros((1, 7, rates))
        place[0, :, :7] = np.eye(7)
        body = Placing(Moving(here[:, :3], place[:, :3]), turn_of(Moving(here[:, 3:7], place[:, 3:])))
        return Reach(
            body=body,
            more=numbers(here[:, 7:], first=7, rates=rates),
            asked=numbers(asked, first=self.unknowns, rates=rates),
        )

    def _left(self, here: Array, asked: Array) -> Moving:
        """What is left of every row, the quaternion's length among them."""
        found = self.rows(self._reach(here, asked))
        rates = self.unknowns + asked.shape[1]
        quaternion = np.zeros((1, 4, rates))
        quaternion[0, :, 3:7] = np.eye(4)
        whole = Moving(here[:, 3:7], quaternion)
        size = dot(whole, whole).times(0.5)
        return side_by_side([found, Moving(size.value - 0.5, size.rate)])

    def _system(self, here: Array, asked: Array) -> _System:
        exact, m = self._left(here, asked), self.unknowns
        if self.bushings is None:
            return _System(exact.value, exact.rate[..., :m], exact.value, exact.rate[..., m:])
        soft = self.bushings(self._reach(here, asked))
        hard, give = exact.rate[..., :m], soft.rate[..., :m]
        count, rows = hard.shape[0], hard.shape[1]
        whole = np.zeros((count, m + rows, m + rows))
        whole[:, :m, :m] = np.swapaxes(give, 1, 2) @ give
        whole[:, :m, m:] = np.swapaxes(hard, 1, 2)
        whole[:, m:, :m] = hard
        pull = np.einsum("nrm,nr->nm", give, soft.value)
        pulls = np.concatenate([np.swapaxes(give, 1, 2) @ soft.rate[..., m:], exact.rate[..., m:]], axis=1)
        return _System(exact.value, whole, np.concatenate([pull, exact.value], axis=1), pulls)


@dataclass(frozen=True, slots=True, eq=False)
class _System:
    """The rows at n settings; with bushings, the conditions of least energy too, with what each row pulls with."""

    kept: Array
    """What is left of the rows that must be kept."""
    slopes: Array
    """By the unknowns."""
    left: Array
    pulls: Array
    """By what is asked."""

    def step(self, unknowns: int) -> Array:
        """How far the unknowns must go."""
        try:
            return -np.linalg.solve(self.slopes, self.left[..., None])[:, :unknowns, 0]
        except np.linalg.LinAlgError:
            raise CannotStand("the linkage stands at a fold") from None


def _weights(nodes: Array, at: Array) -> Array:
    """(n, k): what each node counts for in the polynomial through all of them."""
    weights = np.ones((len(at), len(nodes)))
    for k, j in itertools.permutations(range(len(nodes)), 2):
        weights[:, k] *= (at - nodes[j]) / (nodes[k] - nodes[j])
    return weights
