"""How large the envelope is, and what was written."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from clearance.units import both

CAUTION = (
    "A tub is structure on many cars: where rails, mounts or panels are cut, the strength that goes must come back, and"
    " local law may ask for an inspection. Car on stands, springs out, before you hold a template in the well."
)


_SAME_MM = 1e-3
"""To which the slack is rounded."""


def page(said: dict[str, Any], out: Path) -> list[str]:
    """How large it is, and what was written."""

    wide, tub = said["envelope_required"], said["tub"]
    rows = [said["title"], *(f"  Note: {warning}" for warning in said["warnings"])]
    for name, one in (("envelope", said["envelope"]), ("envelope-required", wide)):
        further = more_slack(name, one["slack_mm"], said["asked_slack_mm"])
        rows += [f"  Note: {further}"] if further else []
    rows.append(f"grown by the required gap, {both(said['required_mm'])}:")
    for word in ("ahead", "outboard", "above"):
        low, high = wide[f"{word}_mm"]
        rows.append(f"  {word:>8}: {both(low)} to {both(high)}")
    held = "holds every position" if wide["holds_everything"] else "NOT PROVEN to hold every position"
    rows += [
        f"  {held}; nowhere more than {wide['slack_mm']:.2f} mm outside the true shape",
        "",
        f"tub: crown {both(tub['crown_long_mm'])} long, {both(tub['crown_wide_mm'])} wide,"
        f" inner panel {both(tub['inboard_mm'])} from the hub face (outboard positive)",
        f"{len(said['templates'])} templates, {said['templates'][0]} to {said['templates'][-1]}",
        "",
        CAUTION,
        "",
        f"{len(said['files'])} files in {out}",
    ]
    return rows


def more_slack(name: str, slack_mm: float, asked_mm: float) -> str:
    """What must be said first of an envelope that lies further out than was asked; nothing of one that does not."""
    if slack_mm <= asked_mm + _SAME_MM:
        return ""
    return (
        f"{name}.stl lies up to {both(slack_mm)} outside of the wheel's way, where {both(asked_mm)} was asked"
        " for: the tire's outline has edges too sharp to be followed closer. It holds every position all the same."
    )
