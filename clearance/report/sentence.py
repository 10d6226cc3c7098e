"""What was found, in sentences: numbers with their unit and place, from the findings and nothing else."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from clearance.units import both

Findings = Mapping[str, Any]

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
    least = part["gap"]["at_least"]
    if part["swallowed"]:
        return f"{name} holds the whole wheel inside it"
    if part["verdict"] == "undecided":
        most = part["gap"]["at_most"]
        return f"the gap to {name} lies between {both(least)} and {both(most)}; the search stopped at its work limit"
    if least < 0:
        return f"{name} is {both(-least)} inside the {region}"
    keeps = f"must keep {both(part['required'])}"
    if part["verdict"] == "clears":
        return f"the closest is {name}, {both(least)} from the {region} where it {keeps},"
    return f"{name} comes within {both(least)} of the {region} and {keeps},"


def when_words(part: Findings, cycle: Findings) -> str:
    """When a part is as close as it comes: at its position, or at every one where its gap never changes."""
    return "at every position" if part["every_position"] else position_words(part["position"], cycle)


def position_words(position: Findings, cycle: Findings) -> str:
    """A position of the corner in words, as "at 90.0 mm (3 9/16 in) bump, 12.0 deg left"."""
    bump = position["bump"]
    words = "at ride height"
    if abs(bump) >= 0.05:
        words = f"at {both(abs(bump))} {'bump' if bump > 0 else 'droop'}"
    other = position["other_bump"]
    if cycle["other_bump"] != [0, 0] and abs(other) >= 0.05:
        words += f", the other side at {both(abs(other))} {'bump' if other > 0 else 'droop'}"
    if cycle["steer"] != [0, 0]:
        words += f", {steer_words(position['steer'])}"
    return words


def steer_words(steer_deg: float) -> str:
    """A steer angle in words.

    >>> steer_words(-28.0), steer_words(0.0)
    ('28.0 deg right', 'straight ahead')
    """
    if abs(steer_deg) < 0.05:
        return "straight ahead"
    return f"{abs(steer_deg):.1f} deg {'left' if steer_deg > 0 else 'right'}"


def _others(parts: list[Findings]) -> str:
    """How many more do not clear."""
    more = sum(part["verdict"] != "clears" for part in parts) - 1
    if parts[0]["verdict"] == "clears" or more <= 0:
        return ""
    return f"; {more} more part{'s do' if more > 1 else ' does'} not clear"
