"""Every number of a corner file with its ends: of a file that was read, and of the language itself.

A key declares its ends beside its reader, in the annotation of its field. Here the declarations are walked along the
tables as TOML gave them, so that each number comes with its path and the words that it was written in.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Annotated, Any, get_args, get_origin

from pydantic import BaseModel, BeforeValidator

from clearance.description import values
from clearance.description.lines import Path
from clearance.description.refusal import Refusal
from clearance.ends.ends import Circle, Ends, Number, Point
from clearance.suspension.kinds import Key

Declared = Ends | Point | Circle


@dataclass(frozen=True, slots=True, kw_only=True)
class NumericKey:
    """One numeric key of the language; `path` has "*" for a name that the file chooses and 0 for a place in a list."""

    path: Path
    ends: Declared | None
    """None where a key was declared without: a test refuses that."""
    reader: object
    """What reads it, from `values`."""


# ---- a table that was read


def numbers_in(model: type[BaseModel], table: Mapping[str, Any], path: Path) -> Iterator[Number]:
    """Every number of a table that has passed its model."""
    for name, field in model.model_fields.items():
        key = field.alias or name
        if key in table:
            whole = Annotated[field.annotation, *field.metadata] if field.metadata else field.annotation
            yield from _numbers(whole, table[key], (*path, key))


def _numbers(annotation: Any, written: Any, path: Path) -> Iterator[Number]:
    if get_origin(annotation) is Annotated:
        yield from _numbers_with_ends(annotation, written, path)
    elif _is_model(annotation):
        if isinstance(written, Mapping):
            yield from numbers_in(annotation, written, path)
    elif get_origin(annotation) is tuple:
        yield from _numbers_of_list(get_args(annotation), written if isinstance(written, list) else [], path)
    else:
        # of several readings the first that finds a number
        each = (list(_numbers(one, written, path)) for one in get_args(annotation))
        yield from next((found for found in each if found), [])


def _numbers_with_ends(annotation: Any, written: Any, path: Path) -> Iterator[Number]:
    ends, _ = _declared(annotation)
    if isinstance(ends, Ends) and isinstance(written, (list, Mapping)) and not _is_table(annotation):
        for step, item in enumerate(written) if isinstance(written, list) else written.items():
            yield from _numbers(annotation, item, (*path, step))
    elif ends is not None and _is_leaf(written, ends):
        yield from measured(ends, written, path)
    else:
        yield from _numbers(get_args(annotation)[0], written, path)


def _numbers_of_list(inside: tuple[Any, ...], items: list[Any], path: Path) -> Iterator[Number]:
    each = [inside[0]] * len(items) if inside[-1] is Ellipsis else inside
    for i, (one, item) in enumerate(zip(each, items, strict=False)):
        yield from _numbers(one, item, (*path, i))


def _declared(annotation: Any) -> tuple[Declared | None, Any]:
    """The ends and the reader of an annotation, where it has them."""
    marks = annotation.__metadata__
    ends = next((mark for mark in marks if isinstance(mark, Declared)), None)
    reader = next((mark.func for mark in marks if isinstance(mark, BeforeValidator)), None)
    return ends, reader


def _is_leaf(written: Any, ends: Declared) -> bool:
    if isinstance(ends, Point):
        return isinstance(written, list)
    return isinstance(written, (str, int, float)) and not isinstance(written, bool)


def _is_table(annotation: Any) -> bool:
    """Whether an annotated value may be a table with keys of its own, each with ends."""
    inside = get_args(annotation)[0]
    return any(_is_model(one) for one in (inside, *get_args(inside)))


def measured(ends: Declared, written: Any, path: Path) -> Iterator[Number]:
    """The numbers that one written value holds: one, a point's two or three, or a bolt circle's two."""
    if isinstance(ends, Point):
        for i, ((axis, one), item) in enumerate(zip(ends.axes.items(), written, strict=True)):
            value = float(item) if isinstance(item, (int, float)) else values.length(item)
            yield Number(path=(*path, i), text=str(item), value=value, ends=one, axis=axis)
    elif isinstance(ends, Circle):
        studs, diameter_mm = values.bolt_circle(written)
        count, across = values.circle_parts(written)
        yield Number(path=path, text=count, value=studs, ends=ends.studs)
        yield Number(path=path, text=across, value=diameter_mm, ends=ends.diameter)
    else:
        yield Number(path=path, text=str(written), value=values.OF_UNIT[ends.unit](written), ends=ends)


def numbers_of_keys(keys: Sequence[Key], table: Mapping[str, Any], path: Path) -> Iterator[Number]:
    """Every number of a table whose keys a kind of suspension describes; it has been read already."""
    for key in keys:
        if key.name in table:
            yield from _numbers_of_key(key, table[key.name], (*path, key.name))


def _numbers_of_key(key: Key, written: Any, path: Path) -> Iterator[Number]:
    if key.columns:
        for i, row in enumerate(written):
            yield from _numbers_of_row(key, row, (*path, i))
    elif key.dimension == "points":
        for i, item in enumerate(written):
            yield from measured(_ends_of(key), item, (*path, i))
    elif key.dimension != "text":
        yield from measured(_ends_of(key), written, path)


def _numbers_of_row(key: Key, row: Any, path: Path) -> Iterator[Number]:
    items: Iterable[tuple[Path, Any]]
    if isinstance(row, Mapping):
        items = [((column.name,), row[column.name]) for column in key.columns]
    elif all(isinstance(part, list) for part in row):
        items = [((i, j), item) for i, part in enumerate(row) for j, item in enumerate(part)]
    else:
        items = [((i,), item) for i, item in enumerate(row)]
    for column, (steps, item) in zip(key.columns, items, strict=True):
        value = READERS[column.dimension](item)
        yield Number(path=(*path, *steps), text=str(item), value=value, ends=column.ends, axis=column.name)


def _ends_of(key: Key) -> Declared:
    assert key.ends is not None, f"{key.name} has no ends"
    return key.ends


READERS: Mapping[str, Callable[[object], Any]] = {
    "length": values.length,
    "angle": values.angle,
    "number": values.number,
    "text": values.word,
    "point": values.point,
}
"""What reads each dimension that a kind of suspension asks for."""


def refuse_beyond(numbers: Iterable[Number]) -> None:
    """Raise Refusal for the first number that no road vehicle has."""
    for number in numbers:
        if number.refusal:
            raise Refusal(number.path, number.refusal)


# ---- the language


def keys_of(model: type[BaseModel], path: Path = ()) -> Iterator[NumericKey]:
    """Every numeric key of a table and of the tables inside it."""
    for name, field in model.model_fields.items():
        whole = Annotated[field.annotation, *field.metadata] if field.metadata else field.annotation
        yield from _keys(whole, (*path, field.alias or name))


def _keys(annotation: Any, path: Path) -> Iterator[NumericKey]:
    if get_origin(annotation) is Annotated:
        ends, reader = _declared(annotation)
        annotation = get_args(annotation)[0]
        if ends is not None or reader in values.NUMERIC:
            yield NumericKey(path=path, ends=ends, reader=reader)
            if not _is_model(annotation):
                return
    if _is_model(annotation):
        yield from keys_of(annotation, path)
        return
    inside, listed = get_args(annotation), get_origin(annotation) is tuple
    for i, one in enumerate(inside[:1] if listed and inside[-1] is Ellipsis else inside):
        yield from _keys(one, (*path, i) if listed else path)


def _is_model(annotation: Any) -> bool:
    return isinstance(annotation, type) and issubclass(annotation, BaseModel)


def keys_of_kind(keys: Iterable[Key], path: Path = ()) -> Iterator[NumericKey]:
    """Every numeric key that a kind of suspension, or [steering], describes; columns one by one."""
    for key in keys:
        if key.columns:
            for column in key.columns:
                reader = READERS[column.dimension]
                yield NumericKey(path=(*path, key.name, 0, column.name), ends=column.ends, reader=reader)
        elif key.dimension != "text":
            yield NumericKey(path=(*path, key.name), ends=key.ends, reader=READERS.get(key.dimension))
