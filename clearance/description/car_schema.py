"""The car file as a JSON Schema (draft 2020-12), from the same declarations as a corner file's.

It is no stricter than the reader: whether a corner that is like another is whole in the end is for the reader to say,
so of a corner's sections none is asked for, and of a part over one of its name only what it says otherwise.
"""

from __future__ import annotations

from clearance.description import car
from clearance.description.json_schema import Schema, corner_file_schema, table_schema
from clearance.mockup.mockup import CORNERS


def car_file_schema() -> Schema:
    """The whole language of a car file."""
    whole = corner_file_schema()
    sections, kinds = _sections(whole["properties"])
    corners: Schema = {
        "type": "object",
        "additionalProperties": False,
        "minProperties": 1,
        "properties": {
            name: {"$ref": "#/$defs/corner", "description": f"the {name.replace('-', ' ')} corner"} for name in CORNERS
        },
        "allOf": [_like_asks_for(name) for name in CORNERS],
        "description": "the corners that are described",
    }
    return {
        "$schema": whole["$schema"],
        "title": "Car file",
        "description": "Several wheel positions of one vehicle, and what the car has once.",
        "type": "object",
        "additionalProperties": False,
        "required": ["corner"],
        "properties": {
            "title": whole["properties"]["title"],
            "units": whole["properties"]["units"],
            "car": {**table_schema(car.CarTable), "description": "what the car has once"},
            **{name: _of(f"section-{name}") for name in car.SHARED},
            "corner": corners,
        },
        "$defs": {**whole["$defs"], **kinds, **sections, "corner": _corner(whole["properties"])},
    }


def _of(name: str) -> Schema:
    return {"$ref": f"#/$defs/{name}"}


def _corner(properties: Schema) -> Schema:
    """One corner: where it comes from, and its own sections."""
    place = table_schema(car.CornerOfCar)["properties"]
    like = {"enum": list(CORNERS), "description": place["like"]["description"]}
    own = {name: properties[name] if name in car.HEADING else _of(f"section-{name}") for name in car.OWN}
    return {
        "type": "object",
        "additionalProperties": False,
        "properties": {**place, "like": like, **own},
        "not": {"required": ["file", "like"]},
    }


def _like_asks_for(other: str) -> Schema:
    """Where a corner is like this one, this one is there, and is not like itself."""
    says = {"required": ["like"], "properties": {"like": {"const": other}}}
    return {
        "if": {"anyOf": [{"required": [name], "properties": {name: says}} for name in CORNERS]},
        "then": {"required": [other], "properties": {other: {"not": says}}},
    }


# ---- sections of which some may stand elsewhere


def _sections(properties: Schema) -> tuple[Schema, Schema]:
    """Every section with nothing in it asked for, and the tables of the kinds of part and suspension."""
    sections: Schema = {}
    kinds: Schema = {}
    for name in {**dict.fromkeys(car.SHARED), **dict.fromkeys(car.OWN)}:
        if name in car.HEADING:
            continue
        section = properties[name]
        many = section.get("type") == "array" and "allOf" in section["items"]
        if many or "allOf" in section:
            table, own = _by_kind(name, section["items"] if many else section)
            kinds |= own
            found = {"type": "array", "items": table, "description": section["description"]} if many else table
        else:
            found = _less(section)
        sections[f"section-{name}"] = found
    return sections, kinds


def _less(section: Schema) -> Schema:
    """A section with none of its keys asked for; what stands within a key is whole."""
    if "anyOf" in section:
        return {**section, "anyOf": [_less(one) for one in section["anyOf"]]}
    return {key: value for key, value in section.items() if key != "required"}


def _by_kind(name: str, table: Schema) -> tuple[Schema, Schema]:
    """A table whose keys follow from its kind, wherever the kind is written: where it is not, those of any one kind."""
    kinds = {f"{name}-{case['if']['properties']['kind']['const']}": _less(case["then"]) for case in table["allOf"]}
    cases = [{**case, "then": _of(kind)} for case, kind in zip(table["allOf"], kinds, strict=True)]
    elsewhere = {"if": {"not": {"required": ["kind"]}}, "then": {"anyOf": [_of(kind) for kind in kinds]}}
    needed = {"required": ["name"]} if name == "part" else {}
    return {**_less(table), **needed, "allOf": [*cases, elsewhere]}, kinds
