"""Where each key of a corner was written: in its own file, in the car's, or in one that the car's names."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import lru_cache
from typing import Protocol

from clearance.description.lines import Path, line_of, lines_of


@dataclass(frozen=True, slots=True)
class Spot:
    """A file, a line of it, and the key as it is called there."""

    file: str
    line: int
    key: Path


class Written(Protocol):
    """Knows where the keys of one corner stand."""

    @property
    def file(self) -> str:
        """The file that its reader has before him."""

    def at(self, path: Path) -> Spot:
        """Where this key stands, or the nearest thing around it that is written."""


@dataclass(frozen=True, slots=True)
class InFile:
    """A corner that is one file."""

    file: str
    text: str

    def at(self, path: Path) -> Spot:
        """Where this key stands, or the nearest thing around it that is written."""
        return Spot(self.file, line_of(_lines(self.text), path), path)


@lru_cache(maxsize=4)
def _lines(text: str) -> Mapping[Path, int]:
    return lines_of(text)


@dataclass(frozen=True, slots=True)
class Gathered:
    """A corner whose keys come from several places."""

    spots: Mapping[Path, Spot]
    whole: Spot
    """Of the corner itself: for what stands nowhere."""

    @property
    def file(self) -> str:
        """The car's."""
        return self.whole.file

    def at(self, path: Path) -> Spot:
        """Where this key stands, or the nearest thing around it that is written."""
        for length in range(len(path), 0, -1):
            spot = self.spots.get(path[:length])
            if spot is not None:
                return Spot(spot.file, spot.line, (*spot.key, *path[length:]))
        return Spot(self.whole.file, self.whole.line, (*self.whole.key, *path))
