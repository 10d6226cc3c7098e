"""The corner file's sections that only the answers read: what may change, what is sold, how sure each number is.

The tables and their keys are listed in `clearance.answers`. Every value arrives here as TOML gave it (text with its
unit) and leaves as millimetres, degrees, kilograms or km/h. A refusal carries the key, so the corner file can add the
line.
"""

from __future__ import annotations

import difflib
import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from typing import Any

from clearance.errors import InputError, UnitError
from clearance.units import angle_deg, length_mm

Bounds = tuple[float, float]
KG_PER_POUND = 0.45359237
"""Exact since 1959 (international yard and pound agreement)."""
KMH_PER_MPH = 1.609344


class SectionError(InputError):
    """A section of the corner file that an answer cannot use; `key` says which, as "limits.spacer"."""

    def __init__(self, key: str, message: str) -> None:
        self.key = key
        self.message = message
        super().__init__(f"{key}: {message}")


def mass_kg(text: object) -> float:
    """A mass that a person wrote, in kilograms.

    Raises UnitError for a bare number or an unknown unit.

    >>> mass_kg("520 kg"), round(mass_kg("1146 lb"), 1)
    (520.0, 519.8)
    """
    return _number(text, {"kg": 1.0, "lb": KG_PER_POUND, "lbs": KG_PER_POUND}, "a mass", '"520 kg" or "1146 lb"')


def speed_kmh(text: object) -> float:
    """A speed that a person wrote, in km/h.

    >>> speed_kmh("180 km/h"), round(speed_kmh("112 mph"), 1)
    (180.0, 180.2)
    """
    return _number(text, {"km/h": 1.0, "kph": 1.0, "mph": KMH_PER_MPH}, "a speed", '"180 km/h" or "112 mph"')


def share(text: object) -> float:
    """A percentage as a fraction.

    >>> share("6 %")
    0.06
    """
    return _number(text, {"%": 0.01}, "a percentage", '"6 %"')


def _number(text: object, units: Mapping[str, float], what: str, example: str) -> float:
    match = re.fullmatch(r"\s*([+-]?(?:\d+\.?\d*|\.\d+))\s*(\S+)\s*", text) if isinstance(text, str) else None
    if match is None or match[2].lower() not in units:
        raise UnitError(f"{text!r} is not {what}. Write {example}.")
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


def read_sections(extra: Mapping[str, Any]) -> Sections:
    """Every section of `extra` that answers know; other tables are left to whom they belong.

    Raises SectionError, with the key, for a key that is not known or a value that cannot be read.
    """
    return Sections(
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


SECTION_NAMES = (
    "load_states",
    "limits",
    "sold",
    "uncertainty",
    "load",
    "order",
    "spare_well",
    "duals",
    "chains",
    "coverage",
    "tape",
    "opposite",
)
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
            raise SectionError(name, f"a table was expected; found {rows!r}. Write [{name}] and its keys below.")
        return _Table(name, rows)

    def only(self, *keys: str) -> None:
        for key in self.rows:
            if key not in keys:
                near = difflib.get_close_matches(key, keys, n=1)
                hint = f" Did you mean {near[0]!r}?" if near else ""
                raise SectionError(f"{self.name}.{key}", f"this key is not known here.{hint} Known: {', '.join(keys)}.")

    def read(self, key: str, parse: Callable[[object], Any], default: Any) -> Any:
        if key not in self.rows:
            return default
        return self.parsed(key, self.rows[key], parse)

    def parsed(self, key: str, value: object, parse: Callable[[object], Any]) -> Any:
        try:
            return parse(value)
        except (InputError, ValueError, TypeError) as refused:
            if isinstance(refused, SectionError):
                raise
            raise SectionError(f"{self.name}.{key}", str(refused)) from None

    def need(self, key: str, parse: Callable[[object], Any]) -> Any:
        if key not in self.rows:
            raise SectionError(self.name, f"{key} is missing. Write {key} = ...")
        return self.read(key, parse, None)

    def may(self, key: str, parse: Callable[[object], Any], default: Any) -> Any:
        """Like `read`, but false takes the change off the table."""
        return None if self.rows.get(key) is False else self.read(key, parse, default)


def _not_negative(parse: Callable[[object], float]) -> Callable[[object], float]:
    def read(text: object) -> float:
        value = parse(text)
        if value < 0:
            raise UnitError(f"{text!r} is below zero. Write it without the sign.")
        return value

    return read


def _positive(parse: Callable[[object], float]) -> Callable[[object], float]:
    def read(text: object) -> float:
        value = parse(text)
        if value <= 0:
            raise UnitError(f"{text!r} must be more than zero.")
        return value

    return read


def _bounds(parse: Callable[[object], float], symmetric: bool) -> Callable[[object], Bounds]:
    def read(value: object) -> Bounds:
        if isinstance(value, Mapping) and set(value) == {"least", "most"}:
            least, most = parse(value["least"]), parse(value["most"])
            if least > most:
                raise UnitError(f"least ({value['least']}) is more than most ({value['most']}).")
            return least, most
        if symmetric and isinstance(value, str):
            return -abs(parse(value)), abs(parse(value))
        raise UnitError(f"{value!r} is not a range. Write {{ least = ..., most = ... }}.")

    return read


def _steps(parse: Callable[[object], float]) -> Callable[[object], Steps]:
    def read(value: object) -> Steps:
        positive = _positive(parse)
        if isinstance(value, list):
            if not value:
                raise UnitError("the list is empty. Write the sizes that are sold.")
            return Steps(sizes=tuple(sorted(positive(v) for v in value)))
        return Steps(step=positive(value))

    return read


def _text(value: object) -> str:
    if not isinstance(value, str) or not value.strip():
        raise UnitError(f"{value!r} is not text. Write it between quotes.")
    return value.strip()


def _names(value: object) -> tuple[str, ...]:
    if isinstance(value, str):
        return (_text(value),)
    if isinstance(value, list):
        return tuple(_text(v) for v in value)
    raise UnitError(f'{value!r} is not a list of names. Write ["front lip", "rear lip"].')


def _whole(value: object) -> int:
    if isinstance(value, bool) or not isinstance(value, int) or value < 1:
        raise UnitError(f"{value!r} is not a number of wheels. Write a whole number, 1 or more.")
    return value


def _yes_no(value: object) -> bool:
    if not isinstance(value, bool):
        raise UnitError(f"{value!r} is not true or false.")
    return value


def _widths_in(value: object) -> tuple[float, ...]:
    if not isinstance(value, list) or not value:
        raise UnitError(f'{value!r} is not a list of rim widths. Write ["7 in", "7.5 in"].')
    return tuple(sorted(_positive(length_mm)(v) / 25.4 for v in value))


def _load_states(extra: Mapping[str, Any]) -> Mapping[str, float]:
    table = _Table.of(extra, "load_states")
    return {name: table.parsed(name, value, length_mm) for name, value in table.rows.items()}


def _limits(table: _Table) -> Limits:
    table.only(
        "spacer",
        "backspace",
        "bump_stop",
        "steering_stop",
        "rack_per_deg",
        "ride_height",
        "camber",
        "lip_roll",
        "tire_size",
        "rim_widths",
    )
    stock = Limits()
    return Limits(
        spacer_mm=table.may("spacer", _not_negative(length_mm), stock.spacer_mm),
        backspace_mm=table.may("backspace", _bounds(length_mm, symmetric=False), None),
        bump_stop_mm=table.may("bump_stop", _not_negative(length_mm), stock.bump_stop_mm),
        steering_stop_deg=table.may("steering_stop", _not_negative(angle_deg), stock.steering_stop_deg),
        rack_per_deg_mm=table.read("rack_per_deg", _positive(length_mm), None),
        ride_height_mm=table.may("ride_height", _not_negative(length_mm), stock.ride_height_mm),
        camber_deg=table.may("camber", _bounds(angle_deg, symmetric=True), None),
        lip_roll_mm=table.may("lip_roll", _not_negative(length_mm), stock.lip_roll_mm),
        tire_size=table.read("tire_size", _yes_no, True),
        rim_widths_in=table.read("rim_widths", _widths_in, ()),
    )


def _sold(table: _Table) -> Sold:
    table.only("spacer", "bump_stop", "backspace", "ride_height", "steering_stop", "camber", "lip_roll")
    stock = Sold()
    return Sold(
        spacer_mm=table.read("spacer", _steps(length_mm), stock.spacer_mm),
        bump_stop_mm=table.read("bump_stop", _steps(length_mm), stock.bump_stop_mm),
        backspace_mm=table.read("backspace", _steps(length_mm), stock.backspace_mm),
        ride_height_mm=table.read("ride_height", _steps(length_mm), stock.ride_height_mm),
        steering_stop_deg=table.read("steering_stop", _steps(angle_deg), stock.steering_stop_deg),
        camber_deg=table.read("camber", _steps(angle_deg), stock.camber_deg),
        lip_roll_mm=table.read("lip_roll", _steps(length_mm), stock.lip_roll_mm),
    )


def _uncertainty(table: _Table) -> Uncertainty:
    table.only(*UNCERTAIN_LENGTHS, *UNCERTAIN_ANGLES, "parts", "part")
    stated = {k: table.read(k, _not_negative(length_mm), 0.0) for k in UNCERTAIN_LENGTHS if k in table.rows}
    stated |= {k: table.read(k, _not_negative(angle_deg), 0.0) for k in UNCERTAIN_ANGLES if k in table.rows}
    named = table.rows.get("part", {})
    if not isinstance(named, Mapping):
        raise SectionError("uncertainty.part", f'{named!r} is not a table. Write part = {{ "inner wall" = "1.5 mm" }}.')
    return Uncertainty(
        stated=stated,
        parts_mm=table.read("parts", _not_negative(length_mm), None),
        part_mm={name: table.parsed(f"part.{name}", v, _not_negative(length_mm)) for name, v in named.items()},
    )


def _load(table: _Table) -> Load:
    table.only("corner", "speed")
    return Load(
        corner_kg=table.read("corner", _positive(mass_kg), None),
        speed_kmh=table.read("speed", _positive(speed_kmh), None),
    )


def _order(table: _Table) -> OrderTerms:
    table.only(
        "quantity", "center_bore", "lug_seat", "thread", "stud_length", "seat_depth", *ORDER_TOLERANCES
    )  # what the wheel itself states is not asked twice
    return OrderTerms(
        quantity=table.read("quantity", _whole, 4),
        center_bore_mm=table.read("center_bore", _positive(length_mm), None),
        lug_seat=table.read("lug_seat", _text, None),
        thread=table.read("thread", _text, None),
        stud_length_mm=table.read("stud_length", _positive(length_mm), None),
        seat_depth_mm=table.read("seat_depth", _not_negative(length_mm), None),
        tolerances_mm={
            key.removesuffix("_tolerance"): table.read(key, _not_negative(length_mm), 0.0)
            for key in ORDER_TOLERANCES
            if key in table.rows
        },
    )


def _spare_well(table: _Table) -> SpareWell:
    table.only("diameter", "depth", "stand", "face", "off_centre", "required")
    face = table.read("face", _text, "down")
    if face not in ("up", "down"):
        raise SectionError("spare_well.face", f'{face!r} is not a way to lie. Write "up" or "down".')
    return SpareWell(
        diameter_mm=table.need("diameter", _positive(length_mm)),
        depth_mm=table.need("depth", _positive(length_mm)),
        stand_mm=table.read("stand", _not_negative(length_mm), None),
        face_up=face == "up",
        off_centre_mm=table.read("off_centre", _not_negative(length_mm), 0.0),
        required_mm=table.read("required", _not_negative(length_mm), 0.0),
    )


def _duals(table: _Table) -> Duals:
    table.only("spacing", "bulge", "required")
    stock = Duals()
    return Duals(
        spacing_mm=table.read("spacing", _positive(length_mm), None),
        bulge=table.read("bulge", _not_negative(share), stock.bulge),
        required_mm=table.read("required", _not_negative(length_mm), stock.required_mm),
    )


def _chains(table: _Table) -> Chains:
    table.only("class", "tread", "side")
    name = table.read("class", _text, None)
    if name is not None:
        if "tread" in table.rows or "side" in table.rows:
            raise SectionError("chains.class", "state either the class or tread and side, not both.")
        if name.upper() not in SAE_J1232:
            raise SectionError(
                "chains.class", f"{name!r} is not a class of SAE J1232. Write S, U or W, or tread and side."
            )
        tread, side = SAE_J1232[name.upper()]
        return Chains(name=name.upper(), tread_mm=tread, side_mm=side)
    return Chains(
        name="own",
        tread_mm=table.need("tread", _not_negative(length_mm)),
        side_mm=table.need("side", _not_negative(length_mm)),
    )


def _coverage(table: _Table) -> Coverage:
    table.only("ahead", "behind", "protrude", "part", "source")
    stock = Coverage()
    return Coverage(
        ahead_deg=table.read("ahead", _not_negative(angle_deg), stock.ahead_deg),
        behind_deg=table.read("behind", _not_negative(angle_deg), stock.behind_deg),
        protrude_mm=table.read("protrude", length_mm, stock.protrude_mm),
        parts=table.read("part", _names, ()),
        source=table.read("source", _text, stock.source),
    )


def _tape(table: _Table) -> Tape:
    table.only("hub_to_spring", "hub_to_lip")
    return Tape(
        hub_to_spring_mm=table.read("hub_to_spring", _positive(length_mm), None),
        hub_to_lip_mm=table.read("hub_to_lip", _positive(length_mm), None),
    )
