"""Gaps asked for again and again while a few numbers of one corner change: at the bench, in one sitting.

* as a check - the gaps that `over_cycle` gives, to the last digit. A part is searched only where something that its gap
               hangs on is another: the part itself, the solid, or the motion
* soon       - certified as closely, from the planes that earlier searches left (see `gap.memory`), in a part of the
               time; which digit the ends have within the tolerance may be another than a check's
"""

from __future__ import annotations

import dataclasses
import hashlib
from collections.abc import Callable
from typing import Any

import numpy as np

from clearance.gap.cycle import over_cycle
from clearance.gap.found import Gap
from clearance.gap.memory import Memory
from clearance.mockup.mockup import MockUp
from clearance.well.part import Part

MOST_GAPS = 256
"""Gaps that are kept; the one that was not asked for longest goes first."""
MOST_BOXES = 200_000
"""Boxes of planes that are kept, some 60 MB: the largest shipped corner has 57,000 as it stands, so those of a few
places of its dials."""
_ASKED_OF_IT = ("required_mm", "required_from")
Progress = Callable[[int, int, str], None]


class Again:
    """What one sitting has measured."""

    def __init__(self) -> None:
        self._gaps: dict[Any, Gap] = {}
        self._memory = Memory(most_boxes=MOST_BOXES)

    def as_check(self, mockup: MockUp, progress: Progress) -> tuple[Gap, ...]:
        """The gap of every part, the very numbers of a check. What is done when `progress` raises is kept."""
        return tuple(
            self._as_check(mockup, part, _counted(mockup, done, progress)) for done, part in enumerate(mockup.parts)
        )

    def soon(self, mockup: MockUp, progress: Progress) -> tuple[Gap, ...] | None:
        """The gap of every part, certified, sooner; None where nothing is kept that it could be taken from.

        A part that is new here is measured as by a check, at once and for good.
        """
        quick = [_key(mockup, part) not in self._gaps and self._memory.knows(mockup, part) for part in mockup.parts]
        if not any(quick):
            return None
        found = []
        for done, (part, known) in enumerate(zip(mockup.parts, quick, strict=True)):
            told = _counted(mockup, done, progress)
            found.append(_measured(mockup, part, self._memory, told) if known else self._as_check(mockup, part, told))
        return tuple(found)

    def _as_check(self, mockup: MockUp, part: Part, progress: Progress) -> Gap:
        key = _key(mockup, part)
        gap = self._gaps.pop(key, None)
        if gap is not None:
            gap = dataclasses.replace(gap, required_mm=part.required_mm)
        else:
            # a search with a memory of nothing is the search of a check, and leaves what it proved
            fresh = Memory()
            gap = _measured(mockup, part, fresh, progress)
            self._memory.take_over(fresh)
        self._gaps[key] = gap
        while len(self._gaps) > MOST_GAPS:
            self._gaps.pop(next(iter(self._gaps)))
        return gap


def _measured(mockup: MockUp, part: Part, memory: Memory, progress: Progress) -> Gap:
    return over_cycle(mockup, parts=(part.name,), memory=memory, progress=progress)[0]


def _counted(mockup: MockUp, done: int, progress: Progress) -> Progress:
    """Told of one part, it tells of all."""
    return lambda _, __, words: progress(done, len(mockup.parts), words)


def _key(mockup: MockUp, part: Part) -> Any:
    """All that a gap hangs on; what a part must keep is not found by a search."""
    solid = mockup.solid
    return _print_of(part), mockup.suspension, solid.profile, solid.pieces


def _print_of(part: Part) -> str:
    digest = hashlib.blake2b(digest_size=16)
    _taken_in(digest, part)
    return digest.hexdigest()


def _taken_in(digest: Any, value: Any) -> None:
    """Every number and word of a value."""
    if isinstance(value, np.ndarray):
        digest.update(repr(value.shape).encode() + np.ascontiguousarray(value).tobytes())
    elif dataclasses.is_dataclass(value):
        for one in dataclasses.fields(value):
            if one.name not in _ASKED_OF_IT:
                digest.update(one.name.encode())
                _taken_in(digest, getattr(value, one.name))
    elif isinstance(value, tuple):
        digest.update(b"(")
        for item in value:
            _taken_in(digest, item)
        digest.update(b")")
    else:
        digest.update(repr(value).encode())
