"""What must move, and which way."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from clearance.answers.cut_line import Region
from clearance.answers.relief import Relief, ReliefMap
from clearance.mockup.mockup import MockUp
from clearance.units import both
from clearance.words.text import head, place_words, position_words, table, told
from clearance.words.why import why_wide

CAUTION = (
    "Cutting or moving a rail, tower or spring mount changes what holds the car together: have it"
    " designed and welded by"
    " someone licensed for it where you live. Springs out, car on stands, before you reach in."
)


def page(
    mockup: MockUp, found: Sequence[Relief], maps: Sequence[ReliefMap], out: Path | None, files: Sequence[str]
) -> str:
    """The relief as a fabricator reads it."""

    lines = head(mockup)
    if not found:
        return "\n".join([*lines, "Every part keeps its required gap: nothing has to move."])
    rows = []
    for one in found:
        gap = one.before
        first = [gap.part, told(gap), both(gap.required_mm, digits=0)]
        for k, move in enumerate(one.moves):
            rows.append([*(first if k == 0 else ["", "", ""]), both(move.distance_mm), move.words])
        if not one.moves:
            rows.append([*first, "", "no single move within 200 mm clears it"])
        rows += [["", "", "", "", why] for why in why_wide(gap)]
        rows.append(
            ["", "", "", "", f"tightest at {position_words(mockup, gap)}: {gap.region}, {place_words(mockup, gap)}"]
        )
    lines.append(table(["part", "gap", "must keep", "move", "how"], rows))
    for skin in maps:
        lines += ["", *(f"  {line}" for line in map_lines(skin))]
    if files:
        lines += ["", f"  Wrote {', '.join(files)} to {out}."]
    several = " Each line is one part on its own; of several ways, one is enough." if found else ""
    return "\n".join([*lines, "", f"Moves are the least that clear, to 0.1 mm.{several}", CAUTION])


def map_lines(skin: ReliefMap) -> list[str]:
    """What comes off one mapped part; of a scan by region, and where to cut it instead."""
    return [map_line(skin), *(f"  {_region(region)}" for region in skin.regions), *_cut(skin)]


def _region(region: Region) -> str:
    most = f"{region.name}: up to {both(region.most_mm)} over {region.area_mm2 / 100:.0f} cm2"
    if region.move is None:
        return f"{most}; no move {region.way} up to 200 mm clears it"
    return f"{most}; moved {region.way} as a whole, {both(region.move.distance_mm)} clears what was measured of it"


def _cut(skin: ReliefMap) -> list[str]:
    cut = skin.cut
    if cut is None:
        return []
    lines = f"{len(cut.lines_mm)} line" + ("" if len(cut.lines_mm) == 1 else "s")
    first = f"  or cut: {both(cut.length_mm)} along the metal in {lines}"
    if cut.margin_mm:
        first += f", {both(cut.margin_mm)} outside of where it is too near"
    if cut.off_mm >= 0.05:
        first += f"; drawn fair, up to {both(cut.off_mm)} from the raw line of the scan, always on the side that stays"
    if cut.gap is None:
        return [f"{first}; nothing of it remains"]
    said = f"  what remains, put back into the check: {told(cut.gap)}, must keep {both(cut.gap.required_mm, digits=0)}"
    return [f"{first}.", f"{said}: {cut.gap.verdict}", *(f"    {why}" for why in why_wide(cut.gap))]


def map_line(skin: ReliefMap) -> str:
    """What comes off one mapped part."""
    return (
        f"{skin.part}: up to {both(skin.most_mm)} to take off, over {skin.area_mm2 / 100:.0f} cm2,"
        f" {skin.volume_mm3 / 1000:.0f} cm3 in all (square to the surface)"
    )
