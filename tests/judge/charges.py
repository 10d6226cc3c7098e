"""What the judge holds against an answer, part by part: every line of the findings that does not bear looking at.

* undercut - a place was found where the gap is less than `at_least`, which was certified
* witness  - the place that is printed for `at_most` is not one, or the gap there is another
* bracket  - its ends the wrong way round, or further apart than `finished` promises
* verdict  - it does not follow from the numbers
* range    - the findings' cycle, or the witness, goes beyond the corner file's, or stops short of it

`at_least` is rounded down where it is printed and `at_most` up, to 0.0001 mm, so `at_least` needs no allowance, and
`at_most` that much. Positions, pushes and points are printed to as many places: what half of the last one does to the
gap, by its slopes, is allowed for.
"""

from __future__ import annotations

import itertools
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np

from .attack import Nearest
from .moving import Array, Moving, fixed
from .places import Corner, Places
from .shapes import Part
from .stances import AXLE, BODY, KNUCKLE, PUSHED, Stance

UNDERCUT_MM = 1e-6
PRINTED = 1e-4
"""The last printed place of a length, and of an angle."""
HALF = 0.5 * PRINTED * 1.01
CHORD_MM = 0.01
"""How far inside an arch a chord of it may stand, as documented: a witness may lie on the chord."""
DEEP_MM, DEEP_SHARE = 0.5, 0.02
"""How wide a finished bracket of a depth may be, as documented."""
ROUNDING_MM = 1e-3
"""What the path's own error may add to a bracket that is as narrow as was asked."""

WORST_FIRST = ("hits", "undecided", "tight", "clears")
EXIT_CODES = {"clears": 0, "tight": 1, "hits": 1, "undecided": 3}

RACK, ON_LINK, BETWEEN = "rack travel", "play on a link", "play between two frames"
"""What is special about a part or a corner, where faults were found before."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Charge:
    """One thing that is held against an answer."""

    part: str
    what: str
    words: str
    special: tuple[str, ...] = ()
    """What is special about the part: where to look first."""


def special_about(corner: Corner, part: Part | None) -> tuple[str, ...]:
    """What is special about a part, or about the corner as a whole."""
    found = []
    if corner.car.travel.rack is not None and corner.car.tables["suspension"]["kind"] != "multi-link":
        found.append(RACK)
    if part is not None and corner.car.push.any():
        if part.far is not None:
            found.append(BETWEEN)
        elif part.near not in (BODY, AXLE, KNUCKLE):
            found.append(ON_LINK)
    return tuple(found)


Row = Mapping[str, Any]


def charges_of(
    corner: Corner,
    parts: list[Part],
    findings: Row,
    code: int,
    found: list[Nearest],
    seen: Mapping[str, Witness],
) -> list[Charge]:
    """Everything that is held against an answer."""
    rows = {row["name"]: row for row in findings["parts"]}
    every = [*_of_the_whole(corner, parts, findings, code)]
    for part, nearest in zip(parts, found, strict=True):
        if part.name not in rows:
            continue
        row = rows[part.name]
        words = [
            *_undercut(corner, row, nearest),
            *_bracket(row, findings["tolerance"]),
            *_verdict(part, row, findings["tolerance"]),
            *_witnessed(corner, part, row, seen[part.name]),
        ]
        every += [
            Charge(part=part.name, what=what, words=text, special=special_about(corner, part)) for what, text in words
        ]
    return every


def _of_the_whole(corner: Corner, parts: list[Part], findings: Row, code: int) -> list[Charge]:
    words = []
    names = sorted(row["name"] for row in findings["parts"])
    if names != sorted(part.name for part in parts):
        words.append(("parts", f"found {names}, not {sorted(part.name for part in parts)}"))
    worst = min((row["verdict"] for row in findings["parts"]), key=WORST_FIRST.index)
    if findings["verdict"] != worst or code != EXIT_CODES[worst]:
        words.append(("verdict", f"{findings['verdict']}, exit code {code}, where the worst part {worst}"))
    words += _cycle(corner, findings["cycle"])
    return [Charge(part="the corner", what=w, words=text, special=special_about(corner, None)) for w, text in words]


def _cycle(corner: Corner, cycle: Row) -> list[tuple[str, str]]:
    car = corner.car
    ends = np.zeros((2, 3))
    ends[:, 2] = car.motion.box[2]
    steer = tuple(sorted(float(angle) for angle in car.hand * car.motion.labels(ends)[:, 2]))
    (behind, ahead), (inboard, outboard) = car.push
    expected = {
        "bump": car.travel.bump,
        "other_bump": car.travel.other,
        "steer": steer,
        "articulation": car.articulation,
        "inboard": -inboard,
        "outboard": outboard,
        "ahead": ahead,
        "behind": -behind,
    }
    said = {**cycle, **cycle["shift"]}
    return [
        ("range", f"{key} is said to go {said[key]}, and goes {wanted}")
        for key, wanted in expected.items()
        if (said[key] is None) != (wanted is None)
        or (wanted is not None and np.abs(np.subtract(said[key], wanted)).max() > HALF)
    ]


def _undercut(corner: Corner, row: Row, nearest: Nearest) -> list[tuple[str, str]]:
    at_least = _at_least(row)
    if nearest.gap_mm >= at_least - UNDERCUT_MM:
        return []
    bump, other, steer = corner.car.position(nearest.setting)
    return [
        (
            "undercut",
            f"certified {at_least:.4f} mm, found {nearest.gap_mm:.6f} mm ({at_least - nearest.gap_mm:.6f} less) at bump"
            f" {bump:.4f}, other {other:.4f}, steer {steer:.4f}, pushed {nearest.push.round(4).tolist()},"
            f" at the point {nearest.point.round(4).tolist()} of the part, then at {nearest.at.round(4).tolist()};"
            f" the findings have it at {row['position']}, {row['shift']}",
        )
    ]


def _at_least(row: Row) -> float:
    """Nothing is known from below where no number is printed."""
    at_least = row["gap"]["at_least"]
    return -np.inf if at_least is None else float(at_least)


def _bracket(row: Row, tolerance: float) -> list[tuple[str, str]]:
    low, high = _at_least(row), row["gap"]["at_most"]
    width = high - low
    if width < -1e-9:
        return [("bracket", f"at_most {high} is less than at_least {low}")]
    room = tolerance if high >= 0 else max(tolerance, DEEP_MM, DEEP_SHARE * -high)
    if row["finished"] and width > room + ROUNDING_MM + 2.0 * PRINTED:
        return [("bracket", f"finished with {width:.4f} mm between its ends, where {room:.4f} is promised")]
    return []


def _verdict(part: Part, row: Row, tolerance: float) -> list[tuple[str, str]]:
    words = []
    if abs(row["required"] - part.required_mm) > HALF:
        words.append(("verdict", f"must keep {part.required_mm:.4f} mm, and is held to {row['required']}"))
    if row["verdict"] not in _follows(row, tolerance):
        words.append(("verdict", f"{row['verdict']} does not follow from {row['gap']} with {row['required']} to keep"))
    return words


def _follows(row: Row, tolerance: float) -> set[str]:
    """The verdicts that the printed numbers allow; two where a printed place decides."""
    low, high, required = _at_least(row), row["gap"]["at_most"], row["required"]
    lows, highs = (low, low + PRINTED), (high, high - PRINTED)
    return {_verdict_of(a, b, required, tolerance) for a in lows for b in highs if a <= b + 1e-9}


def _verdict_of(low: float, high: float, required: float, tolerance: float) -> str:
    """A bracket as narrow as was asked for that straddles what must be kept is tight; one that straddles zero, or is
    wider, says nothing."""
    if high < 0:
        return "hits"
    if low >= required:
        return "clears"
    narrow = high - low <= tolerance + ROUNDING_MM
    return "tight" if low >= 0 and (high < required or narrow) else "undecided"


# ---- the witness


@dataclass(frozen=True, slots=True, eq=False)
class Witness:
    """The place that the findings print, as the judge sees it."""

    position: Array
    """(3,): bump, the other wheel's bump, steer, as printed."""
    setting: Array
    nudges: Array
    """(3, 3): what the last printed place of each of the three does to the setting."""
    push: Array
    middle: Array
    """The printed point, as far under the metal's surface as the skin is thick."""
    off_mm: float
    """How far that is from the part's sheets."""
    sheet: int
    u: float
    v: float

    def place(self) -> Places:
        """Where to start looking from."""
        return Places(
            self.setting[None], self.push[None], np.array([self.sheet]), np.array([self.u]), np.array([self.v])
        )


def witnesses(corner: Corner, parts: list[Part], rows: Mapping[str, Row]) -> dict[str, Witness]:
    """The printed places of all parts that the findings have."""
    named = [part for part in parts if part.name in rows]
    positions = np.array([[rows[p.name]["position"][key] for key in _POSITION] for p in named]).reshape(-1, 3)
    nudged = positions[:, None] + np.concatenate([np.zeros((1, 3)), PRINTED * np.eye(3)])
    settings = corner.car.settings(nudged.reshape(-1, 3)).reshape(-1, 4, 3)
    found = {}
    for part, position, setting in zip(named, positions, settings, strict=True):
        row = rows[part.name]
        push = np.array([row["shift"]["ahead"], row["shift"]["outboard"]])
        middle = np.array(row["on_part"]) + part.skin_mm * np.array(row["toward_part"])
        off, sheet, u, v = _on_part(corner, part, setting[0], push, middle)
        found[part.name] = Witness(position, setting[0], setting[1:] - setting[0], push, middle, off, sheet, u, v)
    return found


_POSITION = ("bump", "other_bump", "steer")


def _on_part(corner: Corner, part: Part, setting: Array, push: Array, point: Array) -> tuple[float, int, float, float]:
    """How far a point is from the part at a setting and a push, and where on its sheets.

    What rides on a link may have gone any part of the push with it: none, or all, or half.
    """
    stance = corner.car.motion.stand(setting[None])
    whole = np.array([*push, 0.0])
    best = (np.inf, 0, 0.0, 0.0)
    taken = [_parts_of_push(frame) if push.any() else (0.0,) for frame in (part.near, part.far or BODY)]
    for near, far in itertools.product(*taken):

        def place(sheet: np.ndarray, u: Array, v: Array, near: float = near, far: float = far) -> Array:
            share = part.surface.shares_of(sheet, u)
            own = Moving(part.surface.points(sheet, u, v)[None], np.zeros((1, 1, 1, 0)))
            at = corner.carried(part, stance, own, share[None]).value[0]
            along = share if part.far else 0.0 * share
            return at + ((1.0 - along) * near + along * far)[:, None] * whole

        best = min(best, part.surface.nearest(point, place))
    return best


def _parts_of_push(frame: str) -> tuple[float, ...]:
    if frame == BODY:
        return (0.0,)
    return (1.0,) if frame in PUSHED else (0.0, 1.0, 0.5)


def _witnessed(corner: Corner, part: Part, row: Row, witness: Witness) -> list[tuple[str, str]]:
    words = _in_range(corner, row, witness)
    if row["swallowed"]:
        # at_most is then how far the wheel would have to go to be out, and no distance between surfaces
        return words
    stance = corner.car.motion.stand(witness.setting[None], rates=True)
    middle, slope = _gap_from(corner, stance, witness.push, witness.middle)
    # half of the last printed place of every number: of the position by its slopes, of points and pushes at full worth
    by_position = 0.5 * float(np.abs(witness.nudges @ slope).sum()) * 1.01
    room = by_position + HALF * (np.sqrt(3.0) + np.sqrt(2.0)) + 1e-6 * part.skin_mm
    at_most, gap = row["gap"]["at_most"], middle - part.skin_mm
    if not -room <= at_most - gap <= PRINTED + room:
        words.append(("witness", f"at_most {at_most} mm, and the gap there is {gap:.6f} mm, give or take {room:.6f}"))
    moved = 0.5 * _moved(corner, part, stance, witness)
    chord = CHORD_MM if part.surface.ruled else 0.0
    if witness.off_mm > HALF * (np.sqrt(3.0) + np.sqrt(2.0)) + 2e-6 * part.skin_mm + moved + chord:
        place = f"{row['position']}, {row['shift']}"
        words.append(("witness", f"its point lies {witness.off_mm:.6f} mm off the part at {place}"))
    on_tire = _gap_from(corner, stance, witness.push, np.array(row["on_tire"]))[0]
    if abs(on_tire) > room:
        words.append(("witness", f"its place on the tire lies {on_tire:.6f} mm off the tire"))
    return words


def _in_range(corner: Corner, row: Row, witness: Witness) -> list[tuple[str, str]]:
    car, words = corner.car, []
    bump, other, steer = witness.position
    for name, at, (low, high) in (("bump", bump, car.travel.bump), ("other_bump", other, car.travel.other)):
        if not low - HALF <= at <= high + HALF:
            words.append(("range", f"the witness stands at {name} {at}, beyond {low:g} to {high:g}"))
    low, high = car.motion.box[2]
    room = float(np.abs(witness.nudges[2, 2]))
    if not low - room <= witness.setting[2] <= high + room:
        words.append(("range", f"the witness stands at steer {steer}, beyond the locks"))
    if car.articulation is not None and abs(bump - other) > car.articulation + 2.0 * HALF:
        words.append(
            ("range", f"the witness' wheels stand {abs(bump - other):g} mm apart, where {car.articulation:g} is most")
        )
    push = witness.push
    if np.any(push < car.push[:, 0] - HALF) or np.any(push > car.push[:, 1] + HALF):
        words.append(("range", f"the witness is pushed {push.tolist()}, beyond {car.push.tolist()}"))
    return words


def _gap_from(corner: Corner, stance: Stance, push: Array, point: Array) -> tuple[float, Array]:
    """The gap of a point of the car at a stance, and its slopes (3,) with the setting."""
    hub = Moving(stance.hub.value + np.array([*push, 0.0]), stance.hub.rate)
    gap, _ = corner.outline.gap(fixed(point), hub, stance.spin)
    return float(gap.value[0]), np.broadcast_to(gap.rate[0], (3,))


def _moved(corner: Corner, part: Part, stance: Stance, witness: Witness) -> float:
    """How far the last printed places of the position move the witness' point of the part."""
    sheet, u, v = np.array([witness.sheet]), np.array([witness.u]), np.array([witness.v])
    rate = corner.points(part, stance, sheet, u, v).rate[0]
    return float(np.linalg.norm(witness.nudges @ np.broadcast_to(rate, (3, 3)).T, axis=1).sum())
