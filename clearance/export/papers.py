"""Paper: what a page is printed on.

* sheet - cut paper of a known size, upright
* large - sheets of copy shops and plotters, and rolls: for patterns at 1:1, which take fewer of them
* roll  - paper of a known width, from which each page is cut as long as it must be
"""

from __future__ import annotations

from dataclasses import dataclass, replace

from clearance.errors import InputError, OutputError, UnitError
from clearance.plain import echoed
from clearance.units import length_mm

LONGEST_MM = 5000.0
"""Of a page from a roll: a PDF page is no longer than 14,400 points, 5080 mm."""
_LEAST_ROLL_MM = 200.0
_MOST_ROLL_MM = 2000.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Paper:
    """A sheet of paper, upright; of a roll the longest that is cut from it."""

    name: str
    width_mm: float
    height_mm: float
    roll: bool = False

    @property
    def turned(self) -> Paper:
        """The same sheet on its side."""
        return Paper(name=self.name, width_mm=self.height_mm, height_mm=self.width_mm)

    def cut_to(self, long_mm: float) -> Paper:
        """So much of a roll, or all that is cut from it at once."""
        return replace(self, height_mm=min(self.height_mm, long_mm))

    @property
    def desk(self) -> Paper:
        """A sheet for words and small pictures: the same, or A4 where that is a roll."""
        return A4 if self.roll else self


A4 = Paper(name="A4", width_mm=210.0, height_mm=297.0)
"""ISO 216."""
LETTER = Paper(name="Letter", width_mm=215.9, height_mm=279.4)
"""8 1/2 by 11 inches, ANSI/ASME Y14.1 size A."""
PAPERS = {"a4": A4, "letter": LETTER}

A3 = Paper(name="A3", width_mm=297.0, height_mm=420.0)
TABLOID = Paper(name="Tabloid", width_mm=279.4, height_mm=431.8)
"""11 by 17 inches, ANSI/ASME Y14.1 size B."""
LARGE = {
    "a3": A3,
    "a2": Paper(name="A2", width_mm=420.0, height_mm=594.0),
    "a1": Paper(name="A1", width_mm=594.0, height_mm=841.0),
    "a0": Paper(name="A0", width_mm=841.0, height_mm=1189.0),
    "tabloid": TABLOID,
}
"""ISO 216 but for the last."""


def roll_of(width_mm: float, said: str) -> Paper:
    """A roll of this width."""
    return Paper(name=f"roll {said}", width_mm=width_mm, height_mm=LONGEST_MM, roll=True)


ROLL_24_IN = roll_of(609.6, "24 in")
"""The width that plotters of most copy shops take (common practice)."""


def larger_than(paper: Paper) -> tuple[Paper, ...]:
    """What a copy shop has for patterns that take many pages of this paper."""
    if paper == LETTER:
        return TABLOID, ROLL_24_IN
    return (A3, ROLL_24_IN) if paper == A4 else () if paper.roll else (ROLL_24_IN,)


def paper_named(name: str) -> Paper:
    """The paper that a person names, of those that a desk printer takes.

    Raises OutputError for a paper that is not known.
    """
    try:
        return PAPERS[name.strip().lower()]
    except KeyError:
        raise OutputError(f'the paper "{name}" is not known. Write "A4" or "Letter".') from None


def pattern_paper(name: str) -> Paper:
    """The paper that a person names for patterns: large ones too, and "roll 24 in".

    Raises OutputError for a paper that is not known, or a roll of no sensible width.
    """
    key = " ".join(name.lower().split())
    if key.startswith("roll "):
        return _roll_named(key.removeprefix("roll "))
    found = {**PAPERS, **LARGE}.get(key)
    if found is None:
        known = ", ".join(paper.name for paper in (*PAPERS.values(), *LARGE.values()))
        raise OutputError(f'the paper {echoed(name)} is not known. Write one of {known}, or a roll as "roll 24 in".')
    return found


def _roll_named(said: str) -> Paper:
    try:
        width = length_mm(said)
    except (UnitError, InputError):
        raise OutputError(f'the width of a roll, {echoed(said)}, cannot be read. Write "roll 24 in".') from None
    if not _LEAST_ROLL_MM <= width <= _MOST_ROLL_MM:
        raise OutputError(
            f'a roll {echoed(said)} wide is not sold for plotters. Write its width, 200 mm to 2000 mm: "roll 24 in".'
        )
    return roll_of(width, said)
