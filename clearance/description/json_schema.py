"""The language as a JSON Schema (draft 2020-12), so that an editor completes and checks a corner file as it is typed.

It is made from the same declarations that the file is read by: keys, kinds of value, ends, defaults and what each
means. It is no stricter than the reader: what two keys say against each other, and whether a number is possible, is
for the reader to say.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from typing import Annotated, Any, Literal, get_args, get_origin

from pydantic import BaseModel
from pydantic_core import PydanticUndefined

from clearance.description import agreed, schema, values
from clearance.description.parts import mesh, tub
from clearance.description.parts.kinds import PARTS
from clearance.ends.ends import Circle, Ends, Point
from clearance.mockup.mockup import CORNERS
from clearance.suspension.kinds import AXIS_KEYS, KINDS, STEERING_KEYS, Key
from clearance.units import ANGLE_UNITS, FIRST, LENGTH_UNITS, MASS_UNITS, SHARE_UNITS, SPEED_UNITS

Schema = dict[str, Any]

_NUMBER = r"[+-]?\s*(\d+[\s-]+\d+\s*/\s*\d+|\d+\s*/\s*\d+|\d+(\.\d*)?|\.\d+)"
_UNITS: Mapping[str, Iterable[str]] = {
    "length": LENGTH_UNITS,
    "angle": ANGLE_UNITS,
    "mass": MASS_UNITS,
    "speed": SPEED_UNITS,
    "percentage": SHARE_UNITS,
}


def corner_file_schema() -> Schema:
    """The whole language."""
    agreed_tables = table_schema(agreed.AgreedTables)["properties"]
    return {
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        "title": "Corner file",
        "description": "One wheel position of one vehicle and what surrounds it.",
        "type": "object",
        "additionalProperties": False,
        "required": ["corner", "tire", "wheel", "suspension", "part"],
        "properties": {
            "title": {"type": "string", "description": "what the answers are headed with"},
            "corner": {"enum": list(CORNERS), "description": "which wheel this is"},
            "units": {"enum": list(FIRST), "description": "which unit stands first on pages and drawings (mm)"},
            "tire": table_schema(schema.TireTable),
            "wheel": table_schema(schema.WheelTable),
            "suspension": _suspension(),
            "steering": _steering(),
            "part": {"type": "array", "minItems": 1, "items": _part(), "description": "each thing in the well"},
            **agreed_tables,
        },
        "$defs": {name: _measure(name, units) for name, units in _UNITS.items()},
    }


def _measure(name: str, units: Iterable[str]) -> Schema:
    shown = "|".join(sorted((_escaped(unit) for unit in units), key=lambda unit: (-len(unit), unit)))
    return {
        "type": "string",
        "description": f"a {name} with its unit".replace("a angle", "an angle"),
        "pattern": rf"^\s*{_NUMBER}\s*({shown})\.?\s*$",
    }


def _escaped(unit: str) -> str:
    # of the signs in a unit, only these mean something in a pattern
    return unit.replace("/", r"\/") if "/" in unit else unit


# ---- sections of one table


def table_schema(model: type[BaseModel], **instead: Schema) -> Schema:
    """A table; `instead` of what a key's declaration says."""
    properties, required = {}, []
    for name, field in model.model_fields.items():
        key = field.alias or name
        whole = Annotated[field.annotation, *field.metadata] if field.metadata else field.annotation
        found = instead.get(key) or _value(whole)
        properties[key] = {**found, "description": _described(field.description, found)}
        if field.default is PydanticUndefined:
            required.append(key)
    table: Schema = {"type": "object", "additionalProperties": False, "properties": properties}
    return {**table, "required": required} if required else table


def _described(words: str | None, found: Schema) -> str:
    can_be = found.get("description", "")
    return f"{words} ({can_be})" if can_be and "$ref" in found else str(words)


def _value(annotation: Any) -> Schema:
    if get_origin(annotation) is Annotated:
        return _marked(annotation)
    if isinstance(annotation, type) and issubclass(annotation, BaseModel):
        return table_schema(annotation)
    inside = get_args(annotation)
    if get_origin(annotation) is tuple:
        return _listed(inside)
    if get_origin(annotation) is Literal:
        return {"enum": list(inside)}
    several = [_value(one) for one in inside if one is not type(None)]
    return several[0] if len(several) == 1 else {"anyOf": several} if several else {}


def _marked(annotation: Any) -> Schema:
    """A value whose annotation says what reads it and between which ends it lies."""
    inside, *marks = get_args(annotation)
    reader = next((mark.func for mark in marks if hasattr(mark, "func")), None)
    ends = next((mark for mark in marks if isinstance(mark, (Ends, Point, Circle))), None)
    return _value(inside) if reader is None else _read(reader, inside, ends)


def _listed(inside: tuple[Any, ...]) -> Schema:
    if inside[-1] is Ellipsis:
        return {"type": "array", "items": _value(inside[0])}
    return {"type": "array", "prefixItems": [_value(one) for one in inside], "items": False}


def _read(reader: Callable[[object], Any], inside: Any, ends: Ends | Point | Circle | None) -> Schema:
    """What a reader takes; of a table that may also be a word, both."""
    taken = getattr(reader, "__wrapped__", reader)
    known = _TAKEN.get(taken)
    if known is None:
        return _tabled(taken, inside)
    found = {**known, **({"description": _span(ends)} if isinstance(ends, Ends) else {})}
    return found if taken is reader else {"anyOf": [found, {"const": False}]}


def _span(ends: Ends) -> str:
    return f"{ends.span(ends.hard)}; usual {ends.span(ends.usual)}"


def _tabled(reader: Any, inside: Any) -> Schema:
    """A table, or what may stand in its place."""
    tables = [one for one in (inside, *get_args(inside)) if isinstance(one, type) and issubclass(one, BaseModel)]
    either = [table_schema(table) for table in tables]
    if isinstance(reader, schema.OneOf):
        return {"enum": list(reader.words)}
    if not tables or _also_words(reader, inside):
        either.insert(0, {"type": "string"})
    if reader is mesh.places:
        return {"anyOf": [{"const": "all"}, {"type": "array", "items": _TAKEN[values.point]}]}
    return either[0] if len(either) == 1 else {"anyOf": either}


def _also_words(reader: Any, inside: Any) -> bool:
    return str in get_args(inside) or reader in _ALSO_WORDS


def _of(name: str) -> Schema:
    return {"$ref": f"#/$defs/{name}"}


def _list(item: Schema, count: int | None = None) -> Schema:
    sized = {} if count is None else {"minItems": count, "maxItems": count}
    return {"type": "array", "items": item, **sized}


def _range(item: Schema) -> Schema:
    ends = {"least": item, "most": item}
    return {"type": "object", "properties": ends, "required": list(ends), "additionalProperties": False}


_TEXT: Schema = {"type": "string", "pattern": r"\S"}
_LENGTH, _ANGLE = _of("length"), _of("angle")
_DIRECTION: Schema = {"anyOf": [{"type": "string", "pattern": r"^\s*[+-]?[xyzXYZ]\s*$"}, _list({"type": "number"}, 3)]}
_TAKEN: dict[Any, Schema] = {
    **dict.fromkeys((values.length, values.not_negative, values.positive), _LENGTH),
    **dict.fromkeys((values.rim_diameter, values.rim_width), _LENGTH),
    **dict.fromkeys((values.angle, values.not_negative_angle, values.positive_angle), _ANGLE),
    values.mass: _of("mass"),
    values.speed: _of("speed"),
    values.share: _of("percentage"),
    values.point: _list(_LENGTH, 3),
    values.flat_point: _list(_LENGTH, 2),
    **dict.fromkeys((values.word, values.name, agreed.stud_thread), _TEXT),
    values.flag: {"type": "boolean"},
    values.whole: {"type": "integer"},
    values.wheels: {"type": "integer", "minimum": 1},
    values.number: {"type": "number"},
    values.bolt_circle: {"type": "string", "pattern": r"^\s*\d+\s*(x|X|\u00d7|on)\s*\S"},
    mesh.direction: _DIRECTION,
    agreed.length_range: _range(_LENGTH),
    agreed.either_way: {"anyOf": [_ANGLE, _range(_ANGLE)]},
    agreed.length_steps: {"anyOf": [_LENGTH, _list(_LENGTH)]},
    agreed.angle_steps: {"anyOf": [_ANGLE, _list(_ANGLE)]},
    agreed.widths: _list(_LENGTH),
    agreed.names: {"anyOf": [_TEXT, _list(_TEXT)]},
    agreed.chain_class: {"enum": ["S", "U", "W", "s", "u", "w"]},
    agreed.heights: {"type": "object", "additionalProperties": _LENGTH},
    agreed.parts_within: {"type": "object", "additionalProperties": _LENGTH},
}
"""What each reader takes, as a schema."""
_ALSO_WORDS = (tub.crown_or_height, mesh.placed)
"""Readers of a table that a word may stand for."""


# ---- parts and suspensions: which keys there are follows from the kind


def _part() -> Schema:
    kinds = [table_schema(model, kind={"const": kind}) for kind, model in PARTS.items()]
    return {"type": "object", "required": ["name", "kind"], **_by_kind(list(PARTS), kinds)}


def _by_kind(names: list[str], tables: list[Schema]) -> Schema:
    """One table for each kind; an editor that completes keys sees those of the kind that stands there."""
    cases = [
        {"if": {"properties": {"kind": {"const": name}}, "required": ["kind"]}, "then": table}
        for name, table in zip(names, tables, strict=True)
    ]
    return {"properties": {"kind": {"enum": names}}, "allOf": cases}


def _suspension() -> Schema:
    shared = table_schema(schema.TravelTable)
    tables = []
    for kind in KINDS.values():
        own = {key.name: {**_key(key), "description": key.help} for key in kind.keys}
        needed = [*(shared["required"] if kind.moves else ["kind"]), *(key.name for key in kind.keys if key.required)]
        moved = shared["properties"] if kind.moves else {}
        properties = {**moved, "kind": {"const": kind.name, "description": kind.help}, **own}
        tables.append({"type": "object", "properties": properties, "required": needed, "additionalProperties": False})
    return {"type": "object", "required": ["kind"], **_by_kind(list(KINDS), tables)}


def _steering() -> Schema:
    axis = {key.name: {**_key(key), "description": key.help} for key in AXIS_KEYS}
    keys = {key.name: {**_key(key), "description": key.help} for key in STEERING_KEYS}
    needed = [key.name for key in AXIS_KEYS if key.required]
    table: Schema = {"type": "object", "properties": axis, "required": needed, "additionalProperties": False}
    return {"type": "object", "properties": {**keys, "axis": table}, "additionalProperties": False}


def _key(key: Key) -> Schema:
    if key.columns:
        row = {"anyOf": [{"type": "array"}, {"type": "object"}]}
        return {"type": "array", "items": row}
    if key.choices:
        return {"enum": list(key.choices)}
    one = {
        "length": _LENGTH,
        "angle": _ANGLE,
        "number": {"type": "number"},
        "text": _TEXT,
        "point": _TAKEN[values.point],
        "points": _list(_TAKEN[values.point]),
    }
    return one[key.dimension]
