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
        *tub_lines(tub),
        "",
        f"{len(said['templates'])} templates, {said['templates'][0]} to {said['templates'][-1]}",
        *paper_lines(said["paper"]),
        "",
        CAUTION,
        "",
        f"{len(said['files'])} files in {out}",
    ]
    return rows


def paper_lines(rows: list[dict[str, Any]]) -> list[str]:
    """How many pages each file of patterns is, and would be on larger paper: to read before printing."""
    lines = []
    for file in dict.fromkeys(row["file"] for row in rows):
        own = [row for row in rows if row["file"] == file]
        written = next(row for row in own if row["written"])
        others = [f"{_taken(row)} with --paper {_option(row)}" for row in own if row["pages"] < written["pages"]]
        lines.append(f"{file} at 1:1: {_taken(written)}" + (f"; {', '.join(others)}" if others else ""))
    return lines


def _taken(row: dict[str, Any]) -> str:
    many = "1 page" if row["pages"] == 1 else f"{row['pages']} pages"
    if not row["long_mm"]:
        return f"{many} of {row['paper']}"
    return f"{many} of a {row['paper'].removeprefix('roll ')} roll, {both(row['long_mm'])} in all"


def _option(row: dict[str, Any]) -> str:
    return f'"{row["paper"]}"' if " " in row["paper"] else str(row["paper"])


def tub_lines(tub: dict[str, Any]) -> list[str]:
    """The tub: its pieces, where it is cut, what bending one way only costs, and what the check said of it."""
    rows = [
        f"tub of {both(tub['sheet_mm'])} sheet: inner panel {both(tub['inboard_mm'])} from the hub face, crown to"
        f" {both(tub['outboard_mm'])} (outboard positive)"
    ]
    for one in tub["pieces"]:
        rows.append(f"  {one['piece']}: {both(one['wide_mm'])} x {both(one['long_mm'])} flat, {one['surface']}")
    rows += [f"  {said}" for said in tub["trimmed"]]
    rows.append(
        f"  The envelope is curved two ways over the tire's shoulders, the tub nowhere: the crown stands off it up to"
        f" {both(tub['room_left_mm'])} there. A crown formed two ways is not drawn."
    )
    return [*rows, f"  {checked_words(tub['check'])}"]


def checked_words(check: dict[str, Any] | None) -> str:
    """What putting the tub back into the check said."""
    if check is None:
        return "Not put back into the check: nothing but ride height is known."
    need = f"{both(check['required'])} required: {check['verdict']}"
    if check["at_least"] is None:
        return f"Put back into the check: {need}."
    return f"Put back into the check: at least {both(check['at_least'])} from the tire, {need} ({check['where']})."


def more_slack(name: str, slack_mm: float, asked_mm: float) -> str:
    """What must be said first of an envelope that lies further out than was asked; nothing of one that does not."""
    if slack_mm <= asked_mm + _SAME_MM:
        return ""
    return (
        f"{name}.stl lies up to {both(slack_mm)} outside of the wheel's way, where {both(asked_mm)} was asked"
        " for: the tire's outline has edges too sharp to be followed closer. It holds every position all the same."
    )
