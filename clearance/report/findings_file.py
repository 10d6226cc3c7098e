"""A findings.json back from disk: what `compare` needs of it, held to the layout that `findings` writes.

The file may have been edited, cut short or made by something else. Every value that is used is asked for by name and
kind, numbers are finite, and what a part says of itself must agree with its numbers: else it is refused, with the place
in the file.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from pathlib import Path
from typing import Annotated, Any, Literal

from pydantic import BaseModel, ConfigDict, Field, ValidationError

from clearance import opener
from clearance.answers.compare import Side
from clearance.errors import FileError
from clearance.gap.found import CLEARS, HITS, TIGHT, UNDECIDED, verdict_of
from clearance.mockup.words import held_text, position_text
from clearance.plain import quoted
from clearance.report.findings import FORMAT, WORST_FIRST

_ROUND_MM = 2e-4
"""Numbers are rounded where they are written."""
MOST_MM = 1e6
MOST_PARTS = 5000
MOST_LETTERS = 1000

Verdict = Literal["clears", "tight", "hits", "undecided"]
assert set(WORST_FIRST) == {CLEARS, TIGHT, HITS, UNDECIDED}
Millimetres = Annotated[float, Field(allow_inf_nan=False, ge=-MOST_MM, le=MOST_MM)]
Degrees = Annotated[float, Field(allow_inf_nan=False, ge=-360, le=360)]
Words = Annotated[str, Field(max_length=MOST_LETTERS)]


class _Table(BaseModel):
    model_config = ConfigDict(strict=True, frozen=True)


class _Bracket(_Table):
    at_least: Millimetres | None
    """None where nothing is known from below."""
    at_most: Millimetres

    @property
    def low_mm(self) -> float:
        return -math.inf if self.at_least is None else self.at_least


class _Position(_Table):
    bump: Millimetres
    other_bump: Millimetres
    steer: Degrees


class _Cycle(_Table):
    other_bump: Annotated[list[Millimetres], Field(min_length=2, max_length=2)]
    steer: Annotated[list[Degrees], Field(min_length=2, max_length=2)]


class _Part(_Table):
    name: Annotated[str, Field(min_length=1, max_length=MOST_LETTERS)]
    required: Annotated[float, Field(allow_inf_nan=False, ge=0, le=MOST_MM)]
    gap: _Bracket
    verdict: Verdict
    position: _Position
    every_position: bool = False
    other_positions: bool = False
    tire_region: Words
    where: Words


class _Findings(_Table):
    format: Literal["clearance-findings/1"]
    title: Words
    corner: Literal["front-left", "front-right", "rear-left", "rear-right"]
    verdict: Verdict
    tolerance: Annotated[float, Field(allow_inf_nan=False, gt=0, le=MOST_MM)]
    cycle: _Cycle
    parts: Annotated[list[_Part], Field(max_length=MOST_PARTS)]
    warnings: Annotated[list[Words], Field(max_length=MOST_PARTS)] = []


@dataclass(frozen=True, slots=True, kw_only=True)
class Found:
    """What a findings.json says: the corner, and each of its parts by name."""

    title: str
    corner: str
    sides: dict[str, Side]
    warnings: tuple[str, ...]


def read_findings(path: Path) -> Found:
    """The findings in a file. Raises FileError for anything that `clearance check` did not write."""
    text = opener.text_of(path, most=opener.MOST_FINDINGS)
    try:
        value = opener.json_value(text)
    except opener.NotJson as wrong:
        raise FileError(path, f"{wrong.words}. Give a findings.json of `clearance check`.", line=wrong.line) from None
    if not isinstance(value, dict) or value.get("format") != FORMAT:
        raise FileError(
            path,
            "this is not a findings.json of `clearance check`. Give two corner files, or two findings.",
        )
    try:
        findings = _Findings.model_validate(value)
    except ValidationError as wrong:
        raise FileError(path, _worded(wrong.errors(include_url=False)[0])) from None
    _hold_agreement(findings, path)
    return Found(
        title=findings.title or path.name,
        corner=findings.corner,
        sides={part.name: _side(part, findings.cycle) for part in findings.parts},
        warnings=tuple(findings.warnings),
    )


def _side(part: _Part, cycle: _Cycle) -> Side:
    position = part.position
    return Side(
        gap_mm=part.gap.at_most if part.gap.at_least is None else part.gap.at_least,
        required_mm=part.required,
        verdict=part.verdict,
        position=held_text(
            position_text(
                position.bump,
                position.other_bump,
                position.steer,
                other_moves=cycle.other_bump != [0, 0],
                steers=cycle.steer != [0, 0],
            ),
            every=part.every_position,
            others=part.other_positions,
        ),
        where=part.where,
        region=part.tire_region,
    )


def _hold_agreement(findings: _Findings, path: Path) -> None:
    """Refuses findings that contradict themselves: they were edited, or damaged."""
    names = [part.name for part in findings.parts]
    for number, part in enumerate(findings.parts, start=1):
        if names.index(part.name) != number - 1:
            raise FileError(path, f"parts[{number}].name: two parts are called {quoted(part.name)}.")
        if part.gap.low_mm > part.gap.at_most:
            raise FileError(path, f"parts[{number}].gap: its lower end is above its upper one. {_AGAIN}")
        if part.verdict not in _verdicts(part, findings.tolerance):
            raise FileError(path, f"parts[{number}]: its verdict says {part.verdict} and its gap does not. {_AGAIN}")
    worst = min((part.verdict for part in findings.parts), key=WORST_FIRST.index, default=UNDECIDED)
    if findings.verdict != worst:
        raise FileError(path, f"its verdict is {findings.verdict}, and the worst of its parts {worst}. {_AGAIN}")


def _verdicts(part: _Part, tolerance_mm: float) -> set[str]:
    """What the numbers of a part say, each as it is and as it may have been before it was rounded outward."""
    return {
        verdict_of(part.gap.low_mm + up, part.gap.at_most - down, part.required, tolerance_mm)
        for up in (0.0, _ROUND_MM)
        for down in (0.0, _ROUND_MM)
    }


_AGAIN = "The file was edited or damaged: make it again with `clearance check`."


def _worded(detail: Any) -> str:
    """One finding of the schema in our words: where, what was found, what belongs there."""
    place = "".join(f"[{step + 1}]" if isinstance(step, int) else f".{step}" for step in detail["loc"]).lstrip(".")
    kind, found = detail["type"], detail["input"]
    if kind == "missing":
        return f"{place} is missing. {_AGAIN}"
    wanted = {
        "float_type": "a number", "finite_number": "a number", "greater_than_equal": "a number in mm or deg",
        "less_than_equal": "a number in mm or deg", "string_type": "text", "string_unicode": "text",
        "string_too_long": "a shorter text",
        "string_too_short": "text", "list_type": "a list of parts", "too_long": "fewer of them",
        "literal_error": "another word", "bool_type": "true or false",
    }.get(kind, "a table")  # fmt: skip
    return f"{place} is {quoted(found)}, where {wanted} belongs. {_AGAIN}"
