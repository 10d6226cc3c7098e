"""What must move at each corner of a car, worst first, and which way."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path

from clearance.answers.relief import Move, Relief, ReliefMap
from clearance.defaults import STEP_MM
from clearance.mockup.car import Car
from clearance.units import both
from clearance.words.relief import CAUTION, map_lines
from clearance.words.text import car_head, notes_by_corner, place_words, position_words, table, told
from clearance.words.why import why_wide

Needed = Mapping[str, Sequence[Relief]]
"""What must move, by corner."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Line:
    """One part of the page: at one corner, or the same at both sides of an axle."""

    corners: tuple[str, ...]
    relief: Relief
    moves: tuple[Move, ...]

    @property
    def least_mm(self) -> float:
        """The least that it must move; infinite where no single move is enough."""
        return min((move.distance_mm for move in self.moves), default=float("inf"))


def lines_of(found: Needed) -> list[Line]:
    """Every part that must move, worst first; once where both sides of an axle agree as closely as they are known."""
    lines: list[Line] = []
    for name, own in found.items():
        for one in own:
            at = next((k for k, line in enumerate(lines) if _same(line, name, one)), None)
            if at is None:
                lines.append(Line(corners=(name,), relief=one, moves=one.moves))
            else:
                lines[at] = _both(lines[at], name, one)
    return sorted(lines, key=lambda line: (-line.least_mm, line.relief.before.spare_mm))


def _same(line: Line, corner: str, there: Relief) -> bool:
    """Whether a part at the other side of the axle has the same gap and the same moves, to what each is known to."""
    here = line.relief
    if line.corners[0].split("-")[0] != corner.split("-")[0] or here.before.part != there.before.part:
        return False
    gaps = here.before, there.before
    overlap = max(gap.at_least_mm for gap in gaps) <= min(gap.at_most_mm for gap in gaps)
    alike = {move.way: move.distance_mm for move in here.moves}, {move.way: move.distance_mm for move in there.moves}
    return (
        overlap
        and set(alike[0]) == set(alike[1])
        and all(abs(alike[0][way] - alike[1][way]) < 1.5 * STEP_MM for way in alike[0])
    )


def _both(line: Line, corner: str, there: Relief) -> Line:
    """The same at both sides: of each move the larger, which clears at both."""
    other = {move.way: move for move in there.moves}
    moves = tuple(max(move, other[move.way], key=lambda one: one.distance_mm) for move in line.moves)
    return Line(corners=(*line.corners, corner), relief=line.relief, moves=moves)


def page(
    car: Car, found: Needed, maps: Mapping[str, Sequence[ReliefMap]], out: Path | None, files: Sequence[str]
) -> str:
    """One page for the whole car, as a fabricator reads it."""
    lines = [*car_head(car), *notes_by_corner({name: corner.warnings for name, corner in car.corners.items()})]
    needed = lines_of(found)
    if needed:
        rows = [row for line in needed for row in _rows(car, line)]
        lines.append(table(["where", "part", "gap", "must keep", "move", "how"], rows))
        lines += _nothing_at([name for name, own in found.items() if not own])
    lines += [line for name, own in maps.items() for one in own for line in _of_map(name, one)]
    if files:
        lines += ["", f"  Wrote {len(files)} files to {out}, each with its corner's name in front."]
    if not needed:
        return "\n".join([*lines, "Every part keeps its required gap at every corner."])
    said = LEAST + (ALIKE if any(len(line.corners) > 1 for line in needed) else "")
    return "\n".join([*lines, "", said, CAUTION])


LEAST = "Moves are the least that clear, to 0.1 mm. Each line is one part on its own; of several ways, one is enough."
ALIKE = (
    ' "Same on both sides": gap and moves agree as closely as they are known; the larger move is given, which'
    " clears both."
)


def _nothing_at(clear: Sequence[str]) -> list[str]:
    return ["", f"  Nothing has to move at {', '.join(clear)}."] if clear else []


def _of_map(corner: str, one: ReliefMap) -> list[str]:
    first, *more = map_lines(one)
    return ["", f"  {corner}, {first}", *(f"  {line}" for line in more)]


def _rows(car: Car, line: Line) -> list[list[str]]:
    gap = line.relief.before
    where = line.corners[0] if len(line.corners) == 1 else f"{line.corners[0].split('-')[0]}, same on both sides"
    first = [where, gap.part, told(gap), both(gap.required_mm, digits=0)]
    blank = [""] * len(first)
    rows = [[*(first if k == 0 else blank), both(move.distance_mm), move.words] for k, move in enumerate(line.moves)]
    if not line.moves:
        rows.append([*first, "", "no single move within 200 mm clears it"])
    corner = car.at(line.corners[0])
    rows += [[*blank, "", why] for why in why_wide(gap)]
    tightest = f"tightest at {position_words(corner, gap)}: {gap.region}, {place_words(corner, gap)}"
    if len(line.corners) > 1:
        tightest += f" ({line.corners[0]})"
    return [*rows, [*blank, "", tightest]]
