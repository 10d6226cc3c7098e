"""Where a spare gap runs out: searches along one number, on the steps that it can be set in.

A spare is a function of one number x on a fine lattice, x = step, 2 steps, ...: what is left of the required gap there,
not negative where it clears. Each call is a whole certified measurement, so the searches are sparing with them. Nothing
here takes the spare for monotone: an edge is a place that clears beside a place that does not, both measured.
"""

from __future__ import annotations

from collections.abc import Callable

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
    spare: Measured, inside: int, limit: int, *, guess: float | None = None, looks: int = 8
) -> tuple[int, bool]:
    """Walk from a step that clears towards a limit: the last step before the first that was found not to clear.

    The spare changes by no more than one millimetre for each of the number's (a shift of the wheel, or of a part, does
    no more), so a spare of 7 mm lets 7 mm be stepped over with proof. Where that takes more than `looks` strides, the
    walk leaps to the guess if it clears: the stretch in between then rests on whatever made the guess. Gives the step,
    and whether the limit itself was reached.
    """
    way = 1 if limit >= inside else -1
    guessed = None if guess is None else spare.index(guess)
    at = inside
    while at != limit:
        room = spare.at(at).low
        stride = max(1, int(room / spare.step)) if room != float("inf") else abs(limit - at)
        ahead = at + way * min(stride, abs(limit - at))
        if looks <= 0:
            ahead = _leap(spare, at, ahead, limit, guessed)
        looks -= 1
        if not spare.clears(ahead):
            return edge(spare, at, ahead), False
        at = ahead
    return at, True


def _leap(spare: Measured, at: int, ahead: int, limit: int, guessed: int | None) -> int:
    way = 1 if limit >= at else -1
    if guessed is not None and (guessed - ahead) * way > 0 and (limit - guessed) * way >= 0 and spare.clears(guessed):
        return guessed
    # Past the guess and still clear: twenty steps at a time, and the edge is closed in between two of them.
    return at + way * min(max(20, abs(ahead - at)), abs(limit - at))


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
