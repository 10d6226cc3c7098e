"""A commented corner file from the answers: every line says which letter it came from, or that it was assumed.

What was measured is written as it was measured, fraction and unit. What letters make together is written in
millimetres, to a tenth, with the sum beside it. What was left out is left open: the kind of suspension is one
that holds whatever was not measured does, and no surface stands where nothing was measured.
"""

from __future__ import annotations

import math
import re
from collections.abc import Iterator, Mapping
from contextlib import suppress
from typing import Any

from clearance.description.writing import Sheet
from clearance.errors import TireError
from clearance.report.answers import Answers, marking_of, value_of
from clearance.report.forms import POINTS, Form
from clearance.report.letters import LINKS_DEPTH, NUMBER, PLACE, POINT, ROW, STANDING, Letter
from clearance.suspension.by_travel import (
    CASTER_DEG,
    KINGPIN_INCLINATION_DEG,
    KINGPIN_OFFSET_MM,
    LEAN_WITHIN_DEG,
    OFFSET_WITHIN_MM,
    AxleBounds,
)
from clearance.suspension.kinds import KINDS
from clearance.tire.dimensions import dimensions_of
from clearance.units import length_mm

LIP_RETURN_MM = 20.0
"""Depth of a lip's return where it was not measured: 3/4 in, common practice."""
SIGHTED_WITHIN_MM, SIGHTED_WITHIN_DEG = 10.0, 2.0
"""How far from its letters an axis that was measured may be."""
LEAF_PLAY_MM = 6.0
"""Sideways, each way, of an axle on leaf springs: 1/4 in, a proposal from common practice (no published figure)."""
ABREAST_MM = 120.0
"""How far ahead and behind the hub a strut or what else turns with the wheel is taken to reach (common practice)."""
_LEVER_MM = 350.0
"""From the hub to where a well is measured, about: the tire's radius."""

Rows = Iterator[tuple[str, Any, str]]
"""Key, value and the words beside it."""


def corner_text(form: Form, answers: Answers) -> str:
    """The corner file; it needs every letter that `missing` names."""
    return _Corner(form, answers).text()


class _Corner:
    """One corner file on its way."""

    def __init__(self, form: Form, answers: Answers) -> None:
        self.form = form
        self.answers = answers
        self.sheet = Sheet()
        self.hung_mm = hung_mm(answers)
        """How far below ride height the hub was while the well was measured."""

    def text(self) -> str:
        self._head()
        self._tire_and_wheel()
        self._suspension()
        self._steering()
        self._well()
        self._lip()
        self._near()
        self._uncertainty()
        return self.sheet.text()

    # ---- rows

    def _put(self, rows: Rows) -> None:
        for key, value, words in rows:
            self.sheet.row(key, value, words)

    def _given(self, letter: str, key: str, words: str) -> Rows:
        """The row of an answered letter; nothing where it was left out."""
        if self.answers.get(letter):
            yield key, self.answers[letter], f"{letter}, {words}"

    def _mm(self, letter: str) -> float | None:
        return value_of(self.answers, letter)

    # ---- sections

    def _head(self) -> None:
        form = self.form
        corner = self.answers.get("corner") or ("front-left" if form.carrier.front else "rear-left")
        self.sheet.remark(f"Measured with the sheet for a {form.words}. The letters are the sheet's.")
        self.sheet.remark(
            "Lengths carry their unit. Points are [ahead, outboard, above] from the centre of the hub's mounting face."
        )
        if self.hung_mm:
            lower = "below" if self.hung_mm > 0 else "above"
            self.sheet.remark(
                f"The hub stood {abs(self.hung_mm):.0f} mm {lower} ride height while the well was measured (T1 - T):"
                " heights are put right by that, and what the links may have done meanwhile widens each part."
            )
        self.sheet.row("title", self.answers.get("title") or f"A {form.carrier.words}")
        self.sheet.row("corner", corner)

    def _tire_and_wheel(self) -> None:
        self.sheet.section("[tire]")
        self._put(self._given("A", "size", "the marking; measured numbers beat it"))
        self._put(self._given("B", "overall_diameter", "tread to tread, no weight on it"))
        self._put(self._given("C", "section_width", "widest place, on this rim"))
        self._put(self._given("D", "tread_width", "to where the shoulders begin"))
        if any(self.answers.get(letter) for letter in "BCD"):
            self.sheet.row("measured", True, "on this very tire, as the sheet asks")
        if not self.answers.get("A"):
            self._put(self._given("E", "rim_diameter", "the rim that it is for"))
        self.sheet.row("shape", "road", "road, square or round: look at the shoulders")
        self.sheet.row("growth", "none", '"in-service" adds what a tire grows in use (ISO 4000)')
        marking = marking_of(self.answers)
        self.sheet.section("[wheel]")
        if self.answers.get("E"):
            self._put(self._given("E", "diameter", "of the bead seats"))
        elif marking is not None:
            self.sheet.row("diameter", f"{marking.rim_in:g} in", "from the marking")
        self._put(self._given("F", "width", "between the bead seats, not over all"))
        self._put(self._given("G", "backspace", "mounting face to the inner edge of the rim"))
        self._put(self._given("H", "bolt_circle", "for inspection and the gauge"))

    def _suspension(self) -> None:
        form = self.form
        self.sheet.section("[suspension]")
        if form.depth == STANDING:
            self.sheet.row("kind", "standing", "nothing of the travel was measured: ride height only")
            self.sheet.row("carried_by", form.carrier.carried_by, "for `clearance room`: what its links may do")
            return
        if form.depth == LINKS_DEPTH:
            self.sheet.row("kind", form.links, "by its points")
        else:
            kind = "axle-by-travel" if form.carrier.axle else "wheel-by-travel"
            self.sheet.row("kind", kind, "the links were not measured: what they may do widens the answer")
            self.sheet.row("carried_by", form.carrier.carried_by)
        self._put(self._given("J", "bump", "ride height to bump stop, at the wheel"))
        self._put(self._given("K", "droop", "ride height to full droop"))
        self._put(self._given("K1", "track", "hub face to hub face"))
        self._put(self._articulation())
        self._put(self._points())
        self._put(self._axis_within())
        play = {"inboard": f"{LEAF_PLAY_MM:g} mm", "outboard": f"{LEAF_PLAY_MM:g} mm"}
        if form.carrier.carried_by == "leaf springs":
            self.sheet.row("shift", play, "sideways flex of leaf springs: assumed, edit it")
        else:
            self.sheet.remark('shift = { inboard = "...", outboard = "..." }  # play and flex, where you know it')

    def _articulation(self) -> Rows:
        """The most that one wheel can be above the other, and what the tape may have missed of it."""
        mm = self._mm("K2")
        if mm is not None:
            within = self.form.letter("K2").within
            yield "articulation", f"{mm + within:.1f} mm", f"K2, and {within:g} mm that it may be more"

    def _points(self) -> Rows:
        """The letters of the links as their keys."""
        by_key: dict[str, list[Letter]] = {}
        for letter in self.form.groups.get(POINTS, ()):
            if self.answers.get(letter.letter):
                by_key.setdefault(letter.key, []).append(letter)
        for key, letters in by_key.items():
            found = [_listed(letter, self.answers[letter.letter]) for letter in letters]
            yield key, found if letters[0].measure == ROW else found[0], letters[0].letter.partition(".")[0]

    def _axis_within(self) -> Rows:
        """How well the steering axis is known, where no points say it."""
        if not self.form.carrier.front or self.form.depth != "travel":
            return
        offset, lean = ("N",), ("P", "Q")
        within = SIGHTED_WITHIN_MM if _all(self.answers, offset) else OFFSET_WITHIN_MM
        yield "axis_within", f"{within:g} mm", "of N" if _all(self.answers, offset) else "N was not measured"
        within = SIGHTED_WITHIN_DEG if _all(self.answers, lean) else LEAN_WITHIN_DEG
        yield "axis_turned_within", f"{within:g} deg", "of P and Q" if _all(self.answers, lean) else "P or Q was not"

    def _steering(self) -> None:
        if not self.form.carrier.front or self.form.depth == STANDING:
            return
        self.sheet.section("[steering]")
        self._put(self._given("L", "left", "this wheel's angle at full left lock"))
        self._put(self._given("M", "right", "and at full right lock"))
        if self.form.depth == LINKS_DEPTH and KINDS[self.form.links].own_axis:
            return
        assumed = [letter for letter in ("N", "P", "Q") if not self.answers.get(letter)]
        words = f"{', '.join(assumed)} not measured: a middling axis, and how far it may be off is above"
        self.sheet.remark(words if assumed else "N, P, Q")
        offset = self.answers.get("N") or f"{KINGPIN_OFFSET_MM:g} mm"
        axis = {
            "through": ["0 mm", negative(offset), "0 mm"],
            "inclination": self.answers.get("P") or f"{KINGPIN_INCLINATION_DEG:g} deg",
            "caster": self.answers.get("Q") or f"{CASTER_DEG:g} deg",
        }
        self.sheet.row("axis", axis)

    # ---- the well

    def _height(self, letter: str, words: str) -> tuple[str, str]:
        """A height above the hub at ride height, as written where the hub was there while it was measured."""
        if not self.hung_mm:
            return self.answers[letter], f"{letter}, {words}"
        mm = (self._mm(letter) or 0.0) - self.hung_mm
        return f"{mm:.1f} mm", f"{letter} - (T1 - T), {words}"

    def _lowest(self) -> tuple[str, str]:
        """How far below the hub a sheet reaches: to its bottom, or to the road."""
        if self.answers.get("R1"):
            height, words = self._height("R1", "the bottom of the wall, its sign turned")
            return negative(height), words
        return f"{road_mm(self.answers):.0f} mm", "R1 was not measured: no lower than the road"

    def _well(self) -> None:
        """A whole tub where the top was measured, else the walls that were."""
        below, words = self._lowest()
        if not self.answers.get("V") or not self.answers.get("R"):
            self._walls(below, words)
            return
        self.sheet.section("[[part]]")
        self.sheet.row("name", "well", 'findings call its faces "well inner wall", "well crown" and so on')
        self.sheet.row("kind", "tub")
        self._put(self._given("R", "inner", "hub face to inner wall, at its tightest"))
        self.sheet.row("crown", *self._height("V", "hub centre up to the top"))
        self.sheet.row("outer", f"{self._lip_edge_mm():.1f} mm", "as far out as the lip: S + U")
        self._put(self._given("W", "front", "hub centre to the front of the well"))
        self._put(self._given("X", "rear", "hub centre to its rear"))
        if self._bottom_mm() > 0:
            self.sheet.row("bottom", below, words)
        else:
            self.sheet.row("bottom", "0 mm", "R1 is above the hub: taken down to its height")
        self._keeps()
        self._within("R")

    def _bottom_mm(self) -> float:
        """How far below the hub the sheets end, or the road is."""
        return road_mm(self.answers) if not self.answers.get("R1") else self.hung_mm - (self._mm("R1") or 0.0)

    def _walls(self, below: str, words: str) -> None:
        if self.answers.get("R"):
            self.sheet.section("[[part]]").row("name", "inner wall").row("kind", "wall")
            self._put(self._given("R", "inboard", "hub face to inner wall, at its tightest"))
            self.sheet.row("below", below, words)
            self._keeps()
            self._within("R")
        for letter, name, sign in (("W", "well front", 1.0), ("X", "well rear", -1.0)):
            if self.answers.get(letter):
                self._end_plate(letter, name, sign)

    def _end_plate(self, letter: str, name: str, sign: float) -> None:
        ahead, high = sign * (self._mm(letter) or 0.0), self._lip_height_mm() or 500.0
        inner, outer, low = -(self._mm("R") or 300.0), self._lip_edge_mm(), -road_mm(self.answers)
        corners = [(ahead, inner, low), (ahead, outer, low), (ahead, outer, high), (ahead, inner, high)]
        self.sheet.section("[[part]]").row("name", name)
        self.sheet.row("kind", "plate", f"{letter}; as wide as the well, from the road up to the lip")
        self.sheet.row("corners", [[f"{c:.1f} mm" for c in corner] for corner in corners])
        self._keeps()
        self._within(letter)

    def _within(self, *letters: str) -> None:
        """How far the surface may be off: the tape, and what the links did while the hub hung."""
        tape = max(self.form.letter(letter).within for letter in letters)
        hung = self._moved_while_hanging_mm()
        words = "the tape" if not hung else f"the tape, and {hung:.0f} mm for the links while the hub hung"
        self.sheet.row("uncertainty", f"{tape + hung:.1f} mm", words)

    def _moved_while_hanging_mm(self) -> float:
        """How far the hub face may have gone sideways, along or askew between ride height and where it hung."""
        share, bounds = abs(self.hung_mm) / 100.0, self.form.carrier.bounds
        moved = math.hypot(bounds.across_per_100mm, bounds.along_per_100mm) * share
        if isinstance(bounds, AxleBounds):
            return moved
        return moved + _LEVER_MM * math.radians(bounds.camber_per_100mm + bounds.toe_per_100mm) * share

    def _lip_edge_mm(self) -> float:
        depth = self._mm("U")
        return (self._mm("S") or 0.0) + (LIP_RETURN_MM if depth is None else depth)

    def _lip_height_mm(self) -> float | None:
        """Of the lip above the hub at ride height."""
        return self._mm("T")

    def _lip(self) -> None:
        if not self.answers.get("S"):
            return
        self.sheet.section("[[part]]").row("name", "fender lip")
        if not self.answers.get("T"):
            self.sheet.row("kind", "wall", "T was not measured: the lip may be at any height above the hub")
            self._put(self._given("S", "outboard", "hub face to the lip's inside"))
            self.sheet.row("below", "0 mm")
            self._keeps(lip=True)
            self._within("S")
            return
        depth = self.answers.get("U") or f"{LIP_RETURN_MM:g} mm"
        words = "U" if self.answers.get("U") else "assumed (common practice): measure it, a rear tire meets it first"
        self.sheet.row("kind", "lip")
        self.sheet.row("outboard", f"{self._lip_edge_mm():.1f} mm", "S + U: the edge where the return begins")
        self._put(
            self._given("T", "radius", "hub centre up to the lip; taken as round about the hub: give centre or outline")
        )
        self.sheet.row("return_depth", depth, words)
        self._put(self._given("U1", "trim_thickness", "rubber or chrome over the edge"))
        self._keeps(lip=True)
        self._within("S")

    def _keeps(self, rides_on: str = "body", *, lip: bool = False) -> None:
        """The gap that a part must keep, where the person chose one; else its kind's stands, and says so."""
        letter = "X2" if lip else "X1" if rides_on == "body" else "X3"
        self._put(self._given(letter, "required", "the gap to keep, as you chose it"))

    # ---- what is near

    def _near(self) -> None:
        if self.answers.get("Y") and self.form.carrier.carried_by == "leaf springs":
            self._beside("Y", "leaf spring", "axle", "it rides on the axle, so this gap is the same at every height")
        elif self.answers.get("Y"):
            self._strut()
        if self.answers.get("Z"):
            self._rail()
        for letter in self.form.letters:
            if letter.measure == PLACE and self.answers.get(letter.letter):
                self._thing(letter)

    def _beside(self, code: str, name: str, rides_on: str, words: str) -> None:
        self.sheet.section("[[part]]").row("name", name).row("kind", "wall")
        self._put(self._given(code, "inboard", words))
        self.sheet.row("below", f"{road_mm(self.answers):.0f} mm", "no lower than the road")
        self.sheet.row("rides_on", rides_on)
        self._keeps(rides_on)
        self.sheet.row("uncertainty", f"{self.form.letter(code).within:g} mm", "the tape")

    def _strut(self) -> None:
        self.sheet.section("[[part]]").row("name", "strut").row("kind", "wall")
        self._put(self._given("Y", "inboard", "it turns with the wheel, so this gap stays as it is"))
        bottom = self.answers.get("Y1")
        words = "Y1, its sign turned" if bottom else "Y1 was not measured: from the hub's height up"
        self.sheet.row("below", negative(bottom) if bottom else "0 mm", words)
        for key in ("ahead", "behind"):
            self.sheet.row(key, f"{ABREAST_MM:g} mm", "no wider than that (common practice)")
        self.sheet.row("rides_on", "knuckle")
        self._keeps("knuckle")
        self.sheet.row("uncertainty", f"{self.form.letter('Y').within:g} mm", "the tape")

    def _rail(self) -> None:
        self.sheet.section("[[part]]").row("name", "frame rail").row("kind", "wall")
        self._put(self._given("Z", "inboard", "hub face to the rail"))
        if self.answers.get("Z1"):
            height, words = self._height("Z1", "with its sign turned: how far it goes below the hub")
            self.sheet.row("below", negative(height), words)
        else:
            self.sheet.row("below", f"{road_mm(self.answers):.0f} mm", "Z1 was not measured: no lower than the road")
        if self.answers.get("Z2"):
            self.sheet.row("above", *self._height("Z2", "hub centre up to its top"))
        self._keeps()
        self._within("Z")

    def _thing(self, letter: Letter) -> None:
        """What else stands near, as the upright sheet that its three numbers are."""
        rides_on = self._rides_on(letter)
        parts = self.answers[letter.letter].split(", ")
        self.sheet.section("[[part]]").row("name", letter.name.partition(":")[0].partition(",")[0]).row("kind", "wall")
        self.sheet.row("inboard", parts[0], letter.letter)
        hung = self.hung_mm if rides_on == "body" else 0.0
        if len(parts) == 3:
            low, high = (_shifted(part, hung) for part in parts[1:])
            self.sheet.row("below", negative(low), "its lowest point, the sign turned")
            self.sheet.row("above", high, "its highest")
        else:
            self.sheet.row("below", f"{road_mm(self.answers):.0f} mm", "no lower than the road")
        self._keeps(rides_on)
        if rides_on != "body":
            self.sheet.row("rides_on", rides_on)
            self.sheet.row("uncertainty", f"{letter.within:g} mm", "the tape")
        else:
            self._within(letter.letter)

    def _rides_on(self, letter: Letter) -> str:
        if self.form.depth == STANDING and letter.letter not in ("AF", "AG"):
            # with nothing known of the travel, what hangs on the axle is looked at where it stands
            return "body"
        return _RIDES_ON.get(letter.letter, "body")

    def _uncertainty(self) -> None:
        """How well each letter was taken, for `clearance budget`."""
        keys = {"G": "backspace", "B": "overall_diameter", "C": "section_width", "J": "bump_travel", "L": "steer"}
        stated = {
            key: f"{self.form.letter(letter).within:g} {'deg' if letter == 'L' else 'mm'}"
            for letter, key in keys.items()
            if self.answers.get(letter) and any(one.letter == letter for one in self.form.letters)
        }
        if stated:
            self.sheet.section("[uncertainty]").remark(
                "plus or minus of each number, as a careful person takes it: edit it"
            )
            self.sheet.rows(stated)


_RIDES_ON = {"AC": "axle", "AD": "axle", "AE": "axle", "AF": "knuckle", "AG": "knuckle"}


def hung_mm(answers: Answers) -> float:
    """How far below ride height the hub was while the well was measured; above it is negative, a millimetre is none."""
    ride, then = value_of(answers, "T"), value_of(answers, "T1")
    if ride is None or then is None or abs(then - ride) < 1.0:
        return 0.0
    return then - ride


def road_mm(answers: Answers) -> float:
    """How far below the hub the road is at most: the tire's radius without its weight on it, rounded up."""
    diameter = value_of(answers, "B")
    marking = marking_of(answers)
    if diameter is None and marking is not None:
        # a size that only a tape can know has no dimensions here
        with suppress(TireError):
            diameter = dimensions_of(marking).overall_diameter_mm
    return math.ceil((diameter or 900.0) / 2.0 + 15.0)


def negative(length: str) -> str:
    """A written length with its sign turned.

    >>> negative("3 3/4 in"), negative("-20 mm")
    ('-3 3/4 in', '20 mm')
    """
    return length[1:].strip() if length.startswith("-") else f"-{length}"


def _shifted(text: str, lower_mm: float) -> str:
    if not lower_mm:
        return text
    return f"{length_mm(text) - lower_mm:.1f} mm"


def _all(answers: Mapping[str, str], letters: tuple[str, ...]) -> bool:
    return all(answers.get(letter) for letter in letters)


def _listed(letter: Letter, text: str) -> Any:
    """An answer as its key takes it."""
    if letter.measure == NUMBER:
        return float(text)
    return re.split(r",\s*", text) if letter.measure in (POINT, ROW) else text
