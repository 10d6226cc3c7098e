"""Flat pieces at 1:1 on as few pages as were found: each in tiles of its own, or nested with others on blocks of pages.

* block - some columns and rows of pages that are laid together and hold what is nested on them
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from clearance.errors import ShapeError
from clearance.export.pdf import Page, Paper, tile_room, tiled
from clearance.gauge.flatwork import Shape
from clearance.gauge.nest import nested
from clearance.geom.drawing import Drawing

NEST_GAP_MM = 5.0
_BLOCKS = ((1, 1), (1, 2), (2, 1), (2, 2), (3, 2), (2, 3), (3, 3), (4, 3), (4, 4), (6, 4), (6, 6))
"""Columns and rows of pages that pieces are laid on together."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Laid:
    """One flat piece: what it is called on its pages, its outline, and all that is drawn of it."""

    name: str
    shape: Shape
    drawing: Drawing


def nested_pages(pieces: Sequence[Laid], paper: Paper, *, of: str) -> list[Page]:
    """The pieces in their order, alone or nested with others, whichever takes fewer pages; `of` names them all."""
    alone: list[Page] = []
    for piece in pieces:
        alone += tiled(piece.drawing, paper=paper, title=f"{of} {piece.name}")
    ways = [w for block in _BLOCKS for way in (paper, paper.turned) if (w := _on_blocks(pieces, way, block, of))]
    return min([alone, *ways], key=len)


def _on_blocks(pieces: Sequence[Laid], paper: Paper, block: tuple[int, int], of: str) -> list[Page] | None:
    """All the pieces nested on blocks of pages; None where one is larger than a block."""
    sheet = tile_room(paper, *block)
    try:
        places = nested([p.shape.convex_hull for p in pieces], [p.name for p in pieces], sheet, NEST_GAP_MM, 1.0)
    except ShapeError:
        return None
    pages: list[Page] = []
    for number in range(max(p.sheet for p in places) + 1):
        here = [p for p in places if p.sheet == number]
        marks = [m for p in here for m in pieces[p.index].drawing.turned(p.turn_deg).moved(*p.shift_mm).marks]
        names = ", ".join(pieces[p.index].name for p in here)
        pages += tiled(Drawing(marks=tuple(marks)), paper=paper, title=f"{of} {names}", turn=False)
    return pages
