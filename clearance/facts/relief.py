"""What must move, as facts."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from clearance.answers.cut_line import CutLine, Region
from clearance.answers.relief import Relief, ReliefMap
from clearance.defaults import STEP_MM
from clearance.facts.gap import gap_json, gap_shape
from clearance.facts.shape import FILES, count, maybe, mm, number, of_corner, rows, several, table, text
from clearance.mockup.mockup import MockUp


def facts(mockup: MockUp, found: Sequence[Relief], maps: Sequence[ReliefMap], files: Sequence[str]) -> dict[str, Any]:
    """Everything that the page says."""

    return {
        "format": "clearance-relief/1",
        "title": mockup.title,
        "warnings": list(mockup.warnings),
        "step": STEP_MM,
        **parts_and_maps(mockup, found, maps),
        "files": list(files),
    }


def parts_and_maps(mockup: MockUp, found: Sequence[Relief], maps: Sequence[ReliefMap]) -> dict[str, Any]:
    """What must move at one corner, and what comes off."""
    return {
        "parts": [
            {
                "part": one.before.part,
                "kind": one.kind,
                "before": gap_json(mockup, one.before),
                "moves": [
                    {
                        "way": move.way,
                        "direction": _direction(mockup, move.direction),
                        "distance": round(move.distance_mm, 1),
                        "words": move.words,
                        "after": gap_json(mockup, move.gap),
                    }
                    for move in one.moves
                ],
            }
            for one in found
        ],
        "maps": [
            {
                "part": one.part,
                "most": round(one.most_mm, 2),
                "area_cm2": round(one.area_mm2 / 100, 1),
                "volume_cm3": round(one.volume_mm3 / 1000, 1),
                "regions": [_region(mockup, region) for region in one.regions],
                "cut": None if one.cut is None else _cut(mockup, one.cut),
            }
            for one in maps
        ],
    }


def _region(mockup: MockUp, region: Region) -> dict[str, Any]:
    move = region.move
    return {
        "region": region.name,
        "way": region.way,
        "most": round(region.most_mm, 2),
        "area_cm2": round(region.area_mm2 / 100, 1),
        "distance": None if move is None else round(move.distance_mm, 1),
        "after": None if move is None else gap_json(mockup, move.gap),
    }


def _cut(mockup: MockUp, cut: CutLine) -> dict[str, Any]:
    return {
        "margin": cut.margin_mm,
        "lines": len(cut.lines_mm),
        "length": round(cut.length_mm, 1),
        "off": round(cut.off_mm, 1),
        "remains": None if cut.gap is None else gap_json(mockup, cut.gap),
    }


def _direction(mockup: MockUp, direction: tuple[float, float, float]) -> list[float]:
    # ahead, outboard, above: outboard is outboard on either side of the car
    return [round(v, 4) + 0.0 for v in direction]


CORNERS_OWN = {
    "parts": rows(
        "every part that is under its required gap",
        table(
            "one part",
            part=text("its name"),
            kind=text("of part"),
            before=gap_shape("as it is"),
            moves=rows(
                "those that clear, least first",
                table(
                    "one move",
                    way=text("its name"),
                    direction=several("ahead, outboard, above: a unit vector", number("without unit"), 3),
                    distance=mm("the least that clears"),
                    words=text("how to move it, lengths in mm"),
                    after=gap_shape("moved so"),
                ),
            ),
        ),
    ),
    "maps": rows(
        "what to take off, square to the surface",
        table(
            "one part",
            part=text("its name"),
            most=mm("to take off at most"),
            area_cm2=number("over what surface, cm2"),
            volume_cm3=number("how much in all, cm3"),
            regions=rows(
                "of a scan: each region that comes too near, worst first",
                table(
                    "one region",
                    region=text("wall, crown, front, rear, outer side or floor"),
                    way=text("which way it goes"),
                    most=mm("to take off at most"),
                    area_cm2=number("over what surface, cm2"),
                    distance=maybe(
                        mm("the least that the whole region must go by what was measured; holes are told of the part"),
                        "where none up to 200 mm clears",
                    ),
                    after=maybe(gap_shape("the region moved so, alone"), "where no move clears"),
                ),
            ),
            cut=maybe(
                table(
                    "of a scan: where to cut it",
                    margin=mm("how much more than required is kept at the cut, at the corners of the mesh"),
                    lines=count("separate lines"),
                    length=mm("of all lines, along the surface"),
                    off=mm("the furthest that they lie from the scan's own jagged line, on the side that stays"),
                    remains=maybe(gap_shape("what remains, put back into the check"), "where nothing remains"),
                ),
                "where nothing goes, and for parts that are no scan",
            ),
        ),
    ),
}
SHAPE = of_corner(
    "clearance-relief/1",
    "how far each part must move, and which way",
    step=mm("to which moves are exact"),
    **CORNERS_OWN,
    files=FILES,
)
