"""Things by their words, each imported from its file when it is asked for: of many kinds, one answer needs few."""

from __future__ import annotations

import importlib
from collections.abc import Iterator, Mapping
from typing import TypeVar, cast

Thing = TypeVar("Thing")


class Homes(Mapping[str, Thing]):
    """What a word names; the words alone import nothing."""

    def __init__(self, package: str, homes: Mapping[str, tuple[str, str]]) -> None:
        """`homes` says for every word the file of `package` and the name in it."""
        self._package, self._homes = package, homes

    def __getitem__(self, word: str) -> Thing:
        file, name = self._homes[word]
        return cast("Thing", getattr(importlib.import_module(f"{self._package}.{file}"), name))

    def __iter__(self) -> Iterator[str]:
        return iter(self._homes)

    def __len__(self) -> int:
        return len(self._homes)

    def __contains__(self, word: object) -> bool:
        return word in self._homes
