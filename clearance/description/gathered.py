"""Tables that are laid over one another, each key remembering where it was written.

* tree   - the tables of one corner, and the spot of every key in them
* laid   - one tree over another: a key takes the place of the key below it, a part joins the part of its name
* without - what is taken away again: a part by its name, a key by its section: "wheel.backspace"
"""

from __future__ import annotations

import os
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from typing import Any

from clearance.description.lines import Path, lines_of
from clearance.description.refusal import Refusal, as_written, nearest
from clearance.description.written import Spot

Spots = dict[Path, Spot]


@dataclass(frozen=True, slots=True, kw_only=True)
class Tree:
    """The tables of a corner as they stand so far."""

    tables: dict[str, Any] = field(default_factory=dict)
    spots: Spots = field(default_factory=dict)
    across: frozenset[str] = frozenset()
    """Names of the parts that were measured on the other side of the car."""


def tree_of(tables: Mapping[str, Any], text: str, file: str) -> Tree:
    """All of a file."""
    return Tree(tables=dict(tables), spots={path: Spot(file, line, path) for path, line in lines_of(text).items()})


def cut(tree: Tree, *steps: str, without: Sequence[str] = ()) -> Tree:
    """What stands at these steps, as a tree of its own, but for some of its keys."""
    tables: Any = tree.tables
    for step in steps:
        tables = tables[step]
    n = len(steps)
    spots = {
        path[n:]: spot
        for path, spot in tree.spots.items()
        if path[:n] == steps and len(path) > n and path[n] not in without
    }
    return Tree(tables={key: value for key, value in tables.items() if key not in without}, spots=spots)


def laid(below: Tree, above: Tree) -> Tree:
    """One tree over another. A suspension of another kind takes the whole section's place."""
    tables, spots = dict(below.tables), dict(below.spots)
    for name, value in above.tables.items():
        if name == "part" and isinstance(value, list) and isinstance(tables.get("part"), list):
            tables["part"] = _parts_joined(tables["part"], value, spots, above.spots)
        elif (
            isinstance(value, Mapping)
            and isinstance(tables.get(name), Mapping)
            and not (name == "suspension" and _another_kind(tables, above))
        ):
            tables[name] = {**tables[name], **value}
            for key in value:
                _move(spots, (name, key), above.spots, (name, key))
        else:
            tables[name] = value
            _move(spots, (name,), above.spots, (name,))
    return Tree(tables=tables, spots=spots, across=(below.across - set(names_in(above.tables))) | above.across)


def names_in(tables: Mapping[str, Any]) -> list[str]:
    """The names of the parts, as far as they are names."""
    parts = tables.get("part")
    return [_name(part) for part in parts] if isinstance(parts, list) else []


def _name(part: Any) -> str:
    """The name of a part; empty where it has none that could be one."""
    name = part.get("name") if isinstance(part, Mapping) else None
    return name if isinstance(name, str) else ""


def _another_kind(below: Mapping[str, Any], above: Tree) -> bool:
    """Whether the suspension above is of another kind, so that nothing of the one below is meant."""
    tables = [one.get("suspension") for one in (below, above.tables)]
    kinds = [table.get("kind") for table in tables if isinstance(table, Mapping) and "kind" in table]
    return len(kinds) == 2 and kinds[0] != kinds[1]


def _parts_joined(below: list[Any], above: list[Any], spots: Spots, from_spots: Spots) -> list[Any]:
    found = list(below)
    places = {_name(part): i for i, part in enumerate(found) if _name(part)}
    for j, part in enumerate(above):
        i = places.get(_name(part), len(found))
        if i == len(found):
            found.append(part)
            _move(spots, ("part", i), from_spots, ("part", j))
        else:
            found[i] = _joined(found[i], part)
            for key in part:
                _move(spots, ("part", i, key), from_spots, ("part", j, key))
            spots[("part", i)] = from_spots.get(("part", j), spots[("part", i)])
    return found


def _joined(below: Mapping[str, Any], above: Mapping[str, Any]) -> Mapping[str, Any]:
    """A part with keys of its own over those of the part of its name; one of another kind is another part."""
    same = above.get("kind", below.get("kind")) == below.get("kind")
    return {**below, **above} if same else above


def _move(spots: Spots, to: Path, from_spots: Spots, start: Path) -> None:
    """The spots below one path put below another, in the place of those that were there."""
    for path in [path for path in spots if path[: len(to)] == to]:
        del spots[path]
    spots.update({(*to, *path[len(start) :]): spot for path, spot in from_spots.items() if path[: len(start)] == start})


def without(tree: Tree, words: Sequence[str], at: Path) -> Tree:
    """A tree less these parts and keys; `at` is where they were listed. Raises Refusal for what is not there."""
    for i, word in enumerate(words):
        tree = _less(tree, word, (*at, i))
    return tree


def _less(tree: Tree, word: str, at: Path) -> Tree:
    names = names_in(tree.tables)
    section, _, key = word.partition(".")
    if word and word in names:
        return _less_part(tree, names.index(word), word)
    table = tree.tables.get(section)
    if isinstance(table, Mapping) and key in table:
        tables = {**tree.tables, section: {name: value for name, value in table.items() if name != key}}
        spots = {path: spot for path, spot in tree.spots.items() if path[:2] != (section, key)}
        return replace(tree, tables=tables, spots=spots)
    known = [*names, *_keys_in(tree.tables)]
    raise Refusal(at, f"there is no part and no key {as_written(word)} to leave out. {nearest(word, known)}")


def _less_part(tree: Tree, gone: int, name: str) -> Tree:
    parts = tree.tables["part"]
    tables = {**tree.tables, "part": [*parts[:gone], *parts[gone + 1 :]]}
    return Tree(tables=tables, spots=_closed_up(tree.spots, gone), across=tree.across - {name})


def _keys_in(tables: Mapping[str, Any]) -> list[str]:
    return [f"{name}.{key}" for name, table in tables.items() if isinstance(table, Mapping) for key in table]


def _closed_up(spots: Spots, gone: int) -> Spots:
    """The spots with one part taken out, and those behind it one place up."""
    found: Spots = {}
    for path, spot in spots.items():
        place = path[1] if len(path) > 1 and path[0] == "part" else None
        if not isinstance(place, int) or place < gone:
            found[path] = spot
        elif place > gone:
            found[("part", place - 1, *path[2:])] = spot
    return found


def from_folder(tree: Tree, folder: str) -> Tree:
    """A tree whose own files lie in another folder: scans and traced sections are named from where the car is."""
    if folder in ("", "."):
        return tree
    tables = dict(tree.tables)
    if isinstance(tables.get("part"), list):
        tables["part"] = [_renamed(part, folder) for part in tables["part"]]
    tire = tables.get("tire")
    if isinstance(tire, Mapping) and isinstance(tire.get("shape"), Mapping):
        tables["tire"] = {**tire, "shape": _renamed(tire["shape"], folder)}
    return Tree(tables=tables, spots=tree.spots, across=tree.across)


def _renamed(table: Any, folder: str) -> Any:
    if not isinstance(table, Mapping) or not isinstance(table.get("file"), str):
        return table
    return {**table, "file": os.path.join(folder, table["file"])}
