"""A car's check as a fabricator reads it: the corners worst first, each in one line, ending with one sentence."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any

from clearance.mockup.car import Car
from clearance.units import both
from clearance.words.sentence import HEADS, gap_words, held_words, verdict_sentence
from clearance.words.text import car_head, notes_by_corner, table


def page(car: Car, findings: Sequence[Mapping[str, Any]], out: Path | None = None, files: int = 0) -> str:
    """The corners, worst first; `findings` are those of each."""
    lines = [*car_head(car), *notes_by_corner({one["corner"]: one["warnings"] for one in findings})]
    rows = [_row(one) for one in findings]
    lines.append(table(["corner", "", "closest", "gap", "must keep", "where the tire is"], rows))
    if out is not None:
        lines += ["", f"  Wrote {files} files to {out}: open {out / 'car.html'} first."]
    lines += ["", sentence(findings)]
    return "\n".join(lines)


def _row(one: Mapping[str, Any]) -> list[str]:
    if not one["parts"]:
        return [one["corner"], one["verdict"], "nothing stands around it", "", "", ""]
    worst = one["parts"][0]
    when = held_words(worst, one["cycle"], None)
    told = gap_words(worst, one["tolerance"])
    return [one["corner"], one["verdict"], worst["name"], told, both(worst["required"]), when]


def sentence(findings: Sequence[Mapping[str, Any]]) -> str:
    """The verdict of the car: of its worst corner, in one sentence."""
    worst = findings[0]
    told = verdict_sentence(worst)
    at = f"At the {worst['corner'].replace('-', ' ')} {told[0].lower()}{told[1:]}"
    if all(one["verdict"] == "clears" for one in findings):
        return f"{HEADS['clears']} at every corner that is described. {at.replace(' it clears: the', ' the')}"
    return at
