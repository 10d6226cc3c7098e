"""Following a linkage through its travel, outward from ride height, and saying where it locks.

A linkage can be assembled in more than one way, and a solver that jumps straight to full droop may find the wrong one.
So the first walk goes out from ride height in short steps, each started from the one before. What it finds at a grid of
Chebyshev nodes is kept as polynomials, which start every later solution so near that two rounds of Newton finish it:
the polynomials only start the answer, the rows decide it.

* lock - the travel at which rods are pulled straight, or the linkage folds: it cannot go on
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field, replace

import numpy as np
import numpy.typing as npt
from numpy.polynomial import chebyshev

from clearance.errors import SuspensionError
from clearance.pose import Array, Pose, toe_deg
from clearance.suspension.linkage import (
    Height,
    Linkage,
    Riding,
    RoadAngle,
    State,
    assembled,
    sense,
    slopes_of,
    turn_by,
    values_of,
    vector_of,
)
from clearance.suspension.position import Cycle

Truth = npt.NDArray[np.bool_]

STEP_MM = 10.0
STEP_DEG = 3.0
STEP_DRIVE_MM = 5.0
LOCK_WITHIN_DEG = 0.05
"""How closely a refusal names the angle at which a linkage locks."""
_LEAST_PART = 1e-7
"""A step is halved until it is this part of the way from ride height."""
_NEAR_MM = 5.0
"""A solution further than this from its start was not the one sought."""
_DEGREES = (10, 10, 10)
_FIT_DEGREES = (24, 48, 96)
"""Tried in turn."""
_FIT_WITHIN_MM = 1e-7
_MOST_RETRIED = 2
"""Positions that are walked to again in shorter steps, before the first that fails is refused."""
_MOST_STEPS = 200
_MOST_NAMED = 3
_FLAT = 1e-12
"""A range shorter than this is one position."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Travel:
    """A linkage and the box of positions that it goes through. Refuses, in words, what it cannot reach."""

    linkage: Linkage
    cycle: Cycle
    title: str = "this corner"
    steers: bool = False
    """True where the steering moves a point of the linkage: the steer angle is then turned into that move."""
    toe_row: Linkage | None = None
    """The same linkage with the road-wheel angle as one more row, to find the steering's move for an angle."""
    standing: Riding | None = None
    """What the spring and the stops hold: the lower ball joint. Bump is the hub's height straight ahead; when the wheel
    steers it is this point that keeps its height, and the hub rises or sinks as the inclined axis makes it. Left out,
    the
    hub itself is held."""
    straight: Travel | None = field(init=False, repr=False)
    """The same travel without steering, which says how high `standing` is at each bump."""
    lifts: Array = field(init=False, repr=False)
    """Chebyshev coefficients of the height of `standing` over the bump range."""
    start: tuple[Array, ...] = field(init=False, repr=False)
    """Chebyshev coefficients of the bodies' origins and turns over the box."""
    drives: Array = field(init=False, repr=False)
    """Chebyshev coefficients of the steering's move over the steer range."""

    def __post_init__(self) -> None:
        put = object.__setattr__
        put(self, "drives", np.zeros(1))
        put(self, "start", ())
        put(self, "straight", None)
        put(self, "lifts", np.zeros(1))
        if self.standing is not None and _span(self.cycle.steer_deg) > _FLAT:
            self._hold(self.standing)
        if self.steers and _span(self.cycle.steer_deg) > _FLAT:
            put(self, "drives", self._fitted_drives())
        self._refuse_out_of_reach()
        put(self, "start", self._fitted_start())

    def _hold(self, standing: Riding) -> None:
        """Change the rows from the hub's height to the height of `standing`."""
        put = object.__setattr__
        straight = Travel(
            linkage=self.linkage,
            cycle=replace(self.cycle, steer_deg=(0.0, 0.0)),
            title=self.title,
            steers=self.steers,
            toe_row=self.toe_row,
        )
        put(self, "straight", straight)
        put(self, "linkage", self.held)
        if self.toe_row is not None:
            put(self, "toe_row", held_at(self.toe_row, standing))
        span = self.cycle.bump_mm
        lifts = _settled(self._lifted, span)
        if lifts is None:
            raise SuspensionError(
                f"{self.title} does not follow its lower ball joint smoothly over {span[0]:g} to {span[1]:g} mm of"
                " travel: the linkage is all but locked at one end. Check the points, or reduce the travel."
            )
        lifts[0] -= chebyshev.chebval(_scaled(np.zeros(1), span), lifts)[0]
        put(self, "lifts", lifts)

    def _lifted(self, bump_mm: Array) -> Array:
        """How far `standing` rises at these bumps, straight ahead."""
        assert self.straight is not None
        assert self.standing is not None
        state = self.straight.states(np.stack([bump_mm, 0.0 * bump_mm, 0.0 * bump_mm], axis=1))
        lifted: Array = self.standing.at(state)[:, 2] - self.standing.point[2]
        return lifted

    def asked(self, positions: Array) -> Array:
        """(n, 3): what the rows are asked for at these positions."""
        if self.straight is None:
            return positions
        bump = positions[:, 0]
        least, greatest = self.cycle.bump_mm
        inside = bool(np.all((bump >= least) & (bump <= greatest)))
        lift = chebyshev.chebval(_scaled(bump, self.cycle.bump_mm), self.lifts) if inside else self._lifted(bump)
        return np.stack([lift, positions[:, 1], positions[:, 2]], axis=1)

    def states(self, positions: Array) -> State:
        """The assembled linkage at positions (n, 3).

        Raises SuspensionError for a position that it cannot reach.
        """
        begun = self._begun(positions)
        state, good = assembled(self.linkage, begun)
        good &= np.abs(state.origin - begun.origin).max(axis=(1, 2)) < _NEAR_MM
        if not good.all():
            # outside the box, or steeper than the start's polynomials follow: walk there
            walked, reached = self.walk(positions[~good])
            if not reached.all():
                raise self.locked(positions[~good][~reached][0])
            state.origin[~good], state.turn[~good] = walked.origin, walked.turn
        return state

    def body(self, positions: Array, which: int = 0) -> Pose:
        """Where one body has gone."""
        state = self.states(positions)
        return Pose(origin_mm=state.origin[:, which], turn=state.turn[:, which])

    def walk(self, positions: Array) -> tuple[State, Truth]:
        """Outward from ride height in short steps; the states reached, and which positions were."""
        reach = np.abs(positions) / np.array([STEP_MM, STEP_MM, STEP_DEG])
        steps = max(1, int(np.ceil(reach.max(initial=0.0))))
        state = self.linkage.ride_height(len(positions))
        good = np.ones(len(positions), dtype=bool)
        side = sense(self.linkage, state)
        drive, asked = self.drive_of(positions[:, 2]), self.asked(positions)
        for step in range(1, steps + 1):
            state.asked, state.drive = asked * (step / steps), drive * (step / steps)
            then, held = assembled(self.linkage, state)
            good &= held & (sense(self.linkage, then) == side)
            good &= _near(then, state)
            state = then
        for row in np.flatnonzero(~good)[:_MOST_RETRIED]:
            # short of a lock but steep: shorter steps may still get there
            part, reached = self.lock(positions[row])
            if part >= 1.0:
                state.origin[row], state.turn[row], good[row] = reached.origin[0], reached.turn[0], True
        return state, good

    def lock(self, position: Array) -> tuple[float, State]:
        """How far of the way from ride height to `position` the linkage goes, and its state there."""
        state = self.linkage.ride_height()
        side = sense(self.linkage, state)
        drive, asked = self.drive_of(position[None, 2]), self.asked(position[None])
        reach = np.abs(position) / np.array([STEP_MM, STEP_MM, STEP_DEG])
        step = 1.0 / max(1.0, float(np.ceil(reach.max())))
        part = 0.0
        for _ in range(_MOST_STEPS):
            if step <= _LEAST_PART or part >= 1.0:
                break
            further = min(1.0, part + step)
            state.asked, state.drive = further * asked, further * drive
            then, held = assembled(self.linkage, state)
            if held[0] and sense(self.linkage, then)[0] == side[0] and _near(then, state)[0]:
                part, state = further, then
            else:
                step /= 2.0
        state.asked, state.drive = part * asked, part * drive
        return part, state

    def locked(self, position: Array) -> SuspensionError:
        """The refusal of a position, with the travel at which the linkage locks and the rods that are pulled
        straight."""
        part, state = self.lock(position)
        at = part * position
        names, letters = self._guilty(state)
        if np.count_nonzero(position) == 1 and position[2] == 0.0:
            asked, locks = _travel(position), _travel(at)
            found = f"{self.title} cannot reach {asked}: the linkage locks at {locks}"
        else:
            found = f"{self.title} cannot reach {_words(position)} together: the linkage locks at {_words(at)}"
        pulled = "are pulled straight" if len(names) > 1 else "is pulled straight"
        return SuspensionError(
            f"{found} ({_and(names)} {pulled}). Check points {', '.join(letters)}, or reduce {_what(position)}.",
            key=_key(position),
        )

    def _guilty(self, state: State) -> tuple[list[str], list[str]]:
        rows = self.linkage.rows
        slopes = slopes_of(rows, state)[0, :, :-1]
        weights = np.abs(np.linalg.svd(slopes)[0][:, -1])
        each = [(row, float(np.abs(w).max())) for row, w in zip(rows, _split(weights, rows), strict=True)]
        named = [(row, w) for row, w in each if row.letters]
        most = max(w for _, w in named)
        guilty = sorted((pair for pair in named if pair[1] >= 0.4 * most), key=lambda pair: -pair[1])
        guilty = guilty[:_MOST_NAMED]
        letters = list(dict.fromkeys(letter for row, _ in guilty for letter in row.letters))
        return [row.name for row, _ in guilty], letters

    def drive_of(self, steer_deg: Array) -> Array:
        """How far the steering moves its point for these road-wheel angles at ride height, mm."""
        if not self.steers or not np.any(steer_deg):
            return np.zeros(len(steer_deg))
        least, greatest = self.cycle.steer_deg
        if len(self.drives) > 1 and steer_deg.min() >= least - 1e-9 and steer_deg.max() <= greatest + 1e-9:
            scaled = _scaled(steer_deg, self.cycle.steer_deg)
            return np.asarray(chebyshev.chebval(scaled, self.drives), dtype=float)
        return self._solved_drive(steer_deg)

    def steer_at(self, drive_mm: float) -> float:
        """The road-wheel angle at ride height when the steering has moved its point so far: `drive_of` turned round.

        Degrees to the left. Raises SuspensionError where the linkage locks before that.
        """
        linkage, row = self.held, self._road_angle
        state = linkage.ride_height()
        steps = max(1, int(np.ceil(abs(drive_mm) / STEP_DRIVE_MM)))
        for step in range(1, steps + 1):
            state.drive = np.array([drive_mm * step / steps])
            state, good = assembled(linkage, state)
            if not good[0]:
                raise SuspensionError(
                    f"{self.title}: the steering linkage locks before the rack has moved {drive_mm:g} mm; it stops near"
                    f" {drive_mm * (step - 1) / steps:.0f} mm. Check the tie rod's two points, or write a shorter rack"
                    " travel."
                )
        return row.toe_deg - float(toe_deg(state.turn[:, 0] @ row.spin)[0])

    @property
    def held(self) -> Linkage:
        """The linkage as it steers: with what keeps its height then at the height asked for."""
        return self.linkage if self.standing is None else held_at(self.linkage, self.standing)

    @property
    def _road_angle(self) -> RoadAngle:
        rows = () if self.toe_row is None else self.toe_row.rows
        for row in rows:
            if isinstance(row, RoadAngle):
                return row
        raise SuspensionError(f"{self.title} does not steer.")

    def _solved_drive(self, steer_deg: Array) -> Array:
        drive, reached = self._steered(steer_deg)
        if not reached.all():
            asked = float(steer_deg[~reached][0])
            raise SuspensionError(
                f"{self.title} cannot steer to {asked:g} deg: the steering linkage locks before it, near"
                f" {self._last_reached_deg(asked):.1f} deg. Check the tie rod's two points against the steering axis,"
                " or write a smaller lock angle."
            )
        return drive

    def _steered(self, steer_deg: Array) -> tuple[Array, npt.NDArray[np.bool_]]:
        """The drive (n,) that steers to each angle (n,), walked from straight ahead, and which of them it reaches."""
        if self.toe_row is None:
            raise SuspensionError(f"{self.title} does not steer.")
        steps = max(1, int(np.ceil(np.abs(steer_deg).max(initial=0.0) / STEP_DEG)))
        state = self.toe_row.ride_height(len(steer_deg))
        reached = np.ones(len(steer_deg), dtype=bool)
        for step in range(1, steps + 1):
            state.asked = np.zeros((len(steer_deg), 3))
            state.asked[:, 2] = steer_deg * (step / steps)
            state, reached = assembled(self.toe_row, state, with_drive=True)
            if not reached.all():
                break
        return state.drive, reached

    def _last_reached_deg(self, beyond_deg: float) -> float:
        """The last angle that the steering reaches on the way to one that it does not."""
        reached, not_reached = 0.0, beyond_deg
        while abs(not_reached - reached) > LOCK_WITHIN_DEG:
            middle = 0.5 * (reached + not_reached)
            if self._steered(np.array([middle]))[1].all():
                reached = middle
            else:
                not_reached = middle
        return reached

    def _fitted_drives(self) -> Array:
        # the locks first: a refusal names the angle that was asked for
        self._solved_drive(np.array(self.cycle.steer_deg))
        fitted = _settled(self._solved_drive, self.cycle.steer_deg)
        if fitted is None:
            raise self._all_but_locked()
        steer = np.linspace(*self.cycle.steer_deg, 129)
        moves = np.diff(chebyshev.chebval(_scaled(steer, self.cycle.steer_deg), fitted))
        back = np.sign(moves) != np.sign(moves[np.argmin(np.abs(steer[:-1]))])
        if back.any():
            first = float(steer[:-1][back][np.argmin(np.abs(steer[:-1][back]))])
            raise SuspensionError(
                f"{self.title} goes over centre near {first:.0f} deg of steer: there the tie rod stands in line"
                " with its"
                f" steering arm, and moving on would steer back. Check tie_inner and tie_outer, or write a smaller lock"
                f" angle."
            )
        # straight ahead the steering has not moved, to the last digit
        fitted[0] -= chebyshev.chebval(_scaled(np.zeros(1), self.cycle.steer_deg), fitted)[0]
        return fitted

    def _all_but_locked(self) -> SuspensionError:
        ends = np.array(self.cycle.steer_deg)
        inside = ends - np.sign(ends)
        moves = np.abs(self._solved_drive(ends) - self._solved_drive(inside))
        worst = int(np.argmax(moves))
        key = ("right", "left")[worst]
        return SuspensionError(
            f"{self.title} is all but locked at {abs(ends[worst]):g} deg to the {key}: there the steering moves"
            f" {moves[worst]:.0f} mm for the last degree of the wheel. Check tie_inner and tie_outer, or write a"
            " smaller lock angle.",
            key=key,
        )

    def _refuse_out_of_reach(self) -> None:
        """Walk to the ends of each number alone first: their refusals are the plainest."""
        box = self.cycle.box
        alone = [value * np.eye(3)[column] for column in range(3) for value in box[column]]
        limit = self.cycle.articulation_mm
        corners = np.array(np.meshgrid(*box, indexing="ij")).reshape(3, -1).T
        if limit is not None:
            corners = corners[np.abs(corners[:, 0] - corners[:, 1]) <= limit + 1e-9]
        for positions in (np.array(alone), corners):
            reached = self.walk(positions)[1] if len(positions) else np.ones(0, dtype=bool)
            if not reached.all():
                raise self.locked(positions[~reached][0])

    def _fitted_start(self) -> tuple[Array, ...]:
        degrees = [d if _span(r) > _FLAT else 0 for d, r in zip(_DEGREES, self._ranges, strict=True)]
        if not any(isinstance(row, Height) and row.column == 1 for row in self.linkage.rows):
            degrees[1] = 0
        axes = [_nodes(r, d) for d, r in zip(degrees, self._ranges, strict=True)]
        grid = np.array(np.meshgrid(*axes, indexing="ij")).reshape(3, -1).T
        state, good = self.walk(grid)
        if not good.all():
            raise self.locked(grid[~good][0])
        bodies = self.linkage.bodies
        values = np.concatenate([state.origin, vector_of(state.turn)], axis=2)
        values = values.reshape(*(d + 1 for d in degrees), 6 * bodies)
        for axis, (degree, span) in enumerate(zip(degrees, self._ranges, strict=True)):
            values = np.moveaxis(values, axis, 0)
            shape = values.shape
            flat = _fit(_scaled(axes[axis], span), values.reshape(shape[0], -1), degree)
            values = np.moveaxis(flat.reshape(shape), 0, axis)
        return (values,)

    @property
    def _ranges(self) -> tuple[tuple[float, float], ...]:
        return (self.cycle.bump_mm, self.cycle.other_bump_mm, self.cycle.steer_deg)

    def _begun(self, positions: Array) -> State:
        (values,) = self.start
        terms = [
            chebyshev.chebvander(_scaled(positions[:, axis], span), values.shape[axis] - 1)
            for axis, span in enumerate(self._ranges)
        ]
        # innermost first: the longest product is with the axis that has most terms left
        partial = np.tensordot(terms[0], values, axes=(1, 0))
        partial = np.einsum("nj,njkv->nkv", terms[1], partial)
        flat = np.einsum("nk,nkv->nv", terms[2], partial).reshape(len(positions), self.linkage.bodies, 6)
        return State(
            origin=flat[..., :3],
            turn=turn_by(flat[..., 3:]),
            asked=self.asked(positions),
            drive=self.drive_of(positions[:, 2]),
        )


def held_at(linkage: Linkage, standing: Riding) -> Linkage:
    """The linkage with `standing` at the height asked for, and not the hub."""
    rows = tuple(replace(row, point=standing) if isinstance(row, Height) else row for row in linkage.rows)
    return replace(linkage, rows=rows)


def _settled(solved: Callable[[Array], Array], span: tuple[float, float]) -> Array | None:
    """The series that keeps to what is solved, also between its nodes; None where no degree does."""
    if _span(span) <= _FLAT:
        return solved(_nodes(span, 0))
    for degree in _FIT_DEGREES:
        nodes = _nodes(span, degree)
        fitted = _fit(_scaled(nodes, span), solved(nodes), degree)
        # the ends are between the nodes too, and the worst of them
        between = _scaled(np.concatenate([span, (nodes[1:] + nodes[:-1]) / 2.0]), span)
        held = solved(np.concatenate([span, (nodes[1:] + nodes[:-1]) / 2.0]))
        if np.abs(chebyshev.chebval(between, fitted) - held).max() <= _FIT_WITHIN_MM:
            return fitted
    return None


def _fit(scaled: Array, values: Array, degree: int) -> Array:
    return np.asarray(chebyshev.chebfit(scaled, values, degree), dtype=float)


def left_over(travel: Travel, positions: Array) -> Array:
    """(n,): the largest residual of the exact rows, mm; an audit of the answers."""
    state = travel.states(positions)
    residual: Array = np.abs(values_of(travel.linkage.exact, state)).max(axis=1)
    return residual


def _span(ends: tuple[float, float]) -> float:
    return ends[1] - ends[0]


def _scaled(values: Array, ends: tuple[float, float]) -> Array:
    middle, half = 0.5 * (ends[0] + ends[1]), 0.5 * (ends[1] - ends[0])
    if half <= _FLAT:
        return np.zeros(len(values))
    # beyond the box a polynomial runs away; its end is a better start
    return np.clip((values - middle) / half, -1.0, 1.0)


def _nodes(ends: tuple[float, float], degree: int) -> Array:
    if degree == 0:
        return np.array([0.5 * (ends[0] + ends[1])])
    half, middle = 0.5 * _span(ends), 0.5 * (ends[0] + ends[1])
    nodes: Array = middle + half * np.cos(np.pi * (np.arange(degree + 1) + 0.5) / (degree + 1))
    return nodes


def _split(weights: Array, rows: tuple[object, ...]) -> list[Array]:
    counts = [getattr(row, "count") for row in rows]  # noqa: B009 - rows are a protocol
    return np.split(weights, np.cumsum(counts)[:-1])


def _travel(position: Array) -> str:
    value = float(position[np.argmax(np.abs(position))])
    whose = " at the other wheel" if position[1] else ""
    return f"{value:.1f} mm{whose}"


def _words(position: Array) -> str:
    bump, other, steer = (float(v) for v in position)
    parts = [f"bump {bump:.1f} mm"]
    if other:
        parts.append(f"the other wheel's bump {other:.1f} mm")
    if steer:
        parts.append(f"steer {steer:.1f} deg")
    return " and ".join(parts) if len(parts) < 3 else f"{parts[0]}, {parts[1]} and {parts[2]}"


def _what(position: Array) -> str:
    words = []
    if position[0]:
        words.append("bump" if position[0] > 0 else "droop")
    if position[1]:
        words.append("the other wheel's bump" if position[1] > 0 else "the other wheel's droop")
    if position[2]:
        words.append("the lock angle")
    return " or ".join(words) or "nothing"


def _near(then: State, before: State) -> Truth:
    """(n,): which states went no further in one step than a linkage that keeps its assembly does."""
    near: Truth = np.abs(then.origin - before.origin).max(axis=(1, 2)) < 5.0 * STEP_MM
    return near


def _key(position: Array) -> str:
    """The corner file's word for the number that is out of reach."""
    for column, (below, above) in enumerate((("droop", "bump"), ("other_droop", "other_bump"), ("right", "left"))):
        if position[column]:
            return below if position[column] < 0 else above
    return ""


def _and(names: list[str]) -> str:
    return names[0] if len(names) == 1 else ", ".join(names[:-1]) + " and " + names[-1]
