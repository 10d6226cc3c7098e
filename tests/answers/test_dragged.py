"""What is said while a dial is dragged is never on the unsafe side of what is certified when it is let go."""

from __future__ import annotations

import math
from pathlib import Path

import numpy as np
import pytest

import clearance
from clearance.answers.dragged import grown_mm, moved_mm
from clearance.geom.profile import polygon
from clearance.geom.revolve import Solid

FIXTURES = Path(__file__).resolve().parents[2] / "fixtures"
FILES = [
    "corners/orchard-pickup-rear.toml",
    "corners/tern-coupe-rear.toml",
    "corners/scanned-well-rear.toml",
    "cars/heron-roadster.toml",
    "corners/heron-roadster-front.toml",
    "corners/sorrel-sedan-front.toml",
]
QUICK = FILES[:4]
MANY = dict(zip(FILES, (5, 5, 4, 2, 2, 2), strict=True))
"""Seeds of a hundred drags each: 2,000 in all."""
ROUNDING_MM = 2e-3
"""A gap is never worked out closer than half of this (`gap.found`)."""


def disc(radius: float, half: float, along: float = 0.0) -> Solid:
    ring = polygon([(along - half, 0), (along + half, 0), (along + half, radius), (along - half, radius)])
    return Solid(profile=ring, pieces=(ring,))


@pytest.mark.parametrize(
    ("after", "mm"),
    [
        (disc(300, 100), 0.0),
        (disc(290, 90), 0.0),
        (disc(305, 100), 5.0),
        (disc(300, 104), 4.0),
        # the corner of a disc that is 3 larger and 4 wider lies 5 from the old corner
        (disc(303, 104), 5.0),
        (disc(300, 100, along=7.0), 7.0),
    ],
)
def test_how_far_a_solid_reaches_outside_of_another(after, mm):
    found = grown_mm(disc(300, 100), after)
    assert mm <= found <= mm + 0.6 or (mm == 0.0 and found <= 0.6)


def test_how_far_a_part_has_moved():
    tag = clearance.Tag(name="bar")
    bar = clearance.bar(tag, points_mm=[[0, 0, 0], [100, 0, 0]], diameter_mm=20.0)
    assert moved_mm(bar, bar.moved(np.array([3.0, 0.0, -4.0]))) == pytest.approx(5.0, abs=1e-9)
    thicker = clearance.bar(tag, points_mm=[[0, 0, 0], [100, 0, 0]], diameter_mm=24.0)
    assert moved_mm(bar, thicker) >= 2.0 - 1e-9


def dragged(file: str, seed: int, count: int):
    """Dials of a shipped file at random places: what was said meanwhile, and what was certified then."""
    random = np.random.default_rng(seed)
    place = FIXTURES / file
    bench, _ = clearance.on_bench(place.read_text(), place, corner=None).measured()
    done = 0
    while done < count:
        dial = bench.dials[int(random.integers(len(bench.dials)))]
        value = dial.value + dial.step * float(random.normal()) * float(random.choice([1, 4, 12]))
        try:
            turned = bench.turned(dial.path, value)
            meanwhile = turned.meanwhile()
            changed = bench.dialled(dial.path, dial.written(value))
            soon = changed.soon()
            bench, answer = changed.measured()
        except clearance.ClearanceError:
            # a wheel that is none, a table that ends: said at both
            continue
        done += 1
        for quick, gap in zip(soon or (), answer.value.gaps, strict=soon is not None):
            as_certified(quick, gap)
        in_the_bar(bench, clearance.sure_bar(turned, meanwhile), random if done % 20 == 1 else None)
        yield dial, meanwhile, answer.value.gaps


def as_certified(quick, gap) -> None:
    """What comes sooner is as true and as narrow as what a check says, and its verdict is the check's."""
    assert quick.part == gap.part
    if gap.finished and quick.finished:
        assert quick.verdict == gap.verdict
        # both brackets hold the true gap
        assert quick.at_least_mm <= gap.at_most_mm + ROUNDING_MM
        assert gap.at_least_mm <= quick.at_most_mm + ROUNDING_MM


def in_the_bar(bench, bar, random) -> None:
    """A backspace or offset out of the stretch that was sure to clear does clear."""
    if bar is None or random is None:
        return
    low, high = (mark.value for mark in bar)
    dial = next(dial for dial in bench.dials if dial.path in (("wheel", "backspace"), ("wheel", "offset")))
    value = min(max(low + (high - low) * float(random.random()), dial.least), dial.most)
    if low <= value <= high:
        gaps = clearance.check(bench.changed({dial.path: f"{value:.6f} mm"}).mockup).value.gaps
        assert {gap.verdict for gap in gaps} == {"clears"}, (low, high, value)


def held(file: str, seed: int, count: int) -> int:
    sure = 0
    for dial, meanwhile, certified in dragged(file, seed, count):
        for bound, gap in zip(meanwhile, certified, strict=True):
            assert bound.part == gap.part
            if gap.finished:
                assert bound.at_least_mm <= gap.at_least_mm, (dial.path, gap.part)
            # what was found is no less than what is proven
            assert bound.at_most_mm >= gap.at_least_mm - 1e-6, (dial.path, gap.part)
            assert bound.verdict != "clears" or gap.verdict == "clears"
            assert bound.verdict != "hits" or gap.verdict in ("hits", "undecided")
            sure += math.isfinite(bound.at_least_mm)
    return sure


@pytest.mark.parametrize("file", QUICK)
def test_the_bound_of_a_drag_is_never_above_what_is_certified(file):
    assert held(file, seed=17, count=4) > 0


@pytest.mark.slow
@pytest.mark.parametrize(("file", "seed"), [(file, seed) for file, many in MANY.items() for seed in range(many)])
def test_the_bound_of_2000_drags_is_never_above_what_is_certified(file, seed):
    """100 drags to a seed, each from where the last was let go."""
    assert held(file, seed=170 + seed, count=100) > 20
