"""The folder that the page was opened on: what may be read through the page, and what may be written.

* a name is one name: no folder in it, no way up, no sign that a file's name cannot have
* what it leads to is a plain file in this folder itself: a link out of it is none
* sum    - what tells a content from any other. A file is written over only where it has the sum that was read
"""

from __future__ import annotations

import hashlib
import os
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path

from clearance_cli.out import write_all

import clearance
from clearance import opener
from clearance.plain import echoed

KINDS = (".toml", ".csv")
MESHES = (".stl", ".ply", ".obj", ".off", ".glb", ".3mf")
"""What a scan may be called here; a .gltf names other files, so it is exported as GLB."""
PHOTOS = (".jpg",)
"""As they are kept."""
MOST_LISTED = 200
MOST_LETTERS = 120


class Changed(clearance.InputError):
    """A file is not what it was when it was read."""


@dataclass(frozen=True, kw_only=True)
class Folder:
    """The one folder."""

    place: Path
    """Absolute, links resolved."""

    def file(self, name: str, kinds: tuple[str, ...] = KINDS) -> Path:
        """The place of a file that may be read or written here. Raises InputError for anything else."""
        if not _is_name(name):
            raise clearance.InputError(f"{echoed(name)} is no name for a file of this folder.")
        if Path(name).suffix.lower() not in kinds:
            raise clearance.InputError(f"{echoed(name)}: a name here ends in {' or '.join(kinds)}.")
        place = self.place / name
        if os.path.lexists(place) and not self._is_plain(place):
            raise clearance.InputError(f"{echoed(name)} is no plain file of this folder.")
        return place

    def _is_plain(self, place: Path) -> bool:
        return not place.is_symlink() and place.is_file() and place.resolve().parent == self.place

    def text(self, name: str) -> str:
        """What a file says. Raises InputError or FileError for what is none of this folder's."""
        return opener.text_of(self.file(name))

    def content(self, name: str, kinds: tuple[str, ...] = KINDS, most: int = opener.MOST_TEXT) -> bytes:
        """What stands in a file, byte by byte. Raises InputError or FileError likewise."""
        return opener.bytes_of(self.file(name, kinds), most=most)

    def of_kind(self, kinds: tuple[str, ...]) -> list[str]:
        """The plain files here whose names end so."""
        found = sorted(
            one.name for one in os.scandir(self.place) if one.name.lower().endswith(kinds) and _is_plain(one)
        )
        return [name for name in found if _is_name(name)][:MOST_LISTED]

    def add(self, name: str, content: bytes, kinds: tuple[str, ...], most: int) -> None:
        """Write a file that is not there yet, or is there just so. Raises InputError where another of that name is."""
        place = self.file(name, kinds)
        if os.path.lexists(place):
            if place.stat().st_size == len(content) and opener.bytes_of(place, most=most) == content:
                return
            raise clearance.InputError(f"{name} is there already, and is another. Give the new one another name.")
        write_all(self.place, {name: content})

    def drafts(self, ending: str) -> list[str]:
        """The names that were begun: those of the files with this ending, without it."""
        found = sorted(one.name for one in os.scandir(self.place) if one.name.endswith(ending) and _is_plain(one))
        return [name.removesuffix(ending) for name in found][:MOST_LISTED]

    def names(self) -> list[str]:
        """The corner and car files that are here."""
        found = sorted(one.name for one in os.scandir(self.place) if _is_ours(one))
        return found[:MOST_LISTED]

    def write(self, name: str, content: bytes, *, over: str, kinds: tuple[str, ...] = KINDS) -> None:
        """Write a file, over one whose content has the sum `over`, or where none is if that is empty.

        Raises Changed where something else stands there by now.
        """
        self._hold(name, over, kinds)
        write_all(self.place, {name: content})

    def write_set(self, files: Mapping[str, bytes], *, over: Mapping[str, str]) -> None:
        """Write every file of an answer, or none of them, each over what it may stand over. Raises Changed."""
        for name in files:
            self._hold(name, over.get(name, ""))
        write_all(self.place, files)

    def _hold(self, name: str, over: str, kinds: tuple[str, ...] = KINDS) -> None:
        place = self.file(name, kinds)
        there = opener.bytes_of(place) if os.path.lexists(place) else None
        if there is not None and sum_of(there) != over:
            raise Changed(
                f"{name} was changed by somebody else since it was read here, so it was left as it is. Save under"
                " another name, or open it again."
            )
        if there is None and over:
            raise Changed(f"{name} is gone from its folder. Save it under another name, or put it back.")


def _is_name(name: str) -> bool:
    """Whether this is one name, and one that every system can have."""
    if not name or len(name) > MOST_LETTERS or not name.isprintable() or name.startswith("."):
        return False
    return Path(name).name == name and not set(name) & set('/\\:<>|?*"')


def _is_ours(entry: os.DirEntry[str]) -> bool:
    return entry.name.lower().endswith(".toml") and _is_plain(entry)


def _is_plain(entry: os.DirEntry[str]) -> bool:
    return not entry.name.startswith(".") and entry.is_file(follow_symlinks=False)


def sum_of(content: bytes) -> str:
    """What tells this content from any other."""
    return hashlib.sha256(content).hexdigest()
