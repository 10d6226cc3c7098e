"""One wheel for several corners: which backspace and offset clear at all of them, and who binds each end.

Each corner's own window is found first; what they share is where all of them clear, and both ends of it are measured
again at every corner over its whole cycle. Where the two sides of an axle differ, the axle stands nearer to one of
them: how far it would have to be moved for both to have the same, and what both would then share, is said only where it
was measured again so.

* shared   - a stretch of offset that clears at every corner
* off      - how far an axle stands from where both sides would have the same; positive to the left

Offsets and backspaces are mm; rim widths inches.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import product
from typing import TYPE_CHECKING

from clearance.answers.changed import with_axle_moved, with_offset
from clearance.answers.checked import Progress, binding, gaps_of, silent, spare_mm, spare_of
from clearance.answers.tires import on_width
from clearance.answers.window import End, OnWidth, Stretch, Window
from clearance.answers.window import window as window_of_one
from clearance.steady import steady

if TYPE_CHECKING:
    from clearance.mockup.mockup import MockUp

SAME_RIM_IN = 1e-6
ALIKE_MM = 1.0
"""Sides that differ by less are alike: half of it is what a tape is good to."""


@dataclass(frozen=True, slots=True, kw_only=True)
class SharedEnd:
    """One end of a shared stretch."""

    corner: str
    """Who binds it."""
    end: End


@dataclass(frozen=True, slots=True, kw_only=True)
class Shared:
    """One stretch of offset that clears at every corner, measured again at both ends."""

    least: SharedEnd
    most: SharedEnd
    middle_offset_mm: float
    middle_backspace_mm: float
    middle_spare_mm: float
    """What the tightest part of all has left at the middle, beyond its required gap."""
    middle_corner: str
    """Where that part is."""

    @property
    def width_mm(self) -> float:
        """How long it is."""
        return self.most.end.offset_mm - self.least.end.offset_mm

    def past_mm(self, offset_mm: float) -> float:
        """How far an offset lies outside; negative inside, by the nearer end."""
        return max(self.least.end.offset_mm - offset_mm, offset_mm - self.most.end.offset_mm)


@dataclass(frozen=True, slots=True, kw_only=True)
class Centred:
    """What an axle that is moved across the car would share, measured again with it moved."""

    to_left_mm: float
    """How far it is moved; negative to the right."""
    least_offset_mm: float
    most_offset_mm: float


@dataclass(frozen=True, slots=True, kw_only=True)
class SharedOnWidth:
    """The answer for one rim width."""

    width_in: float
    sides: Mapping[str, OnWidth]
    """Each corner's own."""
    stretches: tuple[Shared, ...]
    off_mm: float | None
    """Of an axle: how far it stands from the middle between its two windows, to the left where positive."""
    centred: Centred | None
    """Of an axle that is off: what it would share if it were not; None where it would not help or was not proven."""


@dataclass(frozen=True, slots=True, kw_only=True)
class SharedWindow:
    """The answer for every rim width that all corners permit."""

    what: str
    """ "rear axle", "all corners"."""
    windows: Mapping[str, Window]
    """Each corner's own."""
    widths: tuple[SharedOnWidth, ...]

    def given_past_mm(self) -> float | None:
        """How far the worst of the given wheels lies outside; negative inside, None where nothing is shared."""
        found = [self._past_mm(window) for window in self.windows.values()]
        return None if None in found else max(mm for mm in found if mm is not None)

    def _past_mm(self, window: Window) -> float | None:
        for row in self.widths:
            if abs(row.width_in - window.given_width_in) < SAME_RIM_IN and row.stretches:
                return min(stretch.past_mm(window.given_offset_mm) for stretch in row.stretches)
        return None


@steady
def shared_window(
    corners: Mapping[str, MockUp],
    what: str,
    *,
    windows: Mapping[str, Window] | None = None,
    widths_in: Sequence[float] | None = None,
    progress: Progress = silent,
) -> SharedWindow:
    """What these corners share, by their names; `windows` are their own where they were found already."""
    own = windows or windows_of(corners, widths_in=widths_in, progress=progress)
    rows = []
    for width_in in _common_widths(own):
        rows.append(_on_one_width(corners, {name: _row(window, width_in) for name, window in own.items()}, width_in))
    return SharedWindow(what=what, windows=own, widths=tuple(rows))


def windows_of(
    corners: Mapping[str, MockUp], *, widths_in: Sequence[float] | None = None, progress: Progress = silent
) -> dict[str, Window]:
    """Each corner's own window."""
    return {
        name: window_of_one(
            corner,
            corner.terms.limits,
            widths_in=widths_in,
            progress=lambda done, total, words, name=name: progress(done, total, f"{name}, {words}"),  # type: ignore[misc]
        )
        for name, corner in corners.items()
    }


def _common_widths(windows: Mapping[str, Window]) -> list[float]:
    first, *others = windows.values()
    return [row.width_in for row in first.widths if all(_has(other, row.width_in) for other in others)]


def _has(window: Window, width_in: float) -> bool:
    return any(abs(row.width_in - width_in) < SAME_RIM_IN for row in window.widths)


def _row(window: Window, width_in: float) -> OnWidth:
    return next(row for row in window.widths if abs(row.width_in - width_in) < SAME_RIM_IN)


# ---- one rim width


def _on_one_width(corners: Mapping[str, MockUp], sides: Mapping[str, OnWidth], width_in: float) -> SharedOnWidth:
    mounted = {name: on_width(corner, width_in) for name, corner in corners.items()}
    stretches = []
    for chosen in product(*(side.stretches for side in sides.values())):
        one = _shared(mounted, dict(zip(sides, chosen, strict=True)))
        if one is not None:
            stretches.append(one)
    off_mm = _off_mm(sides)
    return SharedOnWidth(
        width_in=width_in,
        sides=sides,
        stretches=tuple(stretches),
        off_mm=off_mm,
        centred=None if off_mm is None or abs(off_mm) < ALIKE_MM / 2 else _centred(mounted, sides, -off_mm),
    )


def _shared(mounted: Mapping[str, MockUp], chosen: Mapping[str, Stretch]) -> Shared | None:
    """What one stretch of each corner has in common; None where that is nothing, or does not clear when measured."""
    low = max(chosen, key=lambda name: chosen[name].least.offset_mm)
    high = min(chosen, key=lambda name: chosen[name].most.offset_mm)
    least, most = chosen[low].least, chosen[high].most
    if least.offset_mm > most.offset_mm:
        return None
    if not _all_clear(mounted, (least.offset_mm, most.offset_mm)):
        return None
    middle = (least.offset_mm + most.offset_mm) / 2
    where, left_mm = _worst(mounted, middle)
    return Shared(
        least=SharedEnd(corner=low, end=least),
        most=SharedEnd(corner=high, end=most),
        middle_offset_mm=middle,
        middle_backspace_mm=mounted[low].wheel.with_offset(middle).backspace_mm,
        middle_spare_mm=left_mm,
        middle_corner=where,
    )


def _all_clear(mounted: Mapping[str, MockUp], offsets_mm: Sequence[float]) -> bool:
    """Does the wheel clear at every corner, at each of these offsets?"""
    return all(spare_of(with_offset(corner, at)).clears for at in offsets_mm for corner in mounted.values())


def _worst(mounted: Mapping[str, MockUp], offset_mm: float) -> tuple[str, float]:
    """The corner with the least to spare with the wheel at this offset, and what it has: what a check says of it."""
    spares = {name: spare_mm(binding(gaps_of(with_offset(corner, offset_mm)))) for name, corner in mounted.items()}
    where = min(spares, key=lambda name: spares[name])
    return where, spares[where]


# ---- an axle that stands nearer to one side


def _off_mm(sides: Mapping[str, OnWidth]) -> float | None:
    """How far to the left the axle stands of where both sides would have the same window.

    More offset draws a wheel inboard. An axle that stands to the left has its left wheel too far out, so that the left
    side asks for more offset than the right. None where that cannot be said: not one stretch a side, or a stretch that
    ends at what may be ordered and not at a part.
    """
    by_side = {"left" if name.endswith("left") else "right": side.stretches for name, side in sides.items()}
    if len(sides) != 2 or len(by_side) != 2 or any(len(stretches) != 1 for stretches in by_side.values()):
        return None
    (left,), (right,) = by_side["left"], by_side["right"]
    if any(end.at_limit for end in (left.least, left.most, right.least, right.most)):
        return None
    return (_middle_mm(left) - _middle_mm(right)) / 2


def _middle_mm(stretch: Stretch) -> float:
    return (stretch.least.offset_mm + stretch.most.offset_mm) / 2


def _centred(mounted: Mapping[str, MockUp], sides: Mapping[str, OnWidth], to_left_mm: float) -> Centred | None:
    """What both sides share once the axle is moved, where both ends clear at both sides when measured so."""
    outboard = {name: to_left_mm if name.endswith("left") else -to_left_mm for name in sides}
    ends = {name: (side.stretches[0].least.offset_mm, side.stretches[0].most.offset_mm) for name, side in sides.items()}
    least = max(ends[name][0] + outboard[name] for name in sides)
    most = min(ends[name][1] + outboard[name] for name in sides)
    moved = {name: with_axle_moved(corner, outboard_mm=outboard[name]) for name, corner in mounted.items()}
    if least > most or not _all_clear(moved, (least, most)):
        return None
    return Centred(to_left_mm=to_left_mm, least_offset_mm=least, most_offset_mm=most)
