"""What carries the wheel, how much is measured, and the letters that follow from the two.

* carrier - what a person sees under the car: a leaf-sprung axle, a strut, and so on
* depth   - "standing", "travel" or "links": what the answer then stands on
* form    - one sheet: a carrier to a depth; by its links also the kind of suspension whose points are taken
"""

from __future__ import annotations

import re
from collections.abc import Collection, Mapping
from dataclasses import dataclass
from functools import cached_property

from clearance.ends.ends import Ends
from clearance.errors import InputError
from clearance.plain import echoed
from clearance.report.letters import (
    ANGLE,
    DEPTHS,
    LENGTH,
    LETTERS,
    LINKS_DEPTH,
    NUMBER,
    PLACE,
    POINT,
    ROW,
    STANDING,
    TRAVEL,
    TRAVEL_DEPTH,
    WORD,
    Letter,
)
from clearance.suspension.by_travel import AXLES, WHEELS, AxleBounds, WheelBounds
from clearance.suspension.kinds import KINDS, Key


@dataclass(frozen=True, slots=True, kw_only=True)
class Carrier:
    """What carries the wheel."""

    name: str
    words: str
    carried_by: str
    """The corner file's word, where the links are not measured."""
    links: tuple[str, ...]
    """The kinds of suspension that it can be by its links, the likeliest first."""
    look: str
    """How to know it from under the car."""

    @property
    def front(self) -> bool:
        """Whether it is a steered wheel."""
        return self.name.startswith("front")

    @property
    def axle(self) -> bool:
        """Whether both wheels are on one rigid axle."""
        return self.carried_by in AXLES

    @property
    def bounds(self) -> AxleBounds | WheelBounds:
        """What its links may do where they were not measured."""
        return AXLES[self.carried_by] if self.axle else WHEELS[self.carried_by]


_LINKED = ("four-link", "three-link", "watts-link", "torque-arm", "truck-arm", "track-bar")
_OF = (
    Carrier(
        name="rear-leaf",
        words="rear axle on leaf springs",
        carried_by="leaf springs",
        links=("leaf-arc", "leaf-spring"),
        look="one axle from wheel to wheel, clamped by U-bolts to a bundle of long flat springs on each side",
    ),
    Carrier(
        name="rear-links",
        words="rear axle on links",
        carried_by="links",
        links=_LINKED,
        look="one axle from wheel to wheel on coil springs or air bags, with bars to the frame: three or four links,"
        " a cross bar or Watts link, a torque arm or truck arms",
    ),
    Carrier(
        name="rear-de-dion",
        words="rear de Dion axle",
        carried_by="links",
        links=("de-dion",),
        look="a bare tube from wheel to wheel, the differential fixed to the body and a shaft to each wheel",
    ),
    Carrier(
        name="rear-trailing-arm",
        words="rear wheel on a trailing arm",
        carried_by="trailing arm",
        links=("trailing-arm", "table"),
        look="one arm ahead of the wheel, hinged straight across the car",
    ),
    Carrier(
        name="rear-semi-trailing-arm",
        words="rear wheel on a semi-trailing arm",
        carried_by="semi-trailing arm",
        links=("semi-trailing-arm", "table"),
        look="one wide arm ahead of the wheel, hinged on two bushings askew to the car, shafts to the wheels",
    ),
    Carrier(
        name="rear-multi-link",
        words="rear wheel on several links",
        carried_by="multi-link",
        links=("multi-link", "table"),
        look="an upright on four or five separate rods",
    ),
    Carrier(
        name="rear-wishbones",
        words="rear wheel on two wishbones",
        carried_by="wishbones",
        links=("double-wishbone", "table"),
        look="an upright between an upper and a lower arm of two legs each",
    ),
    Carrier(
        name="rear-swing-axle",
        words="rear wheel on a swing axle",
        carried_by="swing axle",
        links=("swing-axle", "table"),
        look="the axle tube of each wheel hinged at the differential: the wheel leans as it rises",
    ),
    Carrier(
        name="rear-twin-beam",
        words="rear wheel on a twist beam",
        carried_by="twin beam",
        links=("table",),
        look="two trailing arms joined by a beam across the car that twists",
    ),
    Carrier(
        name="front-wishbones",
        words="front wheel on two wishbones",
        carried_by="wishbones",
        links=("double-wishbone", "table"),
        look="a knuckle between an upper and a lower arm, a ball joint at each",
    ),
    Carrier(
        name="front-strut",
        words="front wheel on a strut",
        carried_by="strut",
        links=("strut", "table"),
        look="the knuckle clamped to a tube that goes up into the fender; one arm below",
    ),
    Carrier(
        name="front-leaf",
        words="front axle on leaf springs, steered",
        carried_by="leaf springs",
        links=("solid-steer-axle",),
        look="one beam or tube from wheel to wheel on leaf springs, with a kingpin or ball joints at its ends",
    ),
    Carrier(
        name="front-links",
        words="front axle on links, steered",
        carried_by="links",
        links=("solid-steer-axle",),
        look="the same on coil springs, with arms or links and a cross bar",
    ),
)
CARRIERS: Mapping[str, Carrier] = {carrier.name: carrier for carrier in _OF}
"""Every carrier by the word for its sheet."""

_ANY_DEPTH = ("F", "G")
_STANDING_NEEDS = (*_ANY_DEPTH, "R", "S", "T", "T1")
_FOLLOWS = {"Z1": "Z", "Z2": "Z", "Y1": "Y", "R1": "R"}
"""Letters that say more of another one."""
_ROWS = 7
"""How many rows of a measured table a sheet has room for."""


@dataclass(frozen=True, kw_only=True)
class Form:
    """One sheet: what carries the wheel, and how much is measured."""

    carrier: Carrier
    depth: str = TRAVEL_DEPTH
    links: str = ""
    """The kind of suspension, where it is measured by its links."""

    @property
    def name(self) -> str:
        """The word for it: "rear-leaf", "rear-leaf links leaf-arc"."""
        depth = "" if self.depth == TRAVEL_DEPTH else f" {self.depth}"
        return f"{self.carrier.name}{depth}{f' {self.links}' if self.links else ''}"

    @property
    def options(self) -> str:
        """The same as the command line takes it."""
        depth = "" if self.depth == TRAVEL_DEPTH else f" --depth {self.depth}"
        return f"{self.carrier.name}{depth}{f' --links {self.links}' if self.links else ''}"

    @property
    def words(self) -> str:
        """What heads the sheet."""
        return f"{self.carrier.words}, {DEPTHS[self.depth].partition(':')[0]}"

    @cached_property
    def letters(self) -> tuple[Letter, ...]:
        """Every letter of it, in order."""
        own = [letter for letter in LETTERS if self.carrier.name in letter.sheets and not self._leaves(letter)]
        if self.depth != LINKS_DEPTH:
            return tuple(own)
        after = max(i for i, letter in enumerate(own) if letter.group == TRAVEL) + 1
        return (*own[:after], *link_letters(self), *own[after:])

    def _leaves(self, letter: Letter) -> bool:
        """Whether a letter has no place to this depth: travel where it stands, what hardpoints say where they do."""
        if self.depth == STANDING:
            return letter.group == TRAVEL
        said_by_points = self.depth == LINKS_DEPTH and KINDS[self.links].own_axis
        return said_by_points and letter.letter in ("N", "P", "Q")

    def asked(self, known: Mapping[str, str], near: Collection[str] = ()) -> tuple[Letter, ...]:
        """The letters worth asking a person for, one by one, with what is known already.

        What follows from a marking is not asked beside it, the ends of what was left out are not, and of what else
        stands near only what the person named (`near`).
        """
        return tuple(letter for letter in self.letters if letter.letter in known or self._worth(letter, known, near))

    def _worth(self, letter: Letter, known: Mapping[str, str], near: Collection[str]) -> bool:
        code = letter.letter
        if letter.measure == PLACE:
            return code in near
        if self.needs(letter) or code in ("A", *(() if known.get("A") else ("B", "C", "E"))):
            return True
        if self.depth == STANDING:
            return code == "U"
        if code in _FOLLOWS:
            return bool(known.get(_FOLLOWS[code]))
        return code not in ("D", "E")

    def needs(self, letter: Letter) -> bool:
        """Whether a letter cannot be left out."""
        if self.depth == STANDING:
            return letter.letter in _STANDING_NEEDS
        return letter.needed

    def letter(self, code: str) -> Letter:
        """The letter of this code. Raises InputError where the sheet has none."""
        for letter in self.letters:
            if letter.letter == code:
                return letter
        raise InputError(
            f"the sheet for a {self.words} has no letter {echoed(code)}. It has"
            f" {', '.join(letter.letter for letter in self.letters)}."
        )

    @cached_property
    def groups(self) -> dict[str, tuple[Letter, ...]]:
        """The same letters under the headings of the sheet."""
        grouped: dict[str, list[Letter]] = {}
        for letter in self.letters:
            grouped.setdefault(letter.group, []).append(letter)
        return {group: tuple(rows) for group, rows in grouped.items()}


def form_of(name: str, depth: str = "", links: str = "") -> Form:
    """A sheet by its words; `name` may hold all three, as a filled sheet has them.

    Raises InputError for a carrier, a depth or a kind of suspension that does not exist or does not belong to it.
    """
    words = [*name.split(), *depth.split(), *links.split()]
    carrier = CARRIERS.get(words[0]) if words else None
    if carrier is None:
        raise InputError(f"{echoed(name)} is not a kind of corner. Write one of {', '.join(CARRIERS)}.")
    to = words[1] if len(words) > 1 else TRAVEL_DEPTH
    if to not in DEPTHS:
        raise InputError(f"{echoed(to)} is not a depth. Write one of {', '.join(DEPTHS)}.")
    if to != LINKS_DEPTH:
        if len(words) > 2:
            raise InputError(f"{echoed(words[2])} has no place {DEPTHS[to].partition(':')[0]}. Leave it out.")
        return Form(carrier=carrier, depth=to)
    kind = words[2] if len(words) > 2 else carrier.links[0]
    if kind not in carrier.links:
        raise InputError(
            f"{echoed(kind)} is not how a {carrier.words} is measured. Write one of {', '.join(carrier.links)}."
        )
    return Form(carrier=carrier, depth=to, links=kind)


# ---- the points of a suspension as letters

POINTS = "The points that the suspension swings on, at ride height"
_CODE = re.compile(r"([A-Z]{2}\d?|[A-Z]\d): ")
_HOW = {
    LENGTH: "",
    ANGLE: "",
    POINT: "Three numbers: ahead, outboard and above the centre of the hub's mounting face; negative is behind, inboard"
    " or below. Drop a plumb line from the point and from the hub face, mark both on the floor, and measure between.",
    ROW: "The hub at one height, everything from where it is at ride height.",
    WORD: "",
    NUMBER: "",
}
_SHARED = ("track", "camber", "toe")


def link_letters(form: Form) -> tuple[Letter, ...]:
    """The keys of a kind of suspension as letters of its sheet."""
    keys = [key for key in KINDS[form.links].keys if key.name not in _SHARED]
    rows: list[Letter] = []
    for number, key in enumerate(keys, start=1):
        rows += _letters(key, f"P{number}", form)
    return tuple(rows)


def _letters(key: Key, spare_code: str, form: Form) -> list[Letter]:
    found = _CODE.match(key.help)
    code = found[1] if found else spare_code
    name = key.help[found.end() :] if found else key.help
    if key.columns:
        columns = tuple((column.name, column.dimension, column.ends) for column in key.columns)
        heads = ", ".join(column.name for column in key.columns)
        return [
            _letter(form, key, f"{code}.{row}", f"row {row}: {heads}", ROW, key.required and row <= 5, columns)
            for row in range(1, _ROWS + 1)
        ]
    measure = {"length": LENGTH, "angle": ANGLE, "point": POINT, "text": WORD, "number": NUMBER}[key.dimension]
    return [_letter(form, key, code, name, measure, key.required)]


def _letter(
    form: Form,
    key: Key,
    code: str,
    name: str,
    measure: str,
    needed: bool,
    columns: tuple[tuple[str, str, Ends], ...] = (),
) -> Letter:
    choices = f" One of {', '.join(key.choices)}." if key.choices else ""
    return Letter(
        letter=code,
        key=key.name,
        name=name,
        group=POINTS,
        sheets=(form.carrier.name,),
        how=(_HOW[measure] + choices).strip() or "As it says.",
        measure=measure,
        needed=needed,
        within=1.0 if measure == ANGLE else 5.0,
        choices=key.choices,
        columns=columns,
        ends=key.ends,
        of=f"{form.links}.{key.name}",
        left_out="" if needed else "not there, or not measured",
    )
