"""A list of wheels and tires on one corner: one line for each, between two proven ends.

* binds      - the part with the least to spare; of a row that hits, the deepest of those
* measured   - "outline" where the corner's outlines tell, "search" where they do not and the part was measured as
               `check` measures it
* near       - what lacks no more than `NEAR_MM`: the least change of its offset that clears is looked for, on
               millimetres, and proven by the outlines
* confidence - that the part that binds keeps its required gap, by straight lines: every doubt that the corner file
               states, or common practice, as `budget` takes them, joined by root sum square and drawn from a normal
               curve. It is of that one part, and no more than that

Lengths are millimetres, angles degrees.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np

from clearance.answers.budget import DEFAULTS, TAPE_MM, tire_doubts
from clearance.answers.candidates import BadCell, NotAnswered, Place, Rack, Row, one_line
from clearance.answers.checked import gaps_of, refuse_standing
from clearance.answers.seen_at_once import Outline
from clearance.errors import ClearanceError
from clearance.gap.found import CLEARS, HITS, TIGHT, UNDECIDED, verdict_of
from clearance.many.cover import Window
from clearance.many.room import Ends, PartRoom, Room
from clearance.mockup.car import Car
from clearance.mockup.mockup import MockUp
from clearance.steady import steady
from clearance.suspension.position import BODY, Position

NEAR_MM = 6.0
MOST_SHIFT_MM = 25
"""No offset is looked for further from the row's own."""
_LOOKS = 6
MARGIN_MM = 60.0
"""A part that stays further than this from every wheel of the list is said to be at least so far."""
_STEP = 1e-3
_AT_END = 0.5


@dataclass(frozen=True, slots=True, kw_only=True)
class Line:
    """One row of the list on one corner."""

    row: Row
    corner: str
    backspace_mm: float
    offset_mm: float
    overall_mm: float
    section_mm: float
    verdict: str
    part: str
    at_least_mm: float | None
    """None where nothing is known from below."""
    at_most_mm: float | None
    """None where it stays further away than was looked."""
    required_mm: float
    position: Position | None
    confidence: float | None
    measured: str
    offset_change_mm: float | None
    """The least change of the offset that clears; None where none was looked for, or none found."""

    @property
    def margin_mm(self) -> float | None:
        """What is left over of the required gap, proven, or missing."""
        return None if self.at_least_mm is None else self.at_least_mm - self.required_mm


@dataclass(frozen=True, slots=True)
class _Found:
    """What binds a wheel, and how it was told."""

    part: str
    at_least_mm: float
    at_most_mm: float
    required_mm: float
    position: Position | None
    measured: str
    ends: Ends | None


@steady
def lines_of(
    car: Car, corner: str, rows: Sequence[Row], window: Window
) -> tuple[tuple[Line, ...], tuple[NotAnswered, ...]]:
    """Each row on one corner of a car, and the rows that nothing can be said of there.

    Raises InputError for a corner of which nothing but ride height is known.
    """
    mockup = car.at(corner)
    refuse_standing(mockup)
    alone = replace(car, corners={corner: mockup})
    rack, missing, put = Rack(alone), list[NotAnswered](), list[tuple[Row, Place]]()
    for row in rows:
        if row.axle is not None and not corner.startswith(row.axle):
            continue
        try:
            put.append((row, rack.put(row)[corner]))
        except BadCell as bad:
            missing.append(NotAnswered(line=row.line, column=bad.column, why=bad.why))
        except ClearanceError as wrong:
            missing.append(NotAnswered(line=row.line, column="tire", why=one_line(str(wrong))))
    if not put:
        return (), tuple(missing)
    room = Room(mockup, window, wheels=len({place for _, place in put}))
    known: dict[Place, Line] = {}
    lines = []
    for row, place in put:
        if place not in known:
            known[place] = _line(room, corner, row, place)
        lines.append(replace(known[place], row=row))
    return tuple(lines), tuple(missing)


def _line(room: Room, corner: str, row: Row, place: Place) -> Line:
    found = _found(room, place)
    verdict = verdict_of(found.at_least_mm, found.at_most_mm, found.required_mm, _width(found))
    on = place.mounted
    wheel = on.wheel.with_offset(place.offset_mm)
    sure = None if found.ends is None or found.ends.place < 0 else _confidence(room, place, found)
    return Line(
        row=row,
        corner=corner,
        backspace_mm=wheel.backspace_mm,
        offset_mm=wheel.offset_mm,
        overall_mm=on.tire.overall_diameter_mm,
        section_mm=on.tire.section_width_mm,
        verdict=verdict,
        part=found.part,
        at_least_mm=found.at_least_mm if math.isfinite(found.at_least_mm) else None,
        at_most_mm=found.at_most_mm if math.isfinite(found.at_most_mm) else None,
        required_mm=found.required_mm,
        position=found.position,
        confidence=sure,
        measured=found.measured,
        offset_change_mm=_least_shift(room, place, found) if verdict != CLEARS else None,
    )


def _width(found: _Found) -> float:
    """How narrow a bracket was asked for: of the search its own tolerance, of outlines none that straddles is kept."""
    return 0.05 if found.measured == "search" else 0.0


# ---- what binds


def _found(room: Room, place: Place) -> _Found:
    """The part that binds: the worst of what is said of any, then the least to spare."""
    every = [*_by_outline(room, place), *_by_search(room, place, room.searched)]
    open_ = [one for one in every if one.measured == "outline" and _undecided(one)]
    if open_:
        again = _by_search(room, place, [one.part for one in open_])
        every = [*(one for one in every if one not in open_), *again]
    return min(every, key=_rank)


def _rank(found: _Found) -> tuple[int, float]:
    worst = (HITS, UNDECIDED, TIGHT, CLEARS)
    said = verdict_of(found.at_least_mm, found.at_most_mm, found.required_mm, _width(found))
    return worst.index(said), found.at_least_mm - found.required_mm


def _undecided(found: _Found) -> bool:
    return verdict_of(found.at_least_mm, found.at_most_mm, found.required_mm, 0.0) == UNDECIDED


def _by_outline(room: Room, place: Place) -> Iterator[_Found]:
    """The parts that could bind: those whose lower end is the least to spare, and all that do not surely clear."""
    if not room.parts:
        return
    shifted = place.shifted_mm
    least = room.least(place.outline, shifted)
    spare = least - room.required
    wanted = np.flatnonzero((spare < 0.0) | (spare <= spare.min()))
    for number in wanted:
        one = room.parts[number]
        ends = room.ends(place.outline, shifted, int(number), float(least[number]))
        yield _Found(
            part=one.part.name,
            at_least_mm=ends.at_least_mm,
            at_most_mm=ends.at_most_mm,
            required_mm=one.part.required_mm,
            position=room.position(ends),
            measured="outline",
            ends=ends,
        )


def _by_search(room: Room, place: Place, parts: Sequence[str]) -> list[_Found]:
    if not parts:
        return []
    return [
        _Found(
            part=gap.part,
            at_least_mm=gap.at_least_mm,
            at_most_mm=gap.at_most_mm,
            required_mm=gap.required_mm,
            position=gap.position,
            measured="search",
            ends=_as_laid(room, place, gap.part),
        )
        for gap in gaps_of(place.corner, tuple(parts))
    ]


def _as_laid(room: Room, place: Place, name: str) -> Ends | None:
    """The nearest real place of a part that outlines answer for, for what depends on its direction."""
    for number, one in enumerate(room.parts):
        if one.part.name == name:
            return room.ends(place.outline, place.shifted_mm, number, -math.inf)
    return None


# ---- the least change


def _least_shift(room: Room, place: Place, found: _Found) -> float | None:
    """The least change of the offset, in whole millimetres, at which every part is proven to clear."""
    missing = found.required_mm - found.at_least_mm
    if room.searched or not 0.0 < missing <= NEAR_MM:
        return None
    best: float | None = None
    for way in (1.0, -1.0):
        shift = _shift_one_way(room, place.outline, place.shifted_mm, way, missing)
        if shift is not None and (best is None or abs(shift) < abs(best)):
            best = shift
    if best is None:
        return None
    try:
        # a greater offset stands further inboard
        place.mounted.wheel.with_offset(place.offset_mm - best)
    except ClearanceError:
        return None
    return -best + 0.0


def _shift_one_way(room: Room, outline: Outline, shifted: float, way: float, missing: float) -> float | None:
    """The gap changes by no more than a millimetre for a millimetre, so what is missing may be stepped over."""
    at = math.ceil(missing)
    for _ in range(_LOOKS):
        if at > MOST_SHIFT_MM:
            return None
        spare = float((room.least(outline, shifted + way * at) - room.required).min())
        if spare >= 0.0:
            return way * at
        if spare < -2.0 * missing - 1.0:
            return None
        at += max(1, math.ceil(-spare))
    return None


# ---- how sure


def _confidence(room: Room, place: Place, found: _Found) -> float:
    """That the part keeps its required gap, 0 to 1."""
    assert found.ends is not None
    one = room.parts[found.ends.part]
    deviations, mean = _doubts(room.mockup, place, one, found.ends.place)
    deviation = math.sqrt(sum(value * value for value in deviations))
    stands = found.at_least_mm if math.isfinite(found.at_least_mm) else found.at_most_mm
    spare = stands + mean - found.required_mm
    if deviation < 1e-9:
        return 1.0 if spare >= 0.0 else 0.0
    return 0.5 * (1.0 + math.erf(spare / deviation / math.sqrt(2.0)))


def _doubts(mockup: MockUp, place: Place, one: PartRoom, real: int) -> tuple[list[float], float]:
    """Standard deviations of this gap by each source, and what one-sided ones move it by on average."""
    stated = mockup.terms.uncertainty.stated
    y, r = one.cover.edge_mm[real]
    near = place.outline.chain.near(np.array([y - place.shifted_mm]), np.array([r]))
    across, away = float(near.across[0]), float(near.away[0])
    setting, point = one.cover.setting[real], one.cover.point_mm[real]
    share = one.cover.share[real]
    slopes = {"backspace": across, **_moves(mockup, one, setting, point, float(share), across, away)}
    deviations = [slopes[name] * stated.get(name, DEFAULTS[name][0]) / 2.0 for name in slopes]
    part = one.part
    own = part.uncertainty_mm or (TAPE_MM if mockup.terms.uncertainty.parts_mm is None else 0.0)
    own = own or mockup.terms.uncertainty.parts_mm or 0.0
    deviations.append(mockup.terms.uncertainty.part_mm.get(part.name, own) / 2.0)
    deviations.append(mockup.suspension.uncertainty_mm / 2.0)
    mean = 0.0
    for name, low, high, even in tire_doubts(place.mounted.tire, mockup.terms.uncertainty):
        slope = -0.5 * (abs(across) if name == "section_width" else max(away, 0.0))
        deviations.append(slope * ((high - low) / math.sqrt(12.0) if even else max(abs(low), abs(high)) / 2.0))
        mean += slope * (low + high) / 2.0
    return deviations, mean


def _moves(
    mockup: MockUp,
    one: PartRoom,
    setting: np.ndarray,
    point: np.ndarray,
    share: float,
    across: float,
    away: float,
) -> Mapping[str, float]:
    """What a millimetre or a degree of each measure of the car does to the gap, at a real place."""
    path = one.seen.path
    centre, axis = path.at(setting[None])
    lever = point + share * path.far_at(setting[None])[0] - centre[0]
    along = float(lever @ axis[0])
    sideways = lever - along * axis[0]
    outward = sideways / max(float(np.linalg.norm(sideways)), 1e-9)
    toward = across * axis[0] + away * outward
    on_body = 1.0 if one.part.rides_on == BODY else 0.0
    swing = np.cross(np.array([-1.0, 0.0, 0.0]), lever) * math.pi / 180.0
    moves = {
        "axle_lengthways": on_body * float(toward[0]),
        "axle_sideways": on_body * float(toward[1]),
        "ride_height": on_body * float(toward[2]),
        "camber": float(toward @ swing),
    }
    ends = {0: ("bump_travel", mockup.suspension.cycle.bump_mm), 2: ("steer", mockup.suspension.cycle.steer_deg)}
    for column, number in enumerate(one.seen.moving):
        if number in ends:
            name, (low, high) = ends[number]
            if high - low > 2 * _AT_END and not low + _AT_END < setting[column] < high - _AT_END:
                moves[name] = _slope(one, setting, column, point, share, across, away)
    return moves


def _slope(
    one: PartRoom, setting: np.ndarray, column: int, point: np.ndarray, share: float, across: float, away: float
) -> float:
    """Change of the gap by one number of the setting."""
    path = one.seen.path
    settings = np.array([setting, setting])
    inward = _STEP if setting[column] < path.box[column].mean() else -_STEP
    settings[1, column] += inward
    centre, axis = path.at(settings)
    lever = point + share * path.far_at(settings) - centre
    along = np.einsum("ij,ij->i", lever, axis)
    radial = np.linalg.norm(lever - along[:, None] * axis, axis=1)
    return float((across * np.diff(along)[0] + away * np.diff(radial)[0]) / inward)
