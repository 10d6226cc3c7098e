"""The JSON Schema of a car file: an editor may take what the reader takes, and marks what it plainly does not."""

from __future__ import annotations

import copy
import json
import tomllib
from pathlib import Path
from typing import Any

import jsonschema
import pytest
import test_docs_of_keys as docs
import whole_language

from clearance.description.car import SHARED
from clearance.description.car_schema import car_file_schema
from clearance.suspension.kinds import KINDS

ROOT = Path(__file__).parents[2]
CARS = sorted((ROOT / "fixtures" / "cars").glob("*.toml"))
SCHEMA = car_file_schema()
VALIDATOR = jsonschema.Draft202012Validator(SCHEMA)


def errors(tables: dict[str, Any]) -> list[str]:
    return [error.message for error in VALIDATOR.iter_errors(tables)]


def test_it_is_a_schema_and_stands_in_the_docs():
    """Where this fails: python docs/corner_file_tables.py, and read what changed."""
    jsonschema.Draft202012Validator.check_schema(SCHEMA)
    tables = docs.module(docs.DOCS / "corner_file_tables.py", "corner_file_tables")
    text = (docs.DOCS / "car-file.schema.json").read_text(encoding="utf-8")
    assert text == tables.car_schema_text()
    assert json.loads(text) == json.loads(json.dumps(SCHEMA))


def test_every_reference_leads_somewhere():
    def references(value: Any) -> Any:
        if isinstance(value, dict):
            for key, inner in value.items():
                if key == "$ref":
                    yield inner
                else:
                    yield from references(inner)
        elif isinstance(value, list):
            for inner in value:
                yield from references(inner)

    named = {reference.removeprefix("#/$defs/") for reference in references(SCHEMA)}
    assert named == set(SCHEMA["$defs"])


@pytest.mark.parametrize("file", CARS, ids=lambda file: file.stem)
def test_every_shipped_car_is_taken(file):
    assert len(CARS) >= 3
    assert errors(tomllib.loads(file.read_text(encoding="utf-8"))) == []


@pytest.mark.parametrize("kind", KINDS)
def test_every_key_of_a_corner_is_taken_in_a_corner_of_a_car(kind):
    tables = whole_language.tables(kind)
    corner = tables.pop("corner")
    tables.pop("units", None)
    tables.pop("title", None)
    assert errors({"corner": {corner: tables}}) == []
    shared = {name: table for name, table in tables.items() if name in SHARED}
    assert errors({**shared, "corner": {corner: {"part": tables["part"]}}}) == []


BROKEN = [
    (("car", "wheelbase"), 2480),
    (("car", "wheelbase"), "2480"),
    (("car", "wheelbase"), "2480 furlongs"),
    (("car", "wheel_base"), "2480 mm"),
    (("car", "track_rear"), "3 kg"),
    (("car", "cautions"), "one"),
    (("corner", "rear-lft"), {}),
    (("corner", "rear-right", "like"), "rear-middle"),
    (("corner", "rear-right", "like"), "front-left"),  # which this car has not
    (("corner", "rear-right", "like"), "rear-right"),
    (("corner", "rear-right", "file"), "other.toml"),  # and like
    (("corner", "rear-right", "without"), "tailpipe"),
    (("corner", "rear-right", "fiel"), "x"),
    (("corner", "rear-right", "part", 0, "inboard"), 178),
    (("corner", "rear-right", "part", 0, "inbord"), "178 mm"),
    (("corner", "rear-right", "part", 0, "name"), 3),
    (("corner", "rear-right", "wheel"), {"backspce": "4 in"}),
    (("corner", "rear-right", "wheel"), {"backspace": "4 kg"}),
    (("corner", "rear-right", "suspension"), {"kind": "strait"}),
    (("corner", "rear-right", "suspension"), {"bmp": "3 in"}),
    (("corner", "rear-right", "corner"), "rear-right"),
    (("part",), [{"name": "wall", "kind": "wall"}]),
    (("tire",), {"size": 225}),
    (("limits",), {"spacr": "3 mm"}),
    (("units",), "ft"),
    (("corner",), {}),
]


@pytest.mark.parametrize(("path", "value"), BROKEN, ids=str)
def test_a_slip_is_marked(path, value):
    assert errors(changed((), None)) == []
    assert errors(changed(path, value)) != []


def test_what_stands_elsewhere_is_not_asked_for():
    """A part over one of its name, a key over a section: the rest is in the file or the other corner."""
    tables = changed(("corner", "rear-right", "wheel"), {"width": "8 in"})
    tables["corner"]["rear-right"]["suspension"] = {"bump": "80 mm"}
    tables["corner"]["rear-right"]["part"].append({"name": "filler", "kind": "bar", "diameter": "50 mm"})
    assert errors(tables) == []


def test_a_car_without_a_corner_is_marked():
    assert errors({"car": {"wheelbase": "2480 mm"}}) != []


def changed(path: tuple[str | int, ...], value: Any) -> dict[str, Any]:
    """The coupe with one thing written otherwise."""
    tables = copy.deepcopy(tomllib.loads((ROOT / "fixtures/cars/tern-coupe.toml").read_text("utf-8")))
    if path:
        inside: Any = tables
        for step in path[:-1]:
            inside = inside[step]
        inside[path[-1]] = value
    return tables
