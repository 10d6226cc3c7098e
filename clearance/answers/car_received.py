"""The wheels of a car as they came: one word for each, and which wheel goes to which corner.

Every wheel is held against its order; then every wheel that may stay and whose backspace and width were read is put on
every corner that its kind is for, and what it surely has left there is found as for one corner (`received.py`). They
are placed so that the tightest corner has as much as it can (`placed.py`). A wheel is kept at the corner that it goes
to, where nothing else is open of it.

* stand - one wheel at one corner
* kind  - wheels that were ordered alike; they go to the corners of their kind alone

The certified measurements are one for each corner as ordered, and one for each corner and backspace that was read.
Lengths are millimetres.
"""

from __future__ import annotations

import sys
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from clearance.answers.checked import Progress, silent
from clearance.answers.placed import best_placing, least_mm
from clearance.answers.received import (
    CornerRoom,
    Left,
    Measure,
    Reach,
    for_want_of_room,
    kept_words,
    reach_of,
    short_words,
    step,
)
from clearance.answers.wheel_kinds import WheelKind, wheel_kinds
from clearance.beside import in_order
from clearance.errors import WheelError
from clearance.gap.cycle import over_cycle
from clearance.plain import echoed
from clearance.wheel.decided import KEEP, NOT_TOLD, RETURN, WORST_FIRST, Decision, by_the_order, deciding
from clearance.wheel.inspection import UNREAD, Check, Inspection, Measured, cautions
from clearance.wheel.inspection import inspect as held_against_order
from clearance.wheel.to_seller import Letter, letter

if TYPE_CHECKING:
    from clearance.mockup.car import Car

PLACED_BY = ("backspace", "bead seat width")
"""What must have been read of a wheel before anything can be said of where it goes."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Stand:
    """One wheel at one corner, at the worst that its readings hide."""

    wheel: str
    corner: str
    left: Left
    told: bool
    """Whether the corner is told to clear with the wheel as ordered; where it is not, no reading can say keep."""

    @property
    def clears(self) -> bool:
        """Whether it surely clears there."""
        return self.told and self.left.room_mm >= 0.0


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class KindReceived:
    """The wheels of one kind."""

    kind: WheelKind
    found: Inspection
    wheels: tuple[Decision, ...]
    stands: tuple[Stand, ...]
    """Every wheel that was placed or could not be, at every corner."""
    placing: Mapping[str, str]
    """Wheel: the corner that it goes to."""
    to_seller: tuple[Letter, ...]

    @property
    def free(self) -> tuple[str, ...]:
        """The corners that have no wheel yet."""
        return tuple(name for name in self.kind.corner_names if name not in self.placing.values())

    @property
    def least_mm(self) -> float:
        """What the tightest wheel has left as they are placed; infinite where none is."""
        return least_mm(self.placing, rooms_of(self.stands))

    @property
    def least_any_mm(self) -> float:
        """The same of these wheels however they are placed."""
        return min((one.left.room_mm for one in self.stands if one.wheel in self.placing), default=self.least_mm)

    def stand(self, wheel: str) -> Stand | None:
        """A wheel where it goes; None where it goes nowhere."""
        at = self.placing.get(wheel)
        return next((one for one in self.stands if (one.wheel, one.corner) == (wheel, at)), None)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class CarReceived:
    """The wheels of the car, kind by kind."""

    kinds: tuple[KindReceived, ...]

    @property
    def verdict(self) -> str:
        """The worst of all wheels; what was not read at all is not told."""
        verdicts = [one.verdict for kind in self.kinds for one in kind.wheels]
        verdicts += [NOT_TOLD] * any(kind.found.lacking for kind in self.kinds)
        return min(verdicts, key=WORST_FIRST.index)

    @property
    def cautions(self) -> tuple[str, ...]:
        """What to know before a tire is mounted, once."""
        return tuple(dict.fromkeys(caution for kind in self.kinds for caution in kind.found.cautions))


def rooms_of(stands: Sequence[Stand]) -> dict[str, dict[str, float]]:
    """Wheel: corner: what is left there; below zero where the corner is told to clear with no wheel."""
    found: dict[str, dict[str, float]] = {}
    for one in stands:
        found.setdefault(one.wheel, {})[one.corner] = one.left.room_mm if one.told else min(one.left.room_mm, -1.0)
    return found


def car_received(
    car: Car,
    wheels: Sequence[Measured],
    *,
    measure: Measure = over_cycle,
    processes: int = 1,
    progress: Progress = silent,
) -> CarReceived:
    """One word for each wheel, and where it goes. `measure` gives the gaps of a mock-up.

    Raises WheelError for a wheel that was not ordered, more of a kind than were, or two of one name.
    """
    kinds = wheel_kinds(car)
    _refuse_one_name(wheels)
    sorted_out = _by_kind(kinds, wheels)
    held = [_Held.of(kind, mine, measure) for kind, mine in zip(kinds, sorted_out, strict=True)]
    _measure(held, measure, processes, progress)
    return CarReceived(kinds=tuple(one.answered(car.title) for one in held))


def nothing_received(car: Car) -> CarReceived:
    """Before any wheel was read."""
    return CarReceived(
        kinds=tuple(
            KindReceived(kind=kind, found=_not_read(kind), wheels=(), stands=(), placing={}, to_seller=())
            for kind in wheel_kinds(car)
        )
    )


def _not_read(kind: WheelKind) -> Inspection:
    order = kind.order
    return Inspection(wheels=(), checks=(), lacking=order.quantity, remarks=(), cautions=cautions(order))


# ---- whose wheel is whose


def _refuse_one_name(wheels: Sequence[Measured]) -> None:
    if not wheels:
        raise WheelError("no wheel was measured. Write at least one [[wheel]] with its name and readings.")
    seen: dict[str, int] = {}
    for number, wheel in enumerate(wheels, start=1):
        name = " ".join(wheel.name.lower().split())
        if name in seen:
            raise WheelError(
                f"the box {echoed(wheel.name)} stands twice: it is wheel {seen[name]} of those that were read, and"
                f" wheel {number}. Keep the row that is right, or give each box its own name."
            )
        seen[name] = number


def _by_kind(kinds: Sequence[WheelKind], wheels: Sequence[Measured]) -> list[list[Measured]]:
    """The wheels of each kind, in its order."""
    found: list[list[Measured]] = [[] for _ in kinds]
    for wheel in wheels:
        found[_which(kinds, wheel)].append(wheel)
    for kind, mine in zip(kinds, found, strict=True):
        if len(mine) > len(kind.corners):
            surplus = mine[len(kind.corners)]
            raise WheelError(
                f"the box {echoed(surplus.name)} is not of this order: {len(kind.corners)}"
                f"{f' {kind.name}' if kind.name else ''} wheels were ordered, for {', '.join(kind.corner_names)}, and"
                f" {len(mine)} were read. Take out what is not of it."
            )
    return found


def _which(kinds: Sequence[WheelKind], wheel: Measured) -> int:
    """The kind that a wheel's name begins with; the longest where several serve."""
    words = wheel.name.lower().split()
    fitting = [n for n, kind in enumerate(kinds) if words[: len(kind.name.split())] == kind.name.split()]
    if not fitting:
        boxes = ", ".join(box for kind in kinds for box in kind.boxes)
        begun = " or ".join(f'"{kind.name}"' for kind in kinds)
        raise WheelError(
            f"the box {echoed(wheel.name)} is not of this order, whose boxes are {boxes}. Begin its name with {begun}."
        )
    return max(fitting, key=lambda n: len(kinds[n].name.split()))


# ---- one kind


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Held:
    """The wheels of one kind, held against their order."""

    kind: WheelKind
    found: Inspection
    ordered: Mapping[str, Decision | None]
    """What order and readings decide of each; None where it rests with the corners."""
    reaches: Mapping[str, Reach]
    """Of the wheels that can be placed."""
    corners: Mapping[str, CornerRoom]

    @classmethod
    def of(cls, kind: WheelKind, wheels: Sequence[Measured], measure: Measure) -> _Held:
        found = held_against_order(kind.order, wheels) if wheels else _not_read(kind)
        ordered = {name: by_the_order(name, found.of(name)) for name in found.wheels}
        placed = [name for name, one in ordered.items() if _may_stay(one) and _read(found.of(name))]
        return cls(
            kind=kind,
            found=found,
            ordered=ordered,
            reaches={name: reach_of(found.of(name)) for name in placed},
            corners={corner.corner: CornerRoom(corner, measure) for corner in kind.corners},
        )

    def steps_mm(self) -> list[float]:
        """The changes of backspace that every corner is measured at."""
        return list(dict.fromkeys([0.0, *(step(reach.middle_mm) for reach in self.reaches.values())]))

    def answered(self, title: str) -> KindReceived:
        """Where each wheel goes, and what becomes of it."""
        stands = self._stands()
        sure = [name for name in self.reaches if self.ordered[name] is None]
        placing = best_placing(rooms_of(stands), sure=sure)
        wheels = tuple(self._decided(name, stands, placing) for name in self.found.wheels)
        return KindReceived(
            kind=self.kind,
            found=self.found,
            wheels=wheels,
            stands=tuple(stands),
            placing=placing,
            to_seller=tuple(
                letter(one.wheel, self.found.of(one.wheel), title=title) for one in wheels if one.verdict == RETURN
            ),
        )

    def _stands(self) -> list[Stand]:
        return [
            Stand(wheel=wheel, corner=name, left=corner.left(reach), told=corner.ordered().room_mm >= 0.0)
            for wheel, reach in self.reaches.items()
            for name, corner in self.corners.items()
        ]

    def _decided(self, name: str, stands: Sequence[Stand], placing: Mapping[str, str]) -> Decision:
        ordered = self.ordered[name]
        if ordered is not None:
            return ordered
        mine = [stand for stand in stands if stand.wheel == name]
        if name in placing:
            check, left = deciding(self.found.of(name)), next(s.left for s in mine if s.corner == placing[name])
            return Decision(wheel=name, verdict=KEEP, decided_by=check.item, why=kept_words(check, left))
        return self._nowhere(name, mine, placing)

    def _nowhere(self, name: str, mine: Sequence[Stand], placing: Mapping[str, str]) -> Decision:
        """Of a wheel that is as ordered, as far as was read, and goes on no corner."""
        told = [stand for stand in mine if stand.told]
        if not told:
            best = max(mine, key=lambda stand: self.corners[stand.corner].ordered().room_mm)
            short = self.corners[best.corner].ordered()
            words = (
                "its numbers are as ordered, but with the wheel as ordered no corner that it is for is told to clear:"
                f" at the {_plainly(best.corner)} {short_words(short)}. See `clearance check`"
            )
            return Decision(wheel=name, verdict=NOT_TOLD, decided_by=short.part, why=words)
        best = max(told, key=lambda stand: stand.left.room_mm)
        if best.clears:
            others = [wheel for wheel, corner in placing.items() if corner == best.corner]
            words = (
                f"it clears at the {_plainly(best.corner)} alone, which goes to {', '.join(others)}: as they were read"
                " they cannot all be used"
            )
            return Decision(wheel=name, verdict=NOT_TOLD, decided_by=best.left.part, why=words)
        corner = self.corners[best.corner]
        decision = for_want_of_room(name, self.found.of(name), corner, best.left)
        where = "" if len(mine) == 1 else f"even at the {_plainly(best.corner)}, where it has most room, "
        return replace(decision, why=f"{where}{decision.why}")


def _may_stay(decision: Decision | None) -> bool:
    return decision is None or decision.verdict != RETURN


def _read(checks: Sequence[Check]) -> bool:
    """Whether enough of a wheel was read to say where it goes."""
    unread = {check.item for check in checks if check.finding == UNREAD}
    return not unread.intersection(PLACED_BY)


def _plainly(corner: str) -> str:
    return corner.replace("-", " ")


# ---- measured


def _asked(held: Sequence[_Held]) -> list[tuple[CornerRoom, float]]:
    """Every corner with every step from its order that was read."""
    return [
        (corner, more_mm)
        for one in held
        if one.reaches
        for corner in one.corners.values()
        for more_mm in one.steps_mm()
    ]


def _measure(held: Sequence[_Held], measure: Measure, processes: int, progress: Progress) -> None:
    """Every corner at every backspace that was read, in several processes where it can be."""
    asked = _asked(held)
    mockups = [(corner.mockup_at(more_mm),) for corner, more_mm in asked]
    many = processes > 1 and len(mockups) > 1 and sys.platform.startswith("linux")
    made = in_order(measure, mockups, processes) if many else (measure(*one) for one in mockups)
    for done, (corner, more_mm) in enumerate(asked):
        progress(done, len(asked), f"measuring the {_plainly(corner.mockup.corner)} with each wheel as it was read")
        corner.learn(more_mm, next(made))
