"""Where a spare gap runs out: searches along one number, on the steps that it can be set in.

A spare is a function of one number x on a fine lattice, x = step, 2 steps, ...: what is left of the required gap there,
not negative where it clears. Each call is a whole certified measurement, so the searches are sparing with them. Nothing
here takes the spare for monotone: an edge is a place that clears beside a place that does not, both measured.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence

from clearance.answers.checked import Spare


class Measured:
    """A spare that is measured once for every step of its lattice."""

    def __init__(self, spare: Callable[[float], Spare], step: float) -> None:
        self._spare = spare
        self.step = step
        self.known: dict[int, Spare] = {}

    def at(self, index: int) -> Spare:
        """The spare at `index` steps."""
        if index not in self.known:
            self.known[index] = self._spare(self.value(index))
        return self.known[index]

    def value(self, index: int) -> float:
        """The number itself, free of the last digits of a product."""
        return round(index * self.step, 9)

    def index(self, value: float) -> int:
        """The nearest step to a value."""
        return round(value / self.step)

    def clears(self, index: int) -> bool:
        """Is there anything to spare, or nothing missing?"""
        return self.at(index).clears


def edge(spare: Measured, inside: int, outside: int, *, guess: float | None = None) -> int:
    """The last step that clears, between one that does and one that does not; the step beside it does not.

    False position with its weak side nudged across the root, and halving whenever that is slow: the spare is almost
    straight near its edge, so four or five measurements usually do.
    """
    low, high = inside, outside
    start = None if guess is None else spare.index(guess)
    slow = 0
    while abs(high - low) > 1:
        width = abs(high - low)
        at = _between(low, high, _next(spare, low, high, start, slow))
        start = None
        if spare.clears(at):
            low = at
        else:
            high = at
        slow = slow + 1 if abs(high - low) > width / 2 else 0
    return low


def _next(spare: Measured, low: int, high: int, start: int | None, slow: int) -> int:
    if start is not None:
        return start
    if slow >= 3:
        return (low + high) // 2
    f_low, f_high = spare.at(low).number, spare.at(high).number
    if f_low == float("inf") or f_high == float("-inf") or f_low <= f_high:
        return (low + high) // 2
    root = low + (high - low) * f_low / (f_low - f_high)
    # Aim just across the root from whichever end is near, so that the far end is the one that moves.
    toward_high = abs(root - low) < abs(high - root)
    away = 1 if high > low else -1
    return round(root + away * (0.6 if toward_high else -0.6))


def _between(low: int, high: int, at: int) -> int:
    least, most = min(low, high) + 1, max(low, high) - 1
    return max(least, min(most, at))


def outermost(
    spare: Measured,
    inside: int,
    limit: int,
    *,
    guess: float | None = None,
    open_between: Callable[[int, int], int | None] | None = None,
    looks: int = 8,
) -> tuple[int, bool]:
    """From a step that clears towards a limit: the last step before the first that was found not to clear, and whether
    the limit itself was reached.

    An edge is looked for about the guess first. Then what lies between is proven, or looked at where it is not:
    `open_between` gives a step between two at which it may not clear, or None where there is none. Where that takes
    more than so many `looks`, the rest of what lies between rests on whatever made the guess.
    """
    open_between = open_between or (
        lambda one, other: open_by_nearness([spare.at(at).low for at in (one, other)], spare.step, one, other)
    )
    at, free = _first_edge(spare, inside, limit, guess)
    # the nearest stretch is always the last of them
    open_stretches = [(inside, at)]
    while open_stretches and looks > 0:
        one, other = open_stretches.pop()
        middle = open_between(one, other)
        if middle is None:
            continue
        looks -= 1
        if spare.clears(middle):
            open_stretches += [(middle, other), (one, middle)]
        else:
            at, free = edge(spare, one, middle), False
            open_stretches = [(one, at)]
    return at, free


def open_by_nearness(low: Sequence[float], step: float, one: int, other: int) -> int | None:
    """A step between two at which it may not clear; None where there is none. `low` is what is spare at the two.

    The spare changes by no more than one millimetre for each of the number's (a shift of the wheel, or of a part, does
    no more), so a spare of 7 mm proves 7 mm to either side.
    """
    apart, (here, there) = abs(other - one), (each / step for each in low)
    if apart <= 1 or here + there >= apart - 1:
        return None
    way = 1 if other > one else -1
    return one + way * _between(0, apart, round((here + apart - there) / 2.0))


def _first_edge(spare: Measured, inside: int, limit: int, guess: float | None) -> tuple[int, bool]:
    """An edge between a step that clears and the limit, beginning at the guess; or the limit, where all seen clear."""
    way = 1 if limit >= inside else -1
    reach = abs(limit - inside)
    ahead = reach if guess is None else max(1, min(reach, (spare.index(guess) - inside) * way))
    known = 0
    while known < reach:
        if not spare.clears(inside + way * ahead):
            return edge(spare, inside + way * known, inside + way * ahead), False
        # past the guess and still clear: twenty steps at a time, and further each time
        known, ahead = ahead, min(reach, ahead + max(20, ahead // 4))
    return limit, True


def least_that_clears(spare: Measured, limit: int) -> int | None:
    """The least step, from zero up, that clears, for a spare that only grows; None where the limit does not.

    What only grows: giving up travel or lock, since a shorter cycle lies within the longer one.
    """
    if spare.clears(0):
        return 0
    if not spare.clears(limit):
        return None
    # `edge` walks from what clears to what does not
    return edge(spare, limit, 0)


def first_that_clears(spare: Measured, limit: int) -> int | None:
    """The least step, from zero up, that clears, for a spare that changes by no more than the number does.

    A shortfall of 5 mm cannot be made good in less than 5 mm, so everything before is passed over with proof. Near the
    edge a slanting part makes each stride shorter; the secant then leaps ahead, and the edge is closed in from both
    sides.
    """
    at = 0
    before: int | None = None
    while not spare.clears(at):
        # what was found is never less than the truth, so this much at least is missing
        missing = -spare.at(at).high
        stride = max(1, int(missing / spare.step)) if missing != float("inf") else max(1, limit // 16)
        leap = stride
        if before is not None and spare.at(at).number > spare.at(before).number:
            slope = (spare.at(at).number - spare.at(before).number) / (at - before)
            leap = max(stride, int(missing / slope) + 1)
        if at >= limit:
            return None
        ahead = min(at + leap, limit)
        if spare.clears(ahead):
            return edge(spare, ahead, at)
        before, at = at, ahead
    return at
