"""Other clearances of the same tire: load states, chains, the spare in its well, duals, the body's cover.

* load state - a named height of the body over the ride height that was measured: how much room is left there lock to
               lock, and how much travel to the stop
* chains     - the tire with room for chains all round (SAE J1232 classes) taken through the cycle: it must not touch
* spare well - a round well that the wheel lies in: room at the rim of the well, floor and lid
* duals      - two tires side by side, new and bulged by the load
* cover      - a rule about the body over the tire between two angles from straight up, user-edited, with its source

Lengths are millimetres, angles degrees.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from clearance.answers.changed import with_cycle, with_tire
from clearance.answers.checked import binding, gaps_of, spare_mm
from clearance.errors import InputError
from clearance.gap.found import Gap
from clearance.pose import Array
from clearance.steady import steady
from clearance.terms import Chains, Coverage, Duals, SpareWell

if TYPE_CHECKING:
    from clearance.mockup.mockup import MockUp


NOTHING = (
    "nothing to answer: the corner file has none of [load_states], [chains], [spare_well], [duals], [coverage]."
    ' Write one, for example [load_states] with laden = "-35 mm".'
)
"""What to say of a corner that has none of what these questions are about."""


@dataclass(frozen=True, slots=True, kw_only=True)
class LoadState:
    """The car standing at one height."""

    name: str
    height_mm: float
    """Of the body, over the ride height that was measured."""
    bump_mm: float
    """Where the wheel then stands in its travel."""
    travel_left_mm: float
    """Up to the bump stop."""
    on_stop: bool
    """So low that the stop is reached standing: the gaps are those at the stop."""
    gaps: tuple[Gap, ...]
    """Standing there, lock to lock."""


@steady
def load_states(mockup: MockUp, heights_mm: Mapping[str, float]) -> tuple[LoadState, ...]:
    """The gaps standing at each named height, lock to lock, certified."""
    return tuple(_standing(mockup, name, height) for name, height in heights_mm.items())


def _standing(mockup: MockUp, name: str, height_mm: float) -> LoadState:
    cycle = mockup.suspension.cycle
    least, most = cycle.bump_mm
    # A body that sits lower has its wheels further up.
    at = min(max(-height_mm, least), most)
    other = min(max(at, cycle.other_bump_mm[0]), cycle.other_bump_mm[1])
    stood = with_cycle(mockup, replace(cycle, bump_mm=(at, at), other_bump_mm=(other, other), articulation_mm=None))
    return LoadState(
        name=name,
        height_mm=height_mm,
        bump_mm=at,
        travel_left_mm=most - at,
        on_stop=-height_mm >= most,
        gaps=gaps_of(stood),
    )


@steady
def with_chains(mockup: MockUp, chains: Chains) -> tuple[Gap, ...]:
    """The gaps of the tire with chains on, over the whole cycle, each to be zero or more: the room is all they need."""
    tire = replace(mockup.tire, chain_tread_mm=chains.tread_mm, chain_side_mm=chains.side_mm)
    bare = tuple(
        replace(part, required_mm=0.0, required_from="chains need their own room only") for part in mockup.parts
    )
    return gaps_of(with_tire(replace(mockup, parts=bare), tire))


@dataclass(frozen=True, slots=True, kw_only=True)
class Room:
    """One clearance, by a sum rather than a search, with what it must be."""

    name: str
    gap_mm: float
    required_mm: float
    how: str

    @property
    def enough(self) -> bool:
        """Is the required gap kept?"""
        return self.gap_mm >= self.required_mm


@steady
def in_spare_well(mockup: MockUp, well: SpareWell) -> tuple[Room, ...]:
    """Room all round, under and over a wheel that lies in a round well. Exact: the outline's own extremes.

    The mounting face stands `stand_mm` above the floor where that is given; else the wheel lies on the floor.
    """
    least, most, _, radius = mockup.solid.profile.bounds
    under, over = (-least, most) if well.face_up else (most, -least)
    stand = under if well.stand_mm is None else well.stand_mm
    rows = [
        Room(
            name="rim of the well",
            gap_mm=well.diameter_mm / 2 - radius - well.off_centre_mm,
            required_mm=well.required_mm,
            how=f"well radius {well.diameter_mm / 2:.1f} less tire radius {radius:.1f} less {well.off_centre_mm:g} off",
        ),
        Room(
            name="lid",
            gap_mm=well.depth_mm - stand - over,
            required_mm=well.required_mm,
            how=f"depth {well.depth_mm:g} less stand {stand:.1f} less {over:.1f} above the mounting face",
        ),
    ]
    if well.stand_mm is not None:
        rows.append(
            Room(
                name="floor",
                gap_mm=stand - under,
                required_mm=0.0,
                how=f"stand {stand:.1f} less {under:.1f} below the mounting face",
            )
        )
    return tuple(rows)


@steady
def between_duals(mockup: MockUp, duals: Duals) -> tuple[Room, ...]:
    """Room between two tires side by side: new, and with both bulged by the load where they stand on the road.

    Raises InputError where no spacing is given and the wheel has no outset to make one.
    """
    spacing = duals.spacing_mm
    how = "spacing as given"
    if spacing is None:
        spacing = -2 * mockup.wheel.offset_mm
        how = f"spacing 2 x outset {-mockup.wheel.offset_mm:.1f}"
        if spacing <= 0:
            raise InputError(
                f"this wheel's offset is {mockup.wheel.offset_mm:+.1f} mm: back to back, two of them leave no space"
                " between their tires. Write spacing in [duals]."
            )
    width = mockup.tire.full_width_mm
    bulged = width * (1 + duals.bulge)
    return (
        Room(
            name="between the tires, unloaded",
            gap_mm=spacing - width,
            required_mm=0.0,
            how=f"{how}, section {width:.1f}",
        ),
        Room(
            name="between the tires, loaded",
            gap_mm=spacing - bulged,
            required_mm=duals.required_mm,
            how=f"{how}, section {width:.1f} bulged {duals.bulge:.0%} to {bulged:.1f} (from memory, edit [duals])",
        ),
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class Cover:
    """The rule and where the body falls short of it."""

    rule: Coverage
    tire_out_mm: float
    """How far outboard of the hub face the tire stands."""
    least_mm: float
    """The least of cover past the tire between the two angles; negative where the tire stands out."""
    least_at_deg: float
    """From straight up, positive ahead; where that is."""
    bare_deg: tuple[float, ...]
    """Whole degrees between the two angles with no cover at all."""

    @property
    def kept(self) -> bool:
        """Is the rule kept?"""
        return not self.bare_deg and self.least_mm >= -self.rule.protrude_mm


@steady
def cover(mockup: MockUp, rule: Coverage) -> Cover:
    """How far the body reaches out over the tire between the rule's angles, at ride height, degree by degree.

    Raises InputError where no part can count as cover.
    """
    triangles = _covering(mockup, rule)
    tire_out = mockup.tire.full_width_mm / 2 - mockup.wheel.offset_mm
    angles = [float(a) for a in np.arange(-math.floor(rule.behind_deg), math.floor(rule.ahead_deg) + 1.0)]
    reaches = {angle: outermost_mm(triangles, angle) for angle in angles}
    bare = tuple(angle for angle, reach in reaches.items() if reach is None)
    covered = [(reach - tire_out, angle) for angle, reach in reaches.items() if reach is not None]
    least, at = min(covered, default=(-math.inf, 0.0))
    return Cover(rule=rule, tire_out_mm=tire_out, least_mm=least, least_at_deg=at, bare_deg=bare)


def _covering(mockup: MockUp, rule: Coverage) -> Array:
    """(n, 3, 3) the triangles of the parts that count as cover. Raises InputError where none does."""
    names = rule.parts or tuple(p.name for p in mockup.parts if p.kind == "lip")
    if not names:
        raise InputError('no part counts as cover. Add a lip, or name one: [coverage] part = ["tub crown"].')
    return np.concatenate([np.asarray(mockup.part(name).triangles_mm) for name in names])


def outermost_mm(triangles: Array, angle_deg: float) -> float | None:
    """How far out these triangles (n, 3, 3) reach in the half plane `angle_deg` ahead of straight up; None for none."""
    angle = math.radians(angle_deg)
    along = np.array([math.sin(angle), 0.0, math.cos(angle)])
    across = np.array([math.cos(angle), 0.0, -math.sin(angle)])
    start, end = triangles.reshape(-1, 3), np.roll(triangles, -1, axis=1).reshape(-1, 3)
    a, b = start @ across, end @ across
    # a corner on the plane itself counts as crossing it
    crossing = (a * b <= 0) & (np.abs(a - b) > 1e-12)
    t = (a[crossing] / (a[crossing] - b[crossing]))[:, None]
    points = start[crossing] * (1 - t) + end[crossing] * t
    points = points[points @ along > 0]
    return float(points[:, 1].max()) if len(points) else None


def tightest(gaps: Sequence[Gap]) -> tuple[str, float]:
    """Name of the tightest part and what it has to spare."""
    gap = binding(gaps)
    return gap.part, spare_mm(gap)
