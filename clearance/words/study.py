"""A study of many wheels on many cars, as a person reads it."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from typing import Any

from clearance.units import both
from clearance.words.text import table

_MOST = 20


def page(found: Mapping[str, Any], folder: Path | None) -> str:
    """What clears on which car, the near misses, and what was not answered."""
    counts = found["counts"]
    lines = [
        f"{found['rows']:,} combinations of wheel, tire and corner: {counts['clears']:,} clear, {counts['tight']:,} are"
        f" tight, {counts['hits']:,} hit, {counts['undecided']:,} are undecided.",
        "",
        table(_HEAD, [_car(car) for car in found["cars"][:_MOST]]),
        *_more(len(found["cars"]), "cars"),
        "",
        *_near(found),
        *_missing(found),
    ]
    if folder is not None:
        lines += [f"In {folder}: {', '.join(found['files'])}."]
    return "\n".join(lines).rstrip() + "\n"


_HEAD = ("car", "clears", "tight", "hits", "undecided", "most room")


def _car(car: Mapping[str, Any]) -> tuple[str, ...]:
    counts = car["counts"]
    best = car["best"][0] if car["best"] else None
    most = "" if best is None else f"{best['tire']} (line {best['line']}), {both(best['margin'])} to spare"
    numbers = tuple(f"{counts[word]:,}" for word in ("clears", "tight", "hits", "undecided"))
    return (car["car"], *numbers, most)


def _more(count: int, what: str) -> list[str]:
    return [f"and {count - _MOST:,} more {what}."] if count > _MOST else []


def _near(found: Mapping[str, Any]) -> list[str]:
    near = [one for car in found["cars"] for one in car["near"]]
    if not near:
        return []
    return [
        "Near misses, and the least change of their offset that clears:",
        *(
            f"  {one['car']} {one['corner']}, line {one['line']} ({one['tire']}): {one['part']} lacks"
            f" {both(-one['margin'])}; {both(abs(one['offset_change']))} {_way(one['offset_change'])}."
            for one in near[:_MOST]
        ),
        *_more(len(near), "near misses"),
        "",
    ]


def _way(change: float) -> str:
    return "less offset (a spacer)" if change < 0 else "more offset"


def _missing(found: Mapping[str, Any]) -> list[str]:
    missing = found["not_answered"]
    if not missing:
        return []
    said = [f"  {_at(one)}: {one['why']}" for one in missing[:_MOST]]
    return [f"Not answered: {len(missing):,}.", *said, *_more(len(missing), "of them"), ""]


def _at(one: Mapping[str, Any]) -> str:
    line = "" if one["line"] is None else f":{one['line']}"
    column = f" {one['column']}" if one["column"] else ""
    corner = f" at {one['corner']}" if one["corner"] else ""
    return f"{one['file']}{line}{column}{corner}"
