"""The corner file's sections that only the answers read: what may change, what is sold, how sure each number is.

The tables and their keys are listed in `clearance.answers`. Every value arrives here as TOML gave it (text with its
unit) and leaves as millimetres, degrees, kilograms or km/h. A refusal carries the key, so the corner file can add the
line.
"""

from __future__ import annotations

import difflib
import re
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, field
from typing import Any

from clearance.ends import families as ends
from clearance.ends.ends import Ends, Number
from clearance.errors import InputError, UnitError
from clearance.plain import echoed
from clearance.plain import line as one_line
from clearance.units import MASS_UNITS, MM_PER_INCH, SHARE_UNITS, SPEED_UNITS, angle_deg, length_mm
from clearance.wheel.fasteners import Thread

Bounds = tuple[float, float]
Reader = Callable[[object], float]
Shape = Callable[[Reader], Callable[[object], Any]]
"""What a key makes of its number: one without a sign, a range, steps."""


MOST_DIGITS = 12
"""Of a mass, a speed or a percentage, its point among them: no more were ever read off anything."""


class SectionError(InputError):
    """A section of the corner file that an answer cannot use; `key` says which, as "limits.spacer"."""

    def __init__(self, key: str, message: str, *, path: tuple[str | int, ...] = ()) -> None:
        self.key = key
        # the name of a part may have dots of its own: only the first two steps are the section's and the key's
        self.path = path or tuple(key.split(".", 2))
        self.message = message
        super().__init__(f"{key}: {message}")


def mass_kg(text: object) -> float:
    """A mass that a person wrote, in kilograms.

    Raises UnitError for a bare number or an unknown unit.

    >>> mass_kg("520 kg"), round(mass_kg("1146 lb"), 1)
    (520.0, 519.8)
    """
    return _number(text, MASS_UNITS, "a mass", '"520 kg" or "1146 lb"')


def speed_kmh(text: object) -> float:
    """A speed that a person wrote, in km/h.

    >>> speed_kmh("180 km/h"), round(speed_kmh("112 mph"), 1)
    (180.0, 180.2)
    """
    return _number(text, SPEED_UNITS, "a speed", '"180 km/h" or "112 mph"')


def share(text: object) -> float:
    """A percentage as a fraction.

    >>> share("6 %")
    0.06
    """
    return _number(text, SHARE_UNITS, "a percentage", '"6 %"')


def _number(text: object, units: Mapping[str, float], what: str, example: str) -> float:
    match = re.fullmatch(r"\s*([+-]?(?:\d+\.?\d*|\.\d+))\s*(\S+)\s*", text) if isinstance(text, str) else None
    if match is None or match[2].lower() not in units:
        raise UnitError(f"{echoed(text)} is not {what}. Write {example}.")
    if len(match[1]) > MOST_DIGITS:
        raise UnitError(f"{echoed(text)} is too large to be {what}. Check the number and its unit.")
    return float(match[1]) * units[match[2].lower()]


@dataclass(frozen=True, slots=True, kw_only=True)
class Steps:
    """What can be bought or set: every multiple of a step, or the sizes of a list."""

    step: float = 0.0
    sizes: tuple[float, ...] = ()

    def round_up(self, amount: float) -> float | None:
        """The least of them that is not under `amount`; None where the list ends below it.

        >>> Steps(step=3.0).round_up(7.2), Steps(sizes=(3.0, 8.0)).round_up(8.5)
        (9.0, None)
        """
        # a hundredth of a micron over a step is the arithmetic's doing, not a reason to buy the next one
        slack = 1e-8
        if self.sizes:
            return min((s for s in self.sizes if s >= amount - slack), default=None)
        whole = -(-(amount - slack) // self.step)
        return float(max(whole, 0.0) * self.step)


@dataclass(frozen=True, slots=True, kw_only=True)
class Sold:
    """The steps in which each change can be had. All are common practice; edit them in [sold]."""

    spacer_mm: Steps = Steps(step=3.0)
    bump_stop_mm: Steps = Steps(step=6.35)
    backspace_mm: Steps = Steps(step=3.175)
    ride_height_mm: Steps = Steps(step=6.35)
    steering_stop_deg: Steps = Steps(step=0.5)
    camber_deg: Steps = Steps(step=0.25)
    lip_roll_mm: Steps = Steps(step=1.0)


@dataclass(frozen=True, slots=True, kw_only=True)
class Limits:
    """The most that each change may be; None where it is not offered. The defaults are common practice."""

    spacer_mm: float | None = 25.0
    backspace_mm: Bounds | None = None
    """Least and most backspace that can be had; None leaves 50 mm each way open."""
    bump_stop_mm: float | None = 60.0
    steering_stop_deg: float | None = 15.0
    rack_per_deg_mm: float | None = None
    ride_height_mm: float | None = 50.0
    camber_deg: Bounds | None = None
    """Static camber that is acceptable; None where camber is not to be touched."""
    lip_roll_mm: float | None = 13.0
    tire_size: bool = True
    rim_widths_in: tuple[float, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Load:
    """What the tire must carry."""

    corner_kg: float | None = None
    speed_kmh: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class OrderTerms:
    """What the wheel maker is told beyond the wheel itself. Tolerances are shop practice, editable."""

    quantity: int = 4
    center_bore_mm: float | None = None
    lug_seat: str | None = None
    thread: str | None = None
    stud_length_mm: float | None = None
    seat_depth_mm: float | None = None
    tolerances_mm: Mapping[str, float] = field(default_factory=dict)


@dataclass(frozen=True, slots=True, kw_only=True)
class SpareWell:
    """A round well that the spare lies in."""

    diameter_mm: float
    depth_mm: float
    stand_mm: float | None = None
    """Floor to the wheel's mounting face; None: the wheel lies on the floor."""
    face_up: bool = False
    off_centre_mm: float = 0.0
    required_mm: float = 0.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Duals:
    """Two tires side by side."""

    spacing_mm: float | None = None
    """Between the two centre planes; None takes twice the wheel's outset."""
    bulge: float = 0.06
    """How much wider the section is under load, as a fraction; from memory 4 to 8 %, editable."""
    required_mm: float = 19.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Chains:
    """Room for chains on tread and sidewall."""

    name: str = "S"
    tread_mm: float = 37.0
    side_mm: float = 15.0


SAE_J1232 = {"S": (37.0, 15.0), "U": (50.0, 23.0), "W": (64.0, 38.0)}
"""Class: room at the tread face and at the side wall, mm. SAE J1232 as several public pages print it (second-hand)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Coverage:
    """A rule about the body over the tire: the tread must lie under cover between two angles from straight up."""

    ahead_deg: float = 30.0
    behind_deg: float = 50.0
    protrude_mm: float = 0.0
    parts: tuple[str, ...] = ()
    source: str = "78/549/EEC as quoted second-hand; check the code that applies to you"


@dataclass(frozen=True, slots=True, kw_only=True)
class Tape:
    """Two tape numbers from the hub's face, for one side of the car."""

    hub_to_spring_mm: float | None = None
    hub_to_lip_mm: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Uncertainty:
    """Plus or minus of each measurement, at about two standard deviations; only what the file states."""

    stated: Mapping[str, float] = field(default_factory=dict)
    """Source name ("backspace", "camber") to mm or degrees."""
    parts_mm: float | None = None
    part_mm: Mapping[str, float] = field(default_factory=dict)


@dataclass(frozen=True, slots=True, kw_only=True)
class Sections:
    """Every section that answers read, with its defaults."""

    load_states_mm: Mapping[str, float] = field(default_factory=dict)
    """Name to height of the body over the ride height that was measured."""
    limits: Limits = field(default_factory=Limits)
    sold: Sold = field(default_factory=Sold)
    uncertainty: Uncertainty = field(default_factory=Uncertainty)
    load: Load = field(default_factory=Load)
    order: OrderTerms = field(default_factory=OrderTerms)
    spare_well: SpareWell | None = None
    duals: Duals | None = None
    chains: Chains | None = None
    coverage: Coverage | None = None
    tape: Tape | None = None
    opposite: Tape | None = None


UNCERTAIN_LENGTHS = (
    "backspace",
    "overall_diameter",
    "section_width",
    "axle_sideways",
    "axle_lengthways",
    "ride_height",
    "bump_travel",
)
UNCERTAIN_ANGLES = ("camber", "steer")
ORDER_TOLERANCES = (
    "width_tolerance",
    "diameter_tolerance",
    "backspace_tolerance",
    "bolt_circle_tolerance",
    "center_bore_tolerance",
)
ANY = "*"
"""Stands for the names that a table chooses itself, as those of [load_states]."""


def whole_wheels(value: object) -> int:
    """A number of wheels: whole, 1 or more."""
    if isinstance(value, bool) or not isinstance(value, int) or not 1 <= value < 1e9:
        raise UnitError(f"{echoed(value)} is not a number of wheels. Write a whole number, 1 or more.")
    return value


@dataclass(frozen=True, slots=True)
class Amount:
    """One number of a section: how it is read, and what it can be."""

    read: Reader
    ends: Ends


def _lengths(**keys: Ends) -> dict[str, Amount]:
    return {key: Amount(length_mm, own) for key, own in keys.items()}


def _angles(**keys: Ends) -> dict[str, Amount]:
    return {key: Amount(angle_deg, own) for key, own in keys.items()}


AMOUNTS: Mapping[str, Mapping[str, Amount]] = {
    "load_states": _lengths(**{ANY: ends.BODY_HEIGHT}),
    "limits": {
        **_lengths(spacer=ends.SPACER, backspace=ends.BACKSPACE, bump_stop=ends.GIVEN_UP),
        **_angles(steering_stop=ends.LOCK_GIVEN_UP),
        **_lengths(rack_per_deg=ends.RACK_PER_DEG, ride_height=ends.RAISED),
        **_angles(camber=ends.CAMBER),
        **_lengths(lip_roll=ends.LIP_ROLL),
        "rim_widths": Amount(lambda value: length_mm(value) / MM_PER_INCH, ends.RIM_WIDTH),
    },
    "sold": {
        **_lengths(spacer=ends.STEP, bump_stop=ends.STEP, backspace=ends.STEP, ride_height=ends.STEP),
        **_angles(steering_stop=ends.STEP_ANGLE, camber=ends.STEP_ANGLE),
        **_lengths(lip_roll=ends.STEP),
    },
    "uncertainty": {
        **_lengths(**dict.fromkeys(UNCERTAIN_LENGTHS, ends.MEASURED_WITHIN)),
        **_angles(**dict.fromkeys(UNCERTAIN_ANGLES, ends.ANGLE_WITHIN)),
        **_lengths(parts=ends.MEASURED_WITHIN, part=ends.MEASURED_WITHIN),
    },
    "load": {"corner": Amount(mass_kg, ends.CORNER_LOAD), "speed": Amount(speed_kmh, ends.SPEED)},
    "order": {
        "quantity": Amount(whole_wheels, ends.WHEELS),
        **_lengths(center_bore=ends.CENTER_BORE, stud_length=ends.STUD_LENGTH, seat_depth=ends.SEAT_DEPTH),
        **_lengths(**dict.fromkeys(ORDER_TOLERANCES, ends.MADE_WITHIN)),
    },
    "spare_well": _lengths(
        diameter=ends.SPARE_DIAMETER,
        depth=ends.SPARE_DEPTH,
        stand=ends.SPARE_STAND,
        off_centre=ends.OFF_CENTRE,
        required=ends.REQUIRED,
    ),
    "duals": {
        **_lengths(spacing=ends.DUAL_SPACING, required=ends.REQUIRED),
        "bulge": Amount(share, ends.BULGE),
    },
    "chains": _lengths(tread=ends.CHAIN_TREAD, side=ends.CHAIN_SIDE),
    "coverage": {
        **_angles(ahead=ends.COVER_ANGLE, behind=ends.COVER_ANGLE),
        **_lengths(protrude=ends.PROTRUDE),
    },
    "tape": _lengths(hub_to_spring=ends.TO_SPRING, hub_to_lip=ends.TO_LIP),
    "opposite": _lengths(hub_to_spring=ends.TO_SPRING, hub_to_lip=ends.TO_LIP),
}
"""Every number of every section; `numbers_of` finds them in a file."""

_WORDS: Mapping[str, tuple[str, ...]] = {
    "limits": ("tire_size",),
    "order": ("lug_seat", "thread"),
    "spare_well": ("face",),
    "chains": ("class",),
    "coverage": ("part", "source"),
}
"""The keys of each section that are no numbers."""


def read_sections(extra: Mapping[str, Any]) -> Sections:
    """Every section of `extra` that answers know; other tables are left to whom they belong.

    Raises SectionError, with the key, for a key that is not known, a value that cannot be read, or a number that no
    road vehicle has.
    """
    found = Sections(
        load_states_mm=_load_states(extra),
        limits=_limits(_Table.of(extra, "limits")),
        sold=_sold(_Table.of(extra, "sold")),
        uncertainty=_uncertainty(_Table.of(extra, "uncertainty")),
        load=_load(_Table.of(extra, "load")),
        order=_order(_Table.of(extra, "order")),
        spare_well=_spare_well(_Table.of(extra, "spare_well")) if "spare_well" in extra else None,
        duals=_duals(_Table.of(extra, "duals")) if "duals" in extra else None,
        chains=_chains(_Table.of(extra, "chains")) if "chains" in extra else None,
        coverage=_coverage(_Table.of(extra, "coverage")) if "coverage" in extra else None,
        tape=_tape(_Table.of(extra, "tape")) if "tape" in extra else None,
        opposite=_tape(_Table.of(extra, "opposite")) if "opposite" in extra else None,
    )
    for number in numbers_of(extra):
        if number.refusal:
            raise SectionError(".".join(str(step) for step in number.path), number.refusal, path=number.path)
    return found


def numbers_of(extra: Mapping[str, Any]) -> Iterator[Number]:
    """Every number of the sections, as it was written, with its ends; the sections have been read already."""
    for section, amounts in AMOUNTS.items():
        for key, written in extra.get(section, {}).items():
            amount = amounts.get(key) or amounts.get(ANY)
            if amount is not None:
                yield from _numbers_of(amount, written, (section, key))


def _numbers_of(amount: Amount, written: Any, path: tuple[str | int, ...]) -> Iterator[Number]:
    if isinstance(written, Mapping):
        for name, item in written.items():
            yield from _numbers_of(amount, item, (*path, name))
    elif isinstance(written, list):
        for i, item in enumerate(written):
            yield from _numbers_of(amount, item, (*path, i))
    elif not isinstance(written, bool):
        yield Number(path=path, text=str(written), value=amount.read(written), ends=amount.ends)


SECTION_NAMES = tuple(AMOUNTS)
"""The tables that `read_sections` reads."""


@dataclass(frozen=True, slots=True)
class _Table:
    """One table, with its name for messages; every read names its key, and `only` refuses the rest."""

    name: str
    rows: Mapping[str, Any]

    @staticmethod
    def of(extra: Mapping[str, Any], name: str) -> _Table:
        rows = extra.get(name, {})
        if not isinstance(rows, Mapping):
            raise SectionError(name, f"a table was expected; found {echoed(rows)}. Write [{name}] and its keys below.")
        return _Table(name, rows)

    def only(self) -> None:
        """Refuse keys that the section does not know."""
        known = (*AMOUNTS[self.name], *_WORDS.get(self.name, ()))
        for key in self.rows:
            if key not in known:
                near = difflib.get_close_matches(key[:80], known, n=1)
                hint = f" Did you mean {echoed(near[0])}?" if near else ""
                raise SectionError(
                    f"{self.name}.{key}", f"this key is not known here.{hint} Known: {', '.join(known)}."
                )

    def read(self, key: str, parse: Callable[[object], Any], default: Any) -> Any:
        """What is no number."""
        return self.parsed(key, self.rows[key], parse) if key in self.rows else default

    def number(self, key: str, shape: Shape, default: Any = None) -> Any:
        """A number, or what the shape makes of several."""
        return self.read(key, shape(AMOUNTS[self.name][key].read), default)

    def parsed(self, key: str, value: object, parse: Callable[[object], Any]) -> Any:
        try:
            return parse(value)
        except SectionError:
            raise
        except InputError as refused:
            raise SectionError(f"{self.name}.{key}", str(refused)) from None

    def need(self, key: str, shape: Shape) -> Any:
        """Like `number`, but it cannot be left out."""
        if key not in self.rows:
            raise SectionError(self.name, f"{key} is missing. Write {key} = ...")
        return self.number(key, shape)

    def may(self, key: str, shape: Shape, default: Any) -> Any:
        """Like `number`, but false takes the change off the table."""
        return None if self.rows.get(key) is False else self.number(key, shape, default)


def _signed(parse: Reader) -> Reader:
    return parse


def _not_negative(parse: Reader) -> Reader:
    def read(text: object) -> float:
        value = parse(text)
        if value < 0:
            instead = one_line(str(text).strip().lstrip("-").strip())
            raise UnitError(f'{echoed(text)} is below zero, and this is how much, without a sign. Write "{instead}".')
        return value

    return read


def _positive(parse: Reader) -> Reader:
    def read(text: object) -> float:
        value = parse(text)
        if value <= 0:
            raise UnitError(f"{echoed(text)} must be more than zero.")
        return value

    return read


def _range(parse: Reader) -> Callable[[object], Bounds]:
    def read(value: object) -> Bounds:
        if isinstance(value, Mapping) and set(value) == {"least", "most"}:
            least, most = parse(value["least"]), parse(value["most"])
            if least > most:
                raise UnitError(f"least ({value['least']}) is more than most ({value['most']}).")
            return least, most
        raise UnitError(f"{echoed(value)} is not a range. Write {{ least = ..., most = ... }}.")

    return read


def _either_way(parse: Reader) -> Callable[[object], Bounds]:
    """A range, or one number that holds both ways."""
    whole = _range(parse)

    def read(value: object) -> Bounds:
        return (-abs(parse(value)), abs(parse(value))) if isinstance(value, str) else whole(value)

    return read


def _steps(parse: Reader) -> Callable[[object], Steps]:
    def read(value: object) -> Steps:
        positive = _positive(parse)
        if isinstance(value, list):
            if not value:
                raise UnitError("the list is empty. Write the sizes that are sold.")
            return Steps(sizes=tuple(sorted(positive(v) for v in value)))
        return Steps(step=positive(value))

    return read


def _several(parse: Reader) -> Callable[[object], tuple[float, ...]]:
    def read(value: object) -> tuple[float, ...]:
        if not isinstance(value, list) or not value:
            raise UnitError(f'{echoed(value)} is not a list of rim widths. Write ["7 in", "7.5 in"].')
        return tuple(sorted(_positive(parse)(v) for v in value))

    return read


def _text(value: object) -> str:
    if not isinstance(value, str) or not value.strip():
        raise UnitError(f"{echoed(value)} is not text. Write it between quotes.")
    return value.strip()


def _thread(value: object) -> str:
    text = _text(value)
    Thread.parse(text)
    return text


def _names(value: object) -> tuple[str, ...]:
    if isinstance(value, str):
        return (_text(value),)
    if isinstance(value, list):
        return tuple(_text(v) for v in value)
    raise UnitError(f'{echoed(value)} is not a list of names. Write ["front lip", "rear lip"].')


def _yes_no(value: object) -> bool:
    if not isinstance(value, bool):
        raise UnitError(f"{echoed(value)} is not true or false.")
    return value


def _load_states(extra: Mapping[str, Any]) -> Mapping[str, float]:
    table = _Table.of(extra, "load_states")
    return {name: table.parsed(name, value, length_mm) for name, value in table.rows.items()}


def _limits(table: _Table) -> Limits:
    table.only()
    stock = Limits()
    return Limits(
        spacer_mm=table.may("spacer", _not_negative, stock.spacer_mm),
        backspace_mm=table.may("backspace", _range, None),
        bump_stop_mm=table.may("bump_stop", _not_negative, stock.bump_stop_mm),
        steering_stop_deg=table.may("steering_stop", _not_negative, stock.steering_stop_deg),
        rack_per_deg_mm=table.number("rack_per_deg", _positive, None),
        ride_height_mm=table.may("ride_height", _not_negative, stock.ride_height_mm),
        camber_deg=table.may("camber", _either_way, None),
        lip_roll_mm=table.may("lip_roll", _not_negative, stock.lip_roll_mm),
        tire_size=table.read("tire_size", _yes_no, True),
        rim_widths_in=table.number("rim_widths", _several, ()),
    )


def _sold(table: _Table) -> Sold:
    table.only()
    stock = Sold()
    return Sold(
        spacer_mm=table.number("spacer", _steps, stock.spacer_mm),
        bump_stop_mm=table.number("bump_stop", _steps, stock.bump_stop_mm),
        backspace_mm=table.number("backspace", _steps, stock.backspace_mm),
        ride_height_mm=table.number("ride_height", _steps, stock.ride_height_mm),
        steering_stop_deg=table.number("steering_stop", _steps, stock.steering_stop_deg),
        camber_deg=table.number("camber", _steps, stock.camber_deg),
        lip_roll_mm=table.number("lip_roll", _steps, stock.lip_roll_mm),
    )


def _uncertainty(table: _Table) -> Uncertainty:
    table.only()
    stated = {k: table.number(k, _not_negative, 0.0) for k in UNCERTAIN_LENGTHS if k in table.rows}
    stated |= {k: table.number(k, _not_negative, 0.0) for k in UNCERTAIN_ANGLES if k in table.rows}
    named = table.rows.get("part", {})
    if not isinstance(named, Mapping):
        raise SectionError(
            "uncertainty.part", f'{echoed(named)} is not a table. Write part = {{ "inner wall" = "1.5 mm" }}.'
        )
    return Uncertainty(
        stated=stated,
        parts_mm=table.number("parts", _not_negative, None),
        part_mm={name: table.parsed(f"part.{name}", v, _not_negative(length_mm)) for name, v in named.items()},
    )


def _load(table: _Table) -> Load:
    table.only()
    return Load(
        corner_kg=table.number("corner", _positive, None),
        speed_kmh=table.number("speed", _positive, None),
    )


def _order(table: _Table) -> OrderTerms:
    table.only()
    return OrderTerms(
        quantity=table.number("quantity", _signed, 4),
        center_bore_mm=table.number("center_bore", _positive, None),
        lug_seat=table.read("lug_seat", _text, None),
        thread=table.read("thread", _thread, None),
        stud_length_mm=table.number("stud_length", _positive, None),
        seat_depth_mm=table.number("seat_depth", _not_negative, None),
        tolerances_mm={
            key.removesuffix("_tolerance"): table.number(key, _not_negative, 0.0)
            for key in ORDER_TOLERANCES
            if key in table.rows
        },
    )


def _spare_well(table: _Table) -> SpareWell:
    table.only()
    face = table.read("face", _text, "down")
    if face not in ("up", "down"):
        raise SectionError("spare_well.face", f'{echoed(face)} is not a way to lie. Write "up" or "down".')
    return SpareWell(
        diameter_mm=table.need("diameter", _positive),
        depth_mm=table.need("depth", _positive),
        stand_mm=table.number("stand", _not_negative, None),
        face_up=face == "up",
        off_centre_mm=table.number("off_centre", _not_negative, 0.0),
        required_mm=table.number("required", _not_negative, 0.0),
    )


def _duals(table: _Table) -> Duals:
    table.only()
    stock = Duals()
    return Duals(
        spacing_mm=table.number("spacing", _positive, None),
        bulge=table.number("bulge", _not_negative, stock.bulge),
        required_mm=table.number("required", _not_negative, stock.required_mm),
    )


def _chains(table: _Table) -> Chains:
    table.only()
    name = table.read("class", _text, None)
    if name is not None:
        if "tread" in table.rows or "side" in table.rows:
            raise SectionError("chains.class", "state either the class or tread and side, not both.")
        if name.upper() not in SAE_J1232:
            raise SectionError(
                "chains.class", f"{echoed(name)} is not a class of SAE J1232. Write S, U or W, or tread and side."
            )
        tread, side = SAE_J1232[name.upper()]
        return Chains(name=name.upper(), tread_mm=tread, side_mm=side)
    return Chains(
        name="own",
        tread_mm=table.need("tread", _not_negative),
        side_mm=table.need("side", _not_negative),
    )


def _coverage(table: _Table) -> Coverage:
    table.only()
    stock = Coverage()
    return Coverage(
        ahead_deg=table.number("ahead", _not_negative, stock.ahead_deg),
        behind_deg=table.number("behind", _not_negative, stock.behind_deg),
        protrude_mm=table.number("protrude", _signed, stock.protrude_mm),
        parts=table.read("part", _names, ()),
        source=table.read("source", _text, stock.source),
    )


def _tape(table: _Table) -> Tape:
    table.only()
    return Tape(
        hub_to_spring_mm=table.number("hub_to_spring", _positive, None),
        hub_to_lip_mm=table.number("hub_to_lip", _positive, None),
    )
