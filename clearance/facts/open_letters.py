"""What is still open on a sheet, as facts; within the answers of `new` and `room`."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any, Protocol

from clearance.facts.shape import flag, maybe, mm, rows, several, table, text


class Open(Protocol):
    """One letter that is not answered."""

    letter: str
    name: str
    needed: bool
    moves_mm: float | None
    part: str
    ends: tuple[str, str]
    why_not: str


def open_facts(found: Sequence[Any]) -> list[dict[str, Any]]:
    """Every open letter, most first."""
    return [
        {
            "letter": one.letter,
            "name": one.name,
            "needed": one.needed,
            "moves": None if one.moves_mm is None else round(one.moves_mm, 1),
            "part": one.part,
            "ends": list(one.ends),
            "why_not": one.why_not,
        }
        for one in found
    ]


OPEN = rows(
    "what is still open, the letter that could move the answer most first; empty where nothing is or it was not asked",
    table(
        "one letter",
        letter=text("of the sheet"),
        name=text("what it is"),
        needed=flag("whether no corner file can be written without it"),
        moves=maybe(mm("how far it could move the least room, to 4 mm"), "where that cannot be told"),
        part=text("the part that then has the least room; empty where it cannot be told"),
        ends=several("what it was taken at; empty where it was not", text("a length or an angle"), 2),
        why_not=text("why it cannot be told; empty where it can"),
    ),
)
