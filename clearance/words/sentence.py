"""What was found, in sentences: numbers with their unit and place, from the findings and nothing else."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from typing import Any

from clearance.mockup.words import held_text, position_text
from clearance.units import both

Findings = Mapping[str, Any]

WIDER_MM = 1.5e-3
"""What rounding outward and the path's own error may add to a bracket that is as narrow as was asked."""

HEADS = {
    "clears": "It clears",
    "tight": "It is tight",
    "hits": "It hits",
    "undecided": "Undecided",
}


def verdict_sentence(findings: Findings) -> str:
    """The verdict in one sentence, with the part that decides it."""
    head = HEADS[findings["verdict"]]
    parts = findings["parts"]
    if not parts:
        return f"{head}: no part stands around this wheel, so nothing was measured."
    worst = parts[0]
    others = _others(parts)
    return f"{head}: {closest_words(worst)} {when_words(worst, findings['cycle'])}{others}."


def closest_words(part: Findings) -> str:
    """How close one part comes, as "the lip comes within 4.2 mm (3/16 in) of the outer shoulder and ..."."""
    name, region = part["name"], part["tire_region"]
    if part["swallowed"]:
        return f"{name} holds the whole wheel inside it"
    if part["verdict"] == "undecided" or not part["finished"]:
        return f"{name} {gap_words(part)} from the {region}, {_why(part)}"
    least = part["gap"]["at_least"]
    if part["verdict"] == "hits":
        return f"{name} is {gap_words(part)} the {region}"
    keeps = f"must keep {both(part['required'])}"
    if part["verdict"] == "clears":
        return f"the closest is {name}, {both(least)} from the {region} where it {keeps},"
    return f"{name} comes within {both(least)} of the {region} and {keeps},"


def _why(part: Findings) -> str:
    """In a few words, what keeps the two ends of a bracket apart."""
    if part["holes"]:
        return "because its scan has holes there,"
    if part["unmeasured"]:
        return "because its motion was not measured,"
    return "because the search stopped at its work limit," if part["gap"]["at_least"] is not None else "at the most,"


def gap_words(part: Findings, tolerance_mm: float | None = None) -> str:
    """The gap of one part in words that cannot say more than its bracket does.

    One number where the bracket is as narrow as was asked, or than `tolerance_mm`; else both its ends.
    """
    least, most = part["gap"]["at_least"], part["gap"]["at_most"]
    narrow = part["finished"] if tolerance_mm is None else _narrow(part, tolerance_mm)
    return bracket_words(least, most, swallowed=part["swallowed"], narrow=narrow)


def bracket_words(least: float | None, most: float, *, swallowed: bool, narrow: bool) -> str:
    """Both ends of a gap in words, or one where they are as good as one."""
    if swallowed:
        return "the wheel is inside it"
    if least is None or least == -math.inf:
        return f"at most {both(most)}, nothing known from below"
    if narrow:
        return f"{both(-least)} inside" if most < 0 else both(least)
    if most < 0:
        return f"{both(-most)} to {both(-least)} inside"
    return f"between {both(least)} and {both(most)}"


def promise_words(findings: Findings) -> str:
    """What is promised of the numbers, no more than holds for every one of them."""
    tolerance = findings["tolerance"]
    but = _but_for_wide(findings["parts"], tolerance)
    checked = [p for p in findings["parts"] if not p["motion"]["proven"]]
    if not checked:
        return f"every gap proven to {tolerance:g} mm of what was described{but}"
    count = min(p["motion"]["checked"] for p in checked)
    whose = "every part" if len(checked) == len(findings["parts"]) else _and([p["name"] for p in checked])
    return f"every gap to {tolerance:g} mm of what was described{but}; motion checked at {count} positions for {whose}"


def _but_for_wide(parts: list[Findings], tolerance_mm: float) -> str:
    wide = [p["name"] for p in parts if not p["swallowed"] and not _narrow(p, tolerance_mm)]
    return f", but for {_and(wide)}, where both ends stand" if wide else ""


def _narrow(part: Findings, tolerance_mm: float) -> bool:
    least, most = part["gap"]["at_least"], part["gap"]["at_most"]
    return least is not None and most - least <= tolerance_mm + WIDER_MM


def _and(names: list[str]) -> str:
    return names[0] if len(names) == 1 else ", ".join(names[:-1]) + " and " + names[-1]


def when_words(part: Findings, cycle: Findings) -> str:
    """When a part is as close as it comes: at its position, or at every one where its gap never changes."""
    return f"at {held_words(part, cycle)}"


def held_words(part: Findings, cycle: Findings, length: Callable[[float], str] | None = both) -> str:
    """The position at which a part is as close as it comes, or that it is so at others, or at every one."""
    position = position_words(part["position"], cycle, length)
    return held_text(position, every=part["every_position"], others=part["other_positions"])


def position_words(position: Findings, cycle: Findings, length: Callable[[float], str] | None = both) -> str:
    """A position of the corner in words, as "90.0 mm (3 9/16 in) bump, 12.0 deg left"."""
    return position_text(
        position["bump"],
        position["other_bump"],
        position["steer"],
        other_moves=cycle["other_bump"] != [0, 0],
        steers=cycle["steer"] != [0, 0],
        length=length,
    )


def zone_sentence(zone: Findings, findings: Findings) -> str:
    """One zone: how large, where and from what position on it is reached first, and where it is deepest."""
    deepest, first = zone["deepest"], zone["first"]
    area = f"{zone['area_mm2'] / 100:.1f} cm2 ({zone['area_mm2'] / 645.16:.1f} sq in)"
    verb = "touches" if first["touches"] else "comes too close"
    begins = (
        f"{verb} as the car stands"
        if first["at_ride_height"]
        else f"first {verb} at {position_words(first['position'], findings['cycle'])}"
    )
    return f"{area}; {begins}: {first['where']}. Deepest, {deepest_words(zone, findings)}: {deepest['where']}."


def deepest_words(zone: Findings, findings: Findings) -> str:
    """How deep a zone goes and when: in the words of its part's gap where it is that, so that both say one thing."""
    part = part_of_zone(zone, findings)
    if part is None:
        least = zone["deepest"]["gap"]
        told = f"{both(-least)} inside" if least < 0 else f"{both(least)} away"
        return f"{told}, at {position_words(zone['deepest']['position'], findings['cycle'])}"
    told = gap_words(part, findings["tolerance"])
    away = part["gap"]["at_most"] >= 0 and part["gap"]["at_least"] is not None
    return f"{told}{' away' if away else ''}, {when_words(part, findings['cycle'])}"


def part_of_zone(zone: Findings, findings: Findings) -> Findings | None:
    """The part whose gap a zone's deepest place is; None where that gap is elsewhere."""
    if not zone["deepest"].get("of_gap", False):
        return None
    return next((part for part in findings["parts"] if part["name"] == zone["part"]), None)


def holes_in_reach(findings: Findings) -> list[str]:
    """Of each part whose scan has holes that the tire comes near, in a sentence to stand beside the verdict."""
    found = []
    for part in findings["parts"]:
        if part["holes"]:
            first, count = part["holes"][0], len(part["holes"])
            many = "1 hole that was" if count == 1 else f"{count} holes that were"
            size = f"{first['length']:.0f} x {first['width']:.0f} mm at {first['where']}"
            nearest = size if count == 1 else f"the nearest {size}"
            found.append(f"Within reach of the tire {part['name']} has {many} not measured: {nearest}.")
    return found


def _others(parts: list[Findings]) -> str:
    """How many more do not clear."""
    more = sum(part["verdict"] != "clears" for part in parts) - 1
    if parts[0]["verdict"] == "clears" or more <= 0:
        return ""
    return f"; {more} more part{'s do' if more > 1 else ' does'} not clear"
