"""One table of the file through its model, and every refusal back with the path of what is wrong."""

from __future__ import annotations

import threading
from collections.abc import Mapping
from typing import Any, TypeVar

from pydantic import BaseModel, ValidationError
from pydantic.fields import FieldInfo
from pydantic_core import ErrorDetails

from clearance.description import values
from clearance.description.lines import Path, Step
from clearance.description.refusal import Refusal, as_written, nearest, without_sign

Model = TypeVar("Model", bound=BaseModel)

_BUILDING = threading.RLock()
"""A model that is built when first asked for is no model yet to another thread."""


def read(model: type[Model], table: object, path: Path) -> Model:
    """The table that stands at `path`, as its model. Raises Refusal for the first thing that is wrong with it."""
    if not isinstance(table, Mapping):
        raise Refusal(path, f"{as_written(table)} is not a table. Write {_example(model)}.")
    with _BUILDING:
        model.model_rebuild()
    try:
        return model.model_validate(dict(table))
    except Refusal as wrong:
        # a table within the table has already worded it; only the way to it is missing
        raise Refusal((*path, *wrong.path), wrong.message, other=wrong.other) from None
    except ValidationError as wrong:
        detail = min(wrong.errors(include_url=False), key=_rank)
        raise Refusal(*_worded(model, detail, path)) from None


def key_names(model: type[BaseModel]) -> list[str]:
    """The keys of a table as the file writes them."""
    return [field.alias or name for name, field in model.model_fields.items()]


def _rank(detail: ErrorDetails) -> int:
    # a key that is misspelt is also missing: name the misspelling, which shows both
    return {"extra_forbidden": 0, "missing": 1}.get(detail["type"], 2)


def _worded(model: type[BaseModel], detail: ErrorDetails, path: Path) -> tuple[Path, str]:
    loc: tuple[Step, ...] = detail["loc"]
    where = (*path, *loc)
    kind, found = detail["type"], detail["input"]
    if kind == "refused":
        return where, detail["msg"]
    if kind == "below_zero":
        field = _at(model, loc[:-1]).model_fields[_name(model, loc)]
        return where, without_sign(str(loc[-1]), found, detail["ctx"]["what"], str(field.description))
    if kind == "extra_forbidden":
        known = key_names(_at(model, loc[:-1]))
        return where, f"the key {as_written(str(loc[-1]))} is not known here. {nearest(str(loc[-1]), known)}"
    if kind == "missing" and isinstance(loc[-1], int):
        return where[:-1], f"the list ends too early: found {len(found)}, and one more belongs here."
    if kind == "missing":
        field = _at(model, loc[:-1]).model_fields[_name(model, loc)]
        return where, f'"{loc[-1]}" is missing: {field.description}. Write {loc[-1]} = {_example_of(field)}.'
    if kind in ("too_short", "too_long"):
        context = detail.get("ctx", {})
        count = context.get("min_length", context.get("max_length"))
        return where, f"{count} values belong here; found {len(found)}."
    if kind in ("tuple_type", "list_type"):
        return where, f"{as_written(found)} is not a list. Write it between square brackets."
    if kind.startswith("model"):
        return where, f"{as_written(found)} is not a table. Write {_example(_at(model, loc))}."
    if kind.startswith("bool"):
        return where, f"{as_written(found)} is not true or false. Write one of the two, without quotes."
    return where, f"{as_written(found)} cannot be used here."


def _name(model: type[BaseModel], loc: tuple[Step, ...]) -> str:
    fields = _at(model, loc[:-1]).model_fields
    return next(name for name, field in fields.items() if loc[-1] in (name, field.alias))


def _at(model: type[BaseModel], loc: tuple[Step, ...]) -> type[BaseModel]:
    """The model of the table at `loc` inside a model."""
    for step in loc:
        if isinstance(step, int):
            continue
        field = next(f for name, f in model.model_fields.items() if step in (name, f.alias))
        model = next(found for found in _models(field.annotation))
    return model


def _models(annotation: Any) -> list[type[BaseModel]]:
    if isinstance(annotation, type) and issubclass(annotation, BaseModel):
        return [annotation]
    return [model for inner in getattr(annotation, "__args__", ()) for model in _models(inner)]


def _example_of(field: FieldInfo) -> str:
    """What a value of this key may look like."""
    readers = [getattr(mark, "func", None) for mark in field.metadata]
    known = [values.EXAMPLES[reader] for reader in readers if reader in values.EXAMPLES]
    if known:
        return known[0]
    inside = _models(field.annotation)
    return _example(inside[0]) if inside else "[...]"


def _example(model: type[BaseModel]) -> str:
    return "{ " + ", ".join(f"{key} = ..." for key in key_names(model)[:3]) + " }"
