"""The envelope and the tub as facts."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from typing import Any

from clearance.envelope.build import Envelope
from clearance.facts.gap import gap_json, gap_shape
from clearance.facts.shape import FILES, Shape, count, ends, flag, maybe, mm, of_corner, rows, table, text
from clearance.gap.found import Gap
from clearance.gauge.templates import Template, Tub
from clearance.gauge.tub_solid import TubMaking, TubPiece, TubSolid
from clearance.mockup.mockup import MockUp


def facts(
    mockup: MockUp,
    grow: float,
    tight: Envelope,
    wide: Envelope,
    templates: Sequence[Template],
    tub: dict[str, Any],
    files: Sequence[str],
    paper: Sequence[dict[str, Any]],
    *,
    asked_slack_mm: float,
) -> dict[str, Any]:
    """Everything that the page says."""
    box = wide.vertices_mm
    return {
        "format": "clearance-envelope/1",
        "title": mockup.title,
        "warnings": list(mockup.warnings),
        "required_mm": grow,
        "asked_slack_mm": asked_slack_mm,
        "envelope": {
            "triangles": len(tight.faces),
            "holds_everything": bool(tight.standoff_mm >= 0.0),
            "slack_mm": round(float(tight.slack_mm), 3),
        },
        "envelope_required": {
            "triangles": len(wide.faces),
            "holds_everything": bool(wide.standoff_mm >= 0.0),
            "slack_mm": round(float(wide.slack_mm), 3),
            "ahead_mm": [round(float(box[:, 0].min()), 1), round(float(box[:, 0].max()), 1)],
            "outboard_mm": [round(float(box[:, 1].min()), 1), round(float(box[:, 1].max()), 1)],
            "above_mm": [round(float(box[:, 2].min()), 1), round(float(box[:, 2].max()), 1)],
        },
        "templates": [t.name for t in templates],
        "tub": tub,
        "paper": list(paper),
        "files": list(files),
    }


def paper_facts(taken: Mapping[str, Sequence[Any]]) -> list[dict[str, Any]]:
    """How many pages each file of patterns has on its paper, the first, and would have on others."""
    return [
        {
            "file": file,
            "paper": one.paper,
            "pages": one.pages,
            "long_mm": math.ceil(one.long_mm),
            "written": one is every[0],
        }
        for file, every in taken.items()
        for one in every
    ]


def tub_facts(
    mockup: MockUp, tub: Tub, solid: TubSolid, making: TubMaking, gap: Gap | None, room_left_mm: float
) -> dict[str, Any]:
    """What is said of the tub."""
    return {
        "crown_long_mm": round(tub.length_mm, 1),
        "crown_wide_mm": round(solid.outboard_mm - solid.inboard_mm, 1),
        "inboard_mm": round(solid.inboard_mm, 1),
        "outboard_mm": round(solid.outboard_mm, 1),
        "sheet_mm": making.sheet_mm,
        "flange_mm": making.flange_mm,
        "pieces": [_piece_facts(piece) for piece in solid.pieces],
        "trimmed": list(solid.notes),
        # rounded up: what is lost is no less
        "room_left_mm": math.ceil(room_left_mm),
        "check": None if gap is None else gap_json(mockup, gap),
    }


def _piece_facts(piece: TubPiece) -> dict[str, Any]:
    x0, y0, x1, y1 = piece.flat.bounds
    return {"piece": piece.name, "surface": piece.made, "wide_mm": round(x1 - x0, 1), "long_mm": round(y1 - y0, 1)}


_PROVEN = {
    "triangles": count("of its mesh"),
    "holds_everything": flag("whether it is proven to hold the wheel at every position"),
    "slack_mm": mm("how far outside the true shape it lies at most"),
}


def _reach(words: str) -> Shape:
    return ends(f"from and to, {words} the hub face's centre at ride height", mm("along that axis"))


SHAPE = of_corner(
    "clearance-envelope/1",
    "everything that the tire and wheel reach",
    required_mm=mm("what the larger one is grown by"),
    asked_slack_mm=mm("how far outside the truth they may lie"),
    envelope=table("as it is", **_PROVEN),
    envelope_required=table(
        "grown by the required gap",
        **_PROVEN,
        ahead_mm=_reach("ahead of"),
        outboard_mm=_reach("outboard of"),
        above_mm=_reach("above"),
    ),
    templates=rows("its cuts", text("a template's name")),
    tub=table(
        "a tub to go round it",
        crown_long_mm=mm("along its crown, unrolled"),
        crown_wide_mm=mm("across its crown"),
        inboard_mm=mm("its inner panel, outboard of the hub face"),
        outboard_mm=mm("its outer edge, outboard of the hub face"),
        sheet_mm=mm("thickness of its sheet"),
        flange_mm=mm("how wide what it is welded by is; 0 where it has none"),
        pieces=rows(
            "every piece of sheet",
            table(
                "one piece",
                piece=text("its name"),
                surface=text("flat, or rolled; nothing of it is curved two ways"),
                wide_mm=mm("across its flat pattern"),
                long_mm=mm("along its flat pattern"),
            ),
        ),
        trimmed=rows("what it is cut at", text("one place")),
        room_left_mm=mm("the crown's inside stands off the grown envelope, which is curved two ways, by no more"),
        check=maybe(gap_shape("the tub put back into the check"), "where nothing but ride height is known"),
    ),
    paper=rows(
        "how much paper the patterns take, and would take of larger",
        table(
            "one file on one paper",
            file=text("its name"),
            paper=text("the sheet, or the roll and its width"),
            pages=count("of patterns at 1:1; an index page comes on top"),
            long_mm=mm("of a roll, all of them together; 0 for sheets"),
            written=flag("whether the file is on this paper"),
        ),
    ),
    files=FILES,
)
