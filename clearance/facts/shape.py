"""What an answer's facts look like: every key with its kind, its unit and what it means, as a JSON Schema.

Each room of facts declares its `SHAPE` beside what makes it. A table's keys are fixed, and all of them are there; a
`named` table has keys of the corner's own (parts, positions) and values of one kind.
"""

from __future__ import annotations

from typing import Any

Shape = dict[str, Any]

DIALECT = "https://json-schema.org/draft/2020-12/schema"


def number(words: str) -> Shape:
    """A number; `words` say its unit."""
    return {"type": "number", "description": words}


def mm(words: str) -> Shape:
    """A length in millimetres."""
    return number(f"{words}, mm")


def deg(words: str) -> Shape:
    """An angle in degrees."""
    return number(f"{words}, deg")


def inch(words: str) -> Shape:
    """A rim's code in inches."""
    return number(f"{words}, in")


def count(words: str) -> Shape:
    """A whole number of things."""
    return {"type": "integer", "minimum": 0, "description": words}


def share(words: str) -> Shape:
    """A part of one, 0 to 1."""
    return {"type": "number", "minimum": 0, "maximum": 1, "description": f"{words}, 0 to 1"}


def text(words: str) -> Shape:
    """Words."""
    return {"type": "string", "description": words}


def flag(words: str) -> Shape:
    """Yes or no."""
    return {"type": "boolean", "description": words}


def one_of(words: str, *values: str) -> Shape:
    """One of these words."""
    return {"enum": list(values), "description": words}


def rows(words: str, each: Shape) -> Shape:
    """A list of alike."""
    return {"type": "array", "items": each, "description": words}


def several(words: str, each: Shape, many: int) -> Shape:
    """A list of so many alike."""
    return {"type": "array", "items": each, "minItems": many, "maxItems": many, "description": words}


def ends(words: str, each: Shape) -> Shape:
    """Least and most."""
    return several(words, each, 2)


def table(words: str, /, **keys: Shape) -> Shape:
    """A table with these keys, all of them, and no other."""
    return {
        "type": "object",
        "additionalProperties": False,
        "required": list(keys),
        "properties": keys,
        "description": words,
    }


def named(words: str, each: Shape) -> Shape:
    """A table whose keys are names."""
    return {"type": "object", "additionalProperties": each, "description": words}


def maybe(shape: Shape, when: str) -> Shape:
    """What may be null; `when` says what that means."""
    words = {"description": f"{shape['description']}; null {when}"}
    if isinstance(shape.get("type"), str):
        return {**shape, "type": [shape["type"], "null"], **words}
    return {**shape, "enum": [*shape["enum"], None], **words}


WARNINGS = rows("what to look at before any number is believed", text("one of them"))
TITLE = text("of the corner file")
CORNER = one_of("which wheel", "front-left", "front-right", "rear-left", "rear-right")
VERDICT = one_of("what is said of the required gap", "clears", "tight", "hits", "undecided")
FILES = rows("what was written, in the folder that was asked for", text("a file's name"))


def answer(kind: str, words: str, /, **keys: Shape) -> Shape:
    """A whole answer of this format; `optional_` before a key's name says that it may be left out."""
    plain = {name.removeprefix("optional_"): shape for name, shape in keys.items()}
    made = table(words, format={"const": kind, "description": "changes when a reader would misread it"}, **plain)
    needed = [name for name in made["required"] if f"optional_{name}" not in keys]
    return {"$schema": DIALECT, "title": kind, **made, "required": needed}


def of_corner(kind: str, words: str, /, **keys: Shape) -> Shape:
    """An answer about a corner: its title and its warnings first."""
    return answer(kind, words, title=TITLE, warnings=WARNINGS, **keys)
