"""A person with a tape beside a car whose truth is known: every letter of a sheet, each off by what its tape allows.

The car is one of the judge's inventions, with every hardpoint. Its well is a tub and a lip of known place. The person
reads letters, never a hardpoint, at ride height or with the axle hanging; the tool is given the letters alone.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
from judge.errors import CannotStand
from judge.inventing import invented
from judge.writing import Tables, text_of
from tape.simulated import CARRIED_BY, MOST_BUMP_STEER, bump_steer

import clearance
from clearance.answers.budget import budget
from clearance.gap.cycle import over_cycle
from clearance.report.forms import CARRIERS, Form, form_of

REAR = {
    "leaf springs": "rear-leaf",
    "links": "rear-links",
    "trailing arm": "rear-trailing-arm",
    "semi-trailing arm": "rear-semi-trailing-arm",
    "swing axle": "rear-swing-axle",
    "twin beam": "rear-twin-beam",
    "wishbones": "rear-wishbones",
    "multi-link": "rear-multi-link",
}
FRONT = {"leaf springs": "front-leaf", "links": "front-links", "wishbones": "front-wishbones", "strut": "front-strut"}
LEAN_AT_MM = 265.0
"""How high above the hub R is taken: at the tire's shoulder."""
NAMES = ("well inner wall", "well crown", "well front", "well rear", "fender lip")


@dataclass(frozen=True, slots=True, kw_only=True)
class Well:
    """The true well, mm from the hub at ride height."""

    inner: float
    crown: float
    front: float
    rear: float
    lip: float
    """Hub face to the lip's inside."""
    lip_height: float
    return_depth: float

    def parts(self) -> list[Tables]:
        """As a corner file has it."""
        edge = self.lip + self.return_depth
        tub = {"inner": self.inner, "crown": self.crown, "front": self.front, "rear": self.rear, "outer": edge}
        lip = {"outboard": edge, "radius": self.lip_height, "return_depth": self.return_depth}
        return [
            {"name": "well", "kind": "tub", "bottom": "120 mm", **_lengths(tub)},
            {"name": "fender lip", "kind": "lip", **_lengths(lip)},
        ]


@dataclass(frozen=True, slots=True, kw_only=True)
class Reading:
    """One part: what is true, and what is said from the tape."""

    sheet: str
    number: int
    part: str
    required_mm: float
    true_mm: float
    low_mm: float
    high_mm: float
    verdict: str

    @property
    def holds(self) -> bool:
        """Is the truth in what is said, and is nothing said to clear that hits?"""
        inside = self.low_mm <= self.true_mm + 0.1 and self.true_mm <= self.high_mm + 0.1
        return inside and not (self.verdict == "clears" and self.true_mm < 0.0)


def _lengths(table: dict[str, float]) -> dict[str, str]:
    return {key: f"{value:.3f} mm" for key, value in table.items()}


def true_car(number: int) -> tuple[Tables, Well] | None:
    """A car with its well; None where the number makes none that a sheet is for."""
    tables = invented(number).tables
    kind = tables["suspension"]["kind"]
    front = "steering" in tables
    carried_by = CARRIED_BY.get(kind, "")
    if carried_by not in (FRONT if front else REAR):
        return None
    rng = np.random.default_rng(number)
    bare = {**tables, "part": [{"name": "far", "kind": "wall", "inboard": "900 mm"}]}
    profile = clearance.read(text_of(bare)).solid.profile
    inboard, outboard, _, radius = profile.bounds
    room = rng.uniform(20.0, 90.0, 6)
    well = Well(
        inner=-inboard + room[0],
        crown=radius + 90.0 + room[1],
        front=radius + room[2] + 20.0,
        rear=radius + room[3] + 20.0,
        lip=outboard + 0.6 * room[4] - 10.0,
        lip_height=radius + 0.5 * room[5],
        return_depth=rng.uniform(8.0, 25.0),
    )
    return {**tables, "part": well.parts()}, well


def letters_of(corner: Any, tables: Tables, well: Well, form: Form, rng: np.random.Generator) -> dict[str, str]:
    """What the person writes down."""
    cycle = corner.suspension.cycle
    hung = 0.0 if rng.random() < 0.6 else rng.uniform(0.2, 0.8) * -cycle.bump_mm[0]
    ride, down = (corner.suspension.pose(np.array([[-mm, -mm, 0.0]])) for mm in (0.0, hung))
    across, along = down.origin_mm[0, 1], down.origin_mm[0, 0]
    lean = LEAN_AT_MM * (down.axis[0, 2] - ride.axis[0, 2])
    tire, wheel = corner.tire, corner.wheel
    values = {
        "B": tire.overall_diameter_mm, "C": tire.section_width_mm, "G": wheel.backspace_mm,
        "J": cycle.bump_mm[1], "K": -cycle.bump_mm[0], "R": well.inner + across + lean, "S": well.lip - across,
        "T": well.lip_height, "T1": well.lip_height + hung, "U": well.return_depth, "V": well.crown + hung,
        "W": well.front - along, "X": well.rear + along,
    }  # fmt: skip
    if form.carrier.axle:
        values["K1"] = clearance.length_mm(tables["suspension"]["track"])
        if cycle.articulation_mm is not None:
            values["K2"] = cycle.articulation_mm
    known = {key: f"{value + _off(form, key, rng):.1f} mm" for key, value in values.items()}
    known |= {"E": f"{wheel.diameter_in:g} in", "F": f"{wheel.width_in:g} in", "corner": tables["corner"]}
    return known | (_axis_of(corner, form, rng) if form.carrier.front else {})


def _off(form: Form, code: str, rng: np.random.Generator) -> float:
    """What the tape is off by: up to what the sheet says of it, its last figure among it."""
    return 0.0 if code == "U" else float(rng.uniform(-1.0, 1.0)) * (form.letter(code).within - 0.05)


def _axis_of(corner: Any, form: Form, rng: np.random.Generator) -> dict[str, str]:
    low, high = corner.suspension.cycle.steer_deg
    left, right = (high, -low) if not corner.right_hand else (-low, high)
    kingpin = corner.suspension.kingpin
    if kingpin is None:
        raise CannotStand("nobody could sight this axis")
    up = kingpin.axis * np.sign(kingpin.axis[2])
    at = kingpin.through_mm - up * (kingpin.through_mm[2] / up[2])
    if abs(at[0]) > 8.0:
        raise CannotStand("an axis that stands ahead of or behind the hub has no letter")
    angles = {
        "L": left, "M": right, "P": np.degrees(np.arctan2(-up[1], up[2])), "Q": np.degrees(np.arctan2(-up[0], up[2]))
    }  # fmt: skip
    known = {key: f"{value + 0.65 * _off(form, key, rng):.2f} deg" for key, value in angles.items()}
    offset = 0.5 * _off(form, "N", rng) - at[1]
    return known | {"N": f"{offset:.1f} mm"}


def readings(number: int) -> list[Reading]:
    """What is said from the tape of a car, part by part; nothing where the number makes no car for a sheet."""
    try:
        made = true_car(number)
        if made is None:
            return []
        tables, well = made
        corner = clearance.read(text_of(tables))
        if bump_steer(corner) > MOST_BUMP_STEER:
            return []
        sheet = (FRONT if "steering" in tables else REAR)[CARRIED_BY[tables["suspension"]["kind"]]]
        form = form_of(sheet)
        rng = np.random.default_rng(number)
        known = letters_of(corner, tables, well, form, rng)
        tape = clearance.measuring(sheet)
        tape.known.update(known)
        files, _ = clearance.corner_files(tape, "taped.toml")
    except (CannotStand, clearance.ClearanceError):
        return []
    return _held(number, sheet, corner, _same_play(files["taped.toml"].decode(), tables))


def _same_play(text: str, tables: Tables) -> Any:
    """The taped corner with the true car's play, which no letter asks for."""
    document = clearance.Document(text).changed({"suspension.shift": tables["suspension"].get("shift")})
    return clearance.read(document.text)


def _held(number: int, sheet: str, corner: Any, taped: Any) -> list[Reading]:
    truth = {gap.part: gap for gap in over_cycle(corner)}
    said = {gap.part: gap for gap in clearance.check(taped).value.gaps}
    allowed = {row.part: row.gap_mm - row.worst_mm for row in budget(taped, taped.terms.uncertainty).parts}
    found = []
    for name in NAMES:
        gap, off = said[name], allowed[name]
        found.append(
            Reading(
                sheet=sheet,
                number=number,
                part=name,
                required_mm=gap.required_mm,
                true_mm=0.5 * (truth[name].at_least_mm + truth[name].at_most_mm),
                low_mm=gap.at_least_mm - off,
                high_mm=gap.at_most_mm + off,
                verdict=gap.verdict,
            )
        )
    return found


assert set(REAR.values()) | set(FRONT.values()) <= set(CARRIERS)
