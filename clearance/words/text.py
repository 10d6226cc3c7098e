"""What the pages share: tables in columns, positions and gaps in words."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from clearance.gap.found import AT_OTHERS, Gap
from clearance.gap.rest import at_rest, held_everywhere
from clearance.mockup.car import Car
from clearance.mockup.mockup import MockUp
from clearance.mockup.words import held_text, words_of
from clearance.units import both
from clearance.words.sentence import bracket_words


def table(header: Sequence[str], rows: Sequence[Sequence[str]], *, indent: int = 2) -> str:
    """Rows under a header, each column as wide as its widest word; numbers stand to the right."""
    every = [list(header), *(list(row) for row in rows)]
    widths = [max(len(row[k]) for row in every) for k in range(len(header))]
    right = [k > 0 and all(_numeric(row[k]) for row in rows if row[k]) for k in range(len(header))]
    return "\n".join((" " * indent + "  ".join(_cells(row, widths, right))).rstrip() for row in every)


def _cells(row: Sequence[str], widths: Sequence[int], right: Sequence[bool]) -> list[str]:
    return [c.rjust(w) if r else c.ljust(w) for c, w, r in zip(row, widths, right, strict=True)]


def _numeric(cell: str) -> bool:
    return len(cell) < 28 and cell.lstrip("+-")[:1].isdigit()


def notes(mockup: MockUp) -> list[str]:
    """What to look at before believing any number, as every answer begins; nothing where nothing is odd."""
    return [line for warning in mockup.warnings for line in (f"  Note: {warning}", "")]


def head(mockup: MockUp) -> list[str]:
    """Title, tire and wheel, and what to look at first, as every answer begins."""

    tire, wheel = mockup.tire, mockup.wheel
    return [
        mockup.title or "Corner",
        f"  {mockup.corner}: {tire.marking or 'tire'}, {both(tire.overall_diameter_mm)} high and"
        f" {both(tire.section_width_mm)} wide",
        f"  on {wheel.diameter_in:g} x {wheel.width_in:g} in, backspace {both(wheel.backspace_mm)},"
        f" offset {wheel.offset_mm:+.1f} mm",
        "",
        *notes(mockup),
    ]


def car_head(car: Car) -> list[str]:
    """The car's title, and what applies to it whatever is asked."""
    return [car.title, *(line for caution in car.cautions for line in ("", f"  Caution: {caution}")), ""]


def notes_by_corner(warnings: Mapping[str, Sequence[str]]) -> list[str]:
    """What to look at first, as lines of a page."""
    return [line for names, said in by_corner(warnings) for line in (f"  Note, {', '.join(names)}: {said}", "")]


def by_corner(warnings: Mapping[str, Sequence[str]]) -> list[tuple[list[str], str]]:
    """Every note once, with the corners of which it is true."""
    corners: dict[str, list[str]] = {}
    for name, said in warnings.items():
        for warning in said:
            corners.setdefault(warning, []).append(name)
    return [(names, warning) for warning, names in corners.items()]


def position_words(mockup: MockUp, gap: Gap) -> str:
    """Where in the cycle the gap is least, as the real car steers; "every position" where it never changes."""
    position = words_of(gap.position, mockup.suspension.cycle, right_hand=mockup.right_hand)
    return held_text(position, every=held_everywhere(mockup, gap), others=gap.held == AT_OTHERS)


def place_words(mockup: MockUp, gap: Gap) -> str:
    """The place on the car, as every answer says it."""
    return at_rest(mockup, gap).where


def told(gap: Gap) -> str:
    """The gap in words that say no more than its bracket does."""

    return bracket_words(gap.at_least_mm, gap.at_most_mm, swallowed=gap.swallowed, narrow=gap.finished)
