"""What can be turned on an axle: knobs of both of its sides at once, of one side alone, and of where it stands.

* shared - the wheel on it, a spacer under it, ride height, a steering stop: what one side has the other has too, by as
           much. Of a beam axle its bump stops as well; a stop on one side of a beam is met by both wheels
* own    - a lip, camber, the bump stop of a wheel that moves by itself: one side, the other, or both by as much
* across - a beam axle moved across the car: one wheel goes out by what the other goes in

A knob of an axle is a `Knob`; at each corner that it changes it is that corner's own knob, by the same amount.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from clearance.answers.changed import with_axle_moved
from clearance.answers.knobs import ACROSS, Knob, Numbers, at_number, knobs_of
from clearance.answers.known import AS_IT_IS, Turned
from clearance.defaults import STEP_MM
from clearance.suspension.kinds import KINDS
from clearance.terms import Sold, Steps
from clearance.units import both

if TYPE_CHECKING:
    from clearance.mockup.mockup import MockUp

Sides = Mapping[str, "MockUp"]
"""The corners of one axle by their names, left first."""

_SAME = 1e-6
_WHEEL = ("less backspace", "more backspace")
_ALWAYS_SHARED = ("ride height", "steering stop")
"""One spring higher tilts the car, and a rack turns both wheels."""


@dataclass(frozen=True, slots=True, kw_only=True)
class AxleKnob(Knob):
    """A knob of one or two sides of an axle."""

    own: Mapping[str, Knob]
    """What it is at each corner that it changes, by the same amount."""


def own_of(turned: Turned, corner: str) -> Turned:
    """What some knobs of an axle are at one of its corners."""
    return tuple(
        (knob.own[corner], amount) for knob, amount in turned if isinstance(knob, AxleKnob) and corner in knob.own
    )


def is_beam(corner: MockUp) -> bool:
    """Whether both wheels of the axle are on one beam, as far as the corner's motion says: see docs/cars.md."""
    suspension = corner.suspension
    kind = KINDS.get(suspension.kind)
    steers = suspension.cycle.steer_deg != (0.0, 0.0)
    return kind is not None and (kind.live_axle or (kind.name == "straight" and not steers))


def axle_knobs(sides: Sides, failing: Mapping[str, tuple[str, ...]], *, each_side: bool = False) -> tuple[Knob, ...]:
    """Every knob that [limits] leaves open at these corners, in the order in which a shop would try them.

    `failing` are the parts of each that do not clear; with `each_side` a spacer may differ from side to side.
    """
    beam = all(is_beam(corner) for corner in sides.values())
    open_to = {*_WHEEL} if _same_wheel(sides) else set()
    open_to |= ({"bump stop"} if beam else set()) | (set() if each_side else {"spacer"})
    knobs: list[Knob] = []
    for name, own in _by_name(sides, failing).items():
        shared = name in open_to or name.startswith(_ALWAYS_SHARED)
        knobs += _shared(own, sides) if shared else _apart(own, sides)
    if beam and len(sides) == 2:
        knobs += _across(sides)
    return tuple(knob for knob in knobs if knob.limit >= knob.step)


def _by_name(sides: Sides, failing: Mapping[str, tuple[str, ...]]) -> dict[str, dict[str, Knob]]:
    """Each knob by its name at the corners that offer it."""
    found: dict[str, dict[str, Knob]] = {}
    for name, corner in sides.items():
        for knob in knobs_of(corner, corner.terms.limits, corner.terms.sold, failing[name]):
            found.setdefault(knob.name, {})[name] = knob
    return found


def _same_wheel(sides: Sides) -> bool:
    first, *others = (corner.wheel for corner in sides.values())
    return all(
        abs(first.offset_mm - other.offset_mm) < _SAME and abs(first.overall_width_mm - other.overall_width_mm) < _SAME
        for other in others
    )


def _shared(own: Mapping[str, Knob], sides: Sides) -> Sequence[Knob]:
    """One knob for all sides; none where a side does not offer it."""
    return [_joined(own, next(iter(own.values())).name, sides)] if len(own) == len(sides) else []


def _apart(own: Mapping[str, Knob], sides: Sides) -> Sequence[Knob]:
    """A knob for each side that offers it, and one for both."""
    if len(sides) == 1:
        return _shared(own, sides)
    names = {corner: f"{knob.name}, {corner}" for corner, knob in own.items()}
    knobs = [_joined({corner: knob}, names[corner], sides) for corner, knob in own.items()]
    if len(own) == 2:
        whole = _joined(own, f"{next(iter(own.values())).name}, both sides", sides)
        knobs.append(replace(whole, also=tuple(names.values())))
    return knobs


def _joined(own: Mapping[str, Knob], name: str, sides: Sides) -> AxleKnob:
    """These corners' knobs as one, turned by the same amount at each."""
    knobs = tuple(own.values())
    first, limit = knobs[0], min(knob.limit for knob in knobs)

    def apply(corner: MockUp, amount: float) -> MockUp:
        return own[corner.corner].apply(corner, amount) if corner.corner in own else corner

    def share(amount: float) -> float:
        return sum(knob.share(amount) for knob in knobs) / len(sides)

    return AxleKnob(
        name=name,
        unit=first.unit,
        apply=apply,
        limit=limit,
        step=first.step,
        sold=Steps(sizes=_sold_at_all(knobs, limit)),
        cost=_cost(own, one_side=len(own) < len(sides)),
        key=first.key,
        takes=frozenset(f"{one} {corner}" for corner, knob in own.items() for one in knob.takes),
        state=_states({corner: own[corner].state for corner in own}, sides),
        portion=len(own) / len(sides),
        also=first.also,
        only_grows=first.only_grows,
        mm_per_unit=max(knob.mm_per_unit for knob in knobs),
        share=share,
        said=first.said,
        own=own,
    )


def _sold_at_all(knobs: Sequence[Knob], limit: float) -> tuple[float, ...]:
    first, *others = knobs
    return tuple(
        amount
        for amount in first.offered
        if amount <= limit + _SAME and all(any(abs(amount - one) < _SAME for one in o.offered) for o in others)
    )


def _states(of: Mapping[str, Callable[[float], Numbers]], sides: Sides) -> Callable[[float], Numbers]:
    """The states of all sides, one after the other."""

    def state(amount: float) -> Numbers:
        return tuple(value for corner in sides for value in (of[corner](amount) if corner in of else AS_IT_IS))

    return state


def _cost(own: Mapping[str, Knob], *, one_side: bool) -> Callable[[float], str]:
    def words(amount: float) -> str:
        said = {
            corner: (knob.cost_on_one_side if one_side and knob.cost_on_one_side else knob.cost)(amount)
            for corner, knob in own.items()
        }
        if len(set(said.values())) == 1:
            return next(iter(said.values()))
        return "; ".join(f"{corner}: {text}" for corner, text in said.items())

    return words


# ---- the axle across the car


def _across(sides: Sides) -> Sequence[Knob]:
    limits = [corner.terms.limits.axle_across_mm for corner in sides.values()]
    if None in limits:
        return []
    most = min(mm for mm in limits if mm is not None)
    return [_moved(sides, way, most) for way in ("left", "right")]


def _moved(sides: Sides, way: str, most_mm: float) -> AxleKnob:
    own = {
        corner: _one_side_moved(1.0 if corner.endswith(way) else -1.0, most_mm, mockup.terms.sold)
        for corner, mockup in sides.items()
    }
    return replace(_joined(own, f"axle to the {way}", sides), takes=frozenset({"across"}))


def _one_side_moved(sign: float, most_mm: float, sold: Sold) -> Knob:
    return Knob(
        name="axle across",
        unit="mm",
        apply=lambda corner, x: with_axle_moved(corner, outboard_mm=sign * x),
        limit=most_mm,
        step=STEP_MM,
        sold=sold.axle_across_mm,
        cost=lambda x: (
            f"the axle {both(x)} across the car, by shims, its track bar or its spring perches; look at driveshaft,"
            " brake hoses and exhaust"
        ),
        key="axle_across",
        takes=frozenset({"across"}),
        state=lambda x: at_number(ACROSS, sign * x),
    )
