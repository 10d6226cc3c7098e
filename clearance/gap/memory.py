"""What was proven of the parts of a mock-up, kept while other tires, wheels and offsets are asked about.

* memory  - one to a question, or to a sitting at the bench; nothing is kept between questions that do not share one
* entry   - one part on one path: its tree, and the boxes and places that a search left (see `geom.kept`)
* gap     - of one part and one solid, as closely as a check measures it: asked for again it is the same

A bracket that is found with a memory is as true and as narrow as one without. Its ends may be others, within the
tolerance: which boxes were settled, and how, hangs on what was asked before.
"""

from __future__ import annotations

import hashlib
from collections.abc import Callable, Hashable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from functools import lru_cache
from typing import Any

from clearance.gap.found import Gap
from clearance.gap.trees import tree_of
from clearance.geom.kept import Kept
from clearance.geom.tree import Tree
from clearance.mockup.mockup import MockUp
from clearance.mockup.paths import Seen, fitted_reach_mm, seen_by
from clearance.suspension.position import Suspension
from clearance.well.part import Part

MOST_ENTRIES = 64
"""Parts on paths; the one that was not asked about for longest goes first."""
MOST_BOXES = 500_000
"""Of all entries together, where nothing else is said: some 150 MB."""
MOST_GAPS = 256
"""The one that was not asked for longest goes first."""
_Key = tuple[str, Suspension]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Entry:
    """One part on one path."""

    reach_mm: float
    """Of the largest wheel that the path was fitted for."""
    seen: Seen
    tree: Tree
    kept: Kept = field(default_factory=Kept)


class Memory:
    """What is kept, by part and suspension."""

    def __init__(self, *, most_boxes: int = MOST_BOXES) -> None:
        self._most_boxes = most_boxes
        self._entries: dict[_Key, Entry] = {}
        self._gaps: dict[Any, Gap] = {}

    @property
    def boxes(self) -> int:
        """How many are kept."""
        return sum(len(entry.kept) for entry in self._entries.values())

    def knows(self, mockup: MockUp, part: Part) -> bool:
        """Is anything kept that a search of this part could begin with?"""
        entry = self._entries.get((_print_of(part), mockup.suspension))
        return entry is not None and bool(entry.kept) and entry.reach_mm >= fitted_reach_mm(mockup)

    def take_over(self, other: Memory) -> None:
        """What another one has, in the place of what is kept of the same."""
        for key, entry in other._entries.items():
            self._entries.pop(key, None)
            self._entries[key] = entry
        self._drop_oldest()

    def told(self, mockup: MockUp, part: Part, asked: Hashable, measured: Callable[[], Gap]) -> Gap:
        """A gap that was asked for in this way before, or else what is measured now, which is kept."""
        # a part and a solid are themselves alone, and kept with their gap
        key = (part, mockup.suspension, mockup.solid, asked)
        gap = self._gaps.pop(key, None) or measured()
        self._gaps[key] = gap
        while len(self._gaps) > MOST_GAPS:
            self._gaps.pop(next(iter(self._gaps)), None)
        return gap

    @contextmanager
    def lent(self, mockup: MockUp, part: Part) -> Iterator[Entry]:
        """What is known of this part, empty at first; back in the memory only if nothing went wrong meanwhile.

        Whoever else asks at the same time finds it gone, and begins anew.
        """
        key = (_print_of(part), mockup.suspension)
        entry = self._entries.pop(key, None)
        reach_mm = fitted_reach_mm(mockup)
        if entry is None or entry.reach_mm < reach_mm:
            entry = Entry(reach_mm=reach_mm, seen=seen_by(mockup, part), tree=tree_of(part))
        yield entry
        self._entries[key] = entry
        self._drop_oldest()

    def _drop_oldest(self) -> None:
        while len(self._entries) > MOST_ENTRIES or (len(self._entries) > 1 and self.boxes > self._most_boxes):
            self._entries.pop(next(iter(self._entries)))


@lru_cache(maxsize=64)
def _print_of(part: Part) -> str:
    """What tells where a part is and how it moves: a file that is read again gives the same."""
    digest = hashlib.blake2b(part.triangles_mm.tobytes(), digest_size=16)
    digest.update(part.rides_on.encode())
    if part.far_end is not None:
        digest.update(part.far_end.frame.encode() + part.far_end.point_mm.tobytes() + part.far_end.share.tobytes())
    return digest.hexdigest()
