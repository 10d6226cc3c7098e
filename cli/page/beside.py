"""What stands on the bench beside what is on the car now, and beside what was opened: the words of `clearance compare`.

Both are measured anew when they are asked for, beside whatever the bench does.
"""

from __future__ import annotations

import dataclasses
from collections.abc import Callable, Mapping
from typing import TYPE_CHECKING, Any

import clearance
from clearance.words.fold import folded

if TYPE_CHECKING:
    from clearance_cli.page.sitting import Sitting


MOST_COLUMNS = 200


def beside(sitting: Sitting, columns: int, progress: Callable[..., None]) -> Mapping[str, Any]:
    """Headings and words, the same for the same text and corner, no line longer than so many letters.

    `progress` is called as it goes and may raise, to leave it.
    Raises ClearanceError for a [now] that cannot be.
    """
    bench, first = sitting.bench, sitting.first
    found = [*_now(bench, progress), *_opened(bench, first)]
    return {"on": sitting.on, "found": [{"name": name, "words": folded(words, columns)} for name, words in found]}


def _now(bench: clearance.Bench, progress: Callable[..., None]) -> list[tuple[str, str]]:
    car = clearance.read_car(bench.text, beside=bench.place.parent, name=bench.place.name)
    here = dataclasses.replace(car, corners={bench.corner: car.at(bench.corner)})
    said = [("Beside what is on the car now", clearance.now_next(here, processes=1, progress=progress).words())]
    on_it = bench.on_it_now
    if on_it is not None:
        said.append(("Part by part: before is what is on it now", clearance.compare(on_it, bench.mockup).words()))
    return said


def _opened(bench: clearance.Bench, first: str) -> list[tuple[str, str]]:
    if first == bench.text:
        return []
    opened = clearance.on_bench(first, bench.place, corner=bench.corner)
    return [("Part by part: before is what was opened", clearance.compare(opened.mockup, bench.mockup).words())]
