"""Flat pieces at 1:1 on as few pages as were found: each in tiles of its own, or nested with others on blocks of pages.

* block - some columns and rows of pages that are laid together and hold what is nested on them
* strip - a page from a roll, as long as what is nested on its width
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from clearance.errors import ShapeError
from clearance.export.papers import Paper, larger_than
from clearance.export.pdf import Page, tile_frame_mm, tile_room, tiled
from clearance.gauge.flatwork import Shape, oblong
from clearance.gauge.nest import Placed, nested
from clearance.geom.drawing import Drawing, Text, drawing_of

NEST_GAP_MM = 5.0
_BLOCKS = ((1, 1), (1, 2), (2, 1), (2, 2), (3, 2), (2, 3), (3, 3), (2, 5), (4, 3), (4, 4), (5, 4), (6, 4), (6, 6))
"""Columns and rows of pages that pieces are laid on together."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Laid:
    """One flat piece: what it is called on its pages, its outline, and all that is drawn of it."""

    name: str
    shape: Shape
    drawing: Drawing


@dataclass(frozen=True, slots=True, kw_only=True)
class Takes:
    """How much of a paper some pieces take."""

    paper: str
    pages: int
    long_mm: float
    """Of a roll, all strips together; 0 for sheets."""


def nested_pages(pieces: Sequence[Laid], paper: Paper, *, of: str) -> list[Page]:
    """The pieces in their order, alone or nested with others, whichever takes fewer pages; `of` names them all."""
    if paper.roll:
        return _on_strips(pieces, paper, of)
    alone: list[Page] = []
    for piece in pieces:
        alone += tiled(piece.drawing, paper=paper, title=f"{of} {piece.name}")
    ways = [w for block in _BLOCKS for way in (paper, paper.turned) if (w := _on_blocks(pieces, way, block, of))]
    return min([alone, *ways], key=len)


def taken(pages: Sequence[Page], paper: Paper) -> Takes:
    """How much of the paper some pages are."""
    long_mm = sum(page.paper.height_mm for page in pages) if paper.roll else 0.0
    return Takes(paper=paper.name, pages=len(pages), long_mm=long_mm)


def taken_of_larger(pieces: Sequence[Laid], paper: Paper, *, of: str) -> tuple[Takes, ...]:
    """How much the same pieces take of larger paper, where they take more than one page of this one."""
    return tuple(taken(nested_pages(pieces, larger, of=of), larger) for larger in larger_than(paper))


def _on_strips(pieces: Sequence[Laid], roll: Paper, of: str) -> list[Page]:
    """All the pieces nested on strips of a roll; one that is wider than the roll in tiles of its own, before them."""
    room = tile_room(roll, 1, 1)
    wide = [piece for piece in pieces if not _goes_on(piece, room)]
    pages: list[Page] = []
    for piece in wide:
        ways = [piece.drawing, piece.drawing.turned(90.0)]
        strips = [_strips_of(way, roll, f"{of} {piece.name}") for way in ways]
        pages += strips[0] if len(strips[0]) <= len(strips[1]) else strips[1]
    rest = [piece for piece in pieces if piece not in wide]
    if not rest:
        return pages
    places = nested([_room_of(p) for p in rest], [p.name for p in rest], room, NEST_GAP_MM, 1.0)
    for drawing, names in _sheets_of(rest, places):
        pages += _strips_of(drawing, roll, f"{of} {names}")
    return pages


def _strips_of(drawing: Drawing, roll: Paper, title: str) -> tuple[Page, ...]:
    """A drawing on strips of a roll, each as long as it is."""
    _, low, _, high = drawing.plain.bounds
    return tiled(drawing, paper=roll.cut_to(high - low + tile_frame_mm() + 4.0), title=title, turn=False)


def _room_of(piece: Laid) -> Shape:
    """What a piece takes of the paper: its outline without its hollows, and what is written beside it."""
    words = [oblong(*drawing_of([mark]).bounds) for mark in piece.drawing.marks if isinstance(mark, Text)]
    beside = [word for word in words if not piece.shape.intersects(word)]
    whole = piece.shape
    for word in beside:
        whole = whole.union(word)
    return whole.convex_hull


def _goes_on(piece: Laid, room: tuple[float, float]) -> bool:
    x0, y0, x1, y1 = _room_of(piece).bounds
    across, along = sorted((x1 - x0, y1 - y0))
    return bool(across <= room[0] and along <= room[1])


def _sheets_of(pieces: Sequence[Laid], places: Sequence[Placed]) -> Iterator[tuple[Drawing, str]]:
    """What lies on each sheet of a nest, and the names of its pieces."""
    for number in range(max(p.sheet for p in places) + 1):
        here = [p for p in places if p.sheet == number]
        marks = [m for p in here for m in pieces[p.index].drawing.turned(p.turn_deg).moved(*p.shift_mm).marks]
        yield Drawing(marks=tuple(marks)), ", ".join(pieces[p.index].name for p in here)


def _on_blocks(pieces: Sequence[Laid], paper: Paper, block: tuple[int, int], of: str) -> list[Page] | None:
    """All the pieces nested on blocks of pages; None where one is larger than a block."""
    sheet = tile_room(paper, *block)
    try:
        places = nested([_room_of(p) for p in pieces], [p.name for p in pieces], sheet, NEST_GAP_MM, 1.0)
    except ShapeError:
        return None
    pages: list[Page] = []
    for drawing, names in _sheets_of(pieces, places):
        pages += tiled(drawing, paper=paper, title=f"{of} {names}", turn=False)
    return pages
