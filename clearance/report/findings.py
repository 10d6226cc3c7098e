"""The findings: everything that was measured, as plain numbers that another program can read.

Lengths are millimetres and angles degrees; points are in corner axes (ahead, outboard, above) for a left and a right
corner alike. Steer is the car's own: positive to the left, also on a right corner, whose inside of this package is its
mirror image. The layout is fixed by ``docs/findings.schema.json``.

* bracket - ``at_least`` and ``at_most``: the true gap lies between them; here rounded outward to 0.0001 mm
* margin  - gap less required; the parts stand in order of verdict, then margin, worst first
* at rest - a gap that is the same at every position (a caliper's, on the knuckle; a plumb wall's beside a straight
            travel) has its witness at ride height
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from typing import TYPE_CHECKING, Any

from clearance.defaults import TOLERANCE_MM
from clearance.gap.found import AT_EVERY, AT_OTHERS, CLEARS, HITS, TIGHT, UNDECIDED, Gap, Hidden
from clearance.gap.rest import at_rest
from clearance.mockup.mockup import MockUp
from clearance.plain import json_text
from clearance.pose import Array, car_steer_deg
from clearance.suspension.position import Cycle, Position
from clearance.tire.tire import Tire
from clearance.well.part import Part
from clearance.wheel.wheel import Wheel
from clearance.words.why import why_wide

if TYPE_CHECKING:
    from clearance.zones.zone import Zone

FORMAT = "clearance-findings/1"
"""Changes when a reader of the old layout would misread the new one."""

WORST_FIRST = (HITS, UNDECIDED, TIGHT, CLEARS)

_ROUND_MM = 1e-4

Findings = dict[str, Any]


def findings_of(
    mockup: MockUp,
    gaps: Sequence[Gap],
    *,
    tolerance_mm: float = TOLERANCE_MM,
    files: Iterable[str] = (),
    warnings: Iterable[str] = (),
    versions: Mapping[str, str] | None = None,
    zones: Sequence[Zone] | None = None,
) -> Findings:
    """What was found, in the layout of findings.json: numbers, words, lists and nothing else.

    `gaps` are those of the mock-up's parts over its cycle, in any order. Warnings of the mock-up come first, then those
    given here. `zones` where they were looked for; the findings say nothing of them else.
    """
    parts = {part.name: part for part in mockup.parts}
    rows = [_part_row(mockup, at_rest(mockup, gap), parts[gap.part]) for gap in worst_first(gaps)]
    return {
        "format": FORMAT,
        "title": mockup.title,
        "corner": mockup.corner,
        "verdict": overall_verdict(gaps),
        "units": {"length": "mm", "angle": "deg", "points": "corner axes: ahead, outboard, above the hub face"},
        "tire": _tire(mockup.tire),
        "wheel": _wheel(mockup.wheel),
        "cycle": _cycle(mockup.suspension.cycle, mockup.suspension.kind, mockup.right_hand),
        "tolerance": tolerance_mm,
        "parts": rows,
        "assumptions": list(mockup.assumptions),
        "files": list(files),
        "warnings": [*mockup.warnings, *warnings],
        "versions": dict(versions or {}),
        **({} if zones is None else {"zones": zone_rows(mockup, zones)}),
    }


def zone_rows(mockup: MockUp, zones: Sequence[Zone]) -> list[Findings]:
    """The zones as the findings have them, numbered as in zones.stl and scene.glb."""
    return [_zone_row(mockup, number, zone) for number, zone in enumerate(zones, start=1)]


def _zone_row(mockup: MockUp, number: int, zone: Zone) -> Findings:
    right = mockup.right_hand
    steer = sorted(car_steer_deg(end, right_hand=right) for end in zone.steer_deg)
    return {
        "number": number,
        "part": zone.part,
        "required": _rounded(zone.required_mm),
        "area_mm2": round(zone.area_mm2, 1),
        "thickness": _rounded(zone.thickness_mm),
        "deepest": {
            "gap": _rounded(zone.least_mm),
            "of_gap": zone.of_gap,
            "on_part": _point(zone.place.on_part_mm),
            "where": zone.where,
            "position": _position(zone.position, right),
        },
        "first": {
            "touches": zone.first.touches,
            "at_ride_height": zone.first.at_ride_height,
            "on_part": _point(zone.first.place.on_part_mm),
            "where": zone.first.where,
            "position": _position(zone.first.position, right),
        },
        "too_close": {
            "bump": [_rounded(end) for end in zone.bump_mm],
            "other_bump": [_rounded(end) for end in zone.other_bump_mm],
            "steer": [_rounded(end) for end in steer],
        },
    }


def as_json(findings: Findings) -> bytes:
    """The findings as the bytes of findings.json: the same findings, the same bytes."""
    return (json_text(findings, indent=1) + "\n").encode()


def worst_first(gaps: Sequence[Gap]) -> list[Gap]:
    """The gaps in the order in which someone with a grinder wants them: by verdict, then margin, then name."""
    return sorted(gaps, key=lambda gap: (WORST_FIRST.index(gap.verdict), round(gap.spare_mm, 6), gap.part))


def overall_verdict(gaps: Sequence[Gap]) -> str:
    """The worst verdict of all; a corner with nothing around it is `undecided`, not a pass."""
    return min((gap.verdict for gap in gaps), key=WORST_FIRST.index, default=UNDECIDED)


def _part_row(mockup: MockUp, gap: Gap, part: Part) -> Findings:
    row: Findings = {
        "name": gap.part,
        "kind": part.kind,
        "rides_on": part.rides_on,
        "required": _rounded(gap.required_mm),
        "required_from": part.required_from,
        "gap": {
            "at_least": _down(gap.at_least_mm) if math.isfinite(gap.at_least_mm) else None,
            "at_most": _up(gap.at_most_mm),
        },
        "verdict": gap.verdict,
        "position": _position(gap.position, mockup.right_hand),
        "every_position": gap.held == AT_EVERY,
        "other_positions": gap.held == AT_OTHERS,
        "shift": {"ahead": _rounded(gap.shift_mm[0]), "outboard": _rounded(gap.shift_mm[1])},
        "on_part": _point(gap.on_part_mm),
        "on_tire": _point(gap.on_tire_mm),
        "toward_part": [round(float(c), 6) + 0.0 for c in gap.toward_part],
        "tire_region": gap.region,
        "where": gap.where,
        "per_mm": _per_mm(gap.per_mm, mockup.right_hand),
        "uncertainty": _rounded(part.uncertainty_mm),
        "finished": gap.finished,
        "unmeasured": bool(gap.unmeasured),
        "swallowed": gap.swallowed,
        "why": list(why_wide(gap)),
        "holes": [_hole(hidden) for hidden in gap.hidden],
        "motion": {"proven": gap.motion_checked == 0, "checked": gap.motion_checked},
        "notes": list(part.notes),
    }
    return row


def _hole(hidden: Hidden) -> Findings:
    return {
        "at_least": _down(hidden.at_least_mm),
        "length": _rounded(hidden.across_mm[0]),
        "width": _rounded(hidden.across_mm[1]),
        "area_mm2": _rounded(hidden.area_mm2),
        "middle": _point(hidden.middle_mm),
        "where": hidden.where,
        "closed": hidden.closed,
    }


def _per_mm(per_mm: Mapping[str, float], right_hand: bool) -> dict[str, float]:
    # a turn to the left of the mirror image is a turn to the right of the car
    return {
        key: round(car_steer_deg(value, right_hand=right_hand) if key.startswith("steer") else value, 6) + 0.0
        for key, value in per_mm.items()
    }


def _position(position: Position, right_hand: bool) -> dict[str, float]:
    return {
        "bump": _rounded(position.bump_mm),
        "other_bump": _rounded(position.other_bump_mm),
        "steer": _rounded(car_steer_deg(position.steer_deg, right_hand=right_hand)),
    }


def _tire(tire: Tire) -> Findings:
    return {
        "marking": tire.marking,
        "overall_diameter": _rounded(tire.overall_diameter_mm),
        "section_width": _rounded(tire.section_width_mm),
        "tread_width": _rounded(tire.tread_width_mm),
        "growth_width": _rounded(tire.growth_width_mm),
        "growth_diameter": _rounded(tire.growth_diameter_mm),
        "chain_tread": _rounded(tire.chain_tread_mm),
        "chain_side": _rounded(tire.chain_side_mm),
        "shape": tire.shape,
        "source": _source(tire.sources),
        "sources": _named(tire.sources),
    }


def _wheel(wheel: Wheel) -> Findings:
    return {
        "diameter_in": wheel.diameter_in,
        "width_in": wheel.width_in,
        "backspace": _rounded(wheel.backspace_mm),
        "offset": _rounded(wheel.offset_mm),
        "overall_width": _rounded(wheel.overall_width_mm),
        "sources": _named(wheel.sources),
    }


def _source(sources: Mapping[str, str]) -> str:
    first = [sources[key] for key in ("overall_diameter", "section_width") if key in sources]
    return "; ".join(dict.fromkeys(first)) or "not stated"


def _named(sources: Mapping[str, str]) -> dict[str, str]:
    return {key.removesuffix("_mm"): value for key, value in sorted(sources.items())}


def _cycle(cycle: Cycle, kind: str, right_hand: bool) -> Findings:
    steer = sorted(car_steer_deg(end, right_hand=right_hand) for end in cycle.steer_deg)
    return {
        "suspension": kind,
        "bump": [_rounded(end) for end in cycle.bump_mm],
        "other_bump": [_rounded(end) for end in cycle.other_bump_mm],
        "steer": [_rounded(end) for end in steer],
        "articulation": None if cycle.articulation_mm is None else _rounded(cycle.articulation_mm),
        "shift": {
            "inboard": _rounded(cycle.shift.inboard_mm),
            "outboard": _rounded(cycle.shift.outboard_mm),
            "ahead": _rounded(cycle.shift.ahead_mm),
            "behind": _rounded(cycle.shift.behind_mm),
        },
    }


def _point(point_mm: Array) -> list[float]:
    return [_rounded(float(c)) for c in point_mm]


def _rounded(value: float) -> float:
    # adding zero turns a negative zero into a plain one
    return round(float(value), 4) + 0.0


def _down(value_mm: float) -> float:
    """Rounded so that it is never more than the value: a lower end stays one."""
    return round(math.floor(value_mm / _ROUND_MM + 1e-6) * _ROUND_MM, 4) + 0.0


def _up(value_mm: float) -> float:
    return round(math.ceil(value_mm / _ROUND_MM - 1e-6) * _ROUND_MM, 4) + 0.0
