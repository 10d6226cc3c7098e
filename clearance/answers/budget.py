"""The budget: what the uncertainty of every measurement does to the answer, and which one is worth taking again.

Each source of doubt has a plus-or-minus u and, for each part, a sensitivity s: how far that part's gap moves for one
unit of it. From these:

* worst case       - gap less the sum of |s| u: everything wrong at once, the wrong way
* root sum square  - gap less the root of the sum of (s u)^2: what independent errors do, about 19 times in 20
* confidence       - the share of many random draws in which every part keeps its required gap

A tape's error is drawn from a normal curve with u as two standard deviations; a maker's tolerance evenly from end to
end. The generator is started from a fixed number, so the same file gives the same answer. Sensitivities are straight
lines, so a sample of the draws is measured again in full over the whole cycle, and the largest disagreement is stated.

Play and flex are not drawn: the cycle already takes them at their worst. Lengths are millimetres, angles degrees.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import product
from typing import TYPE_CHECKING

import numpy as np

from clearance.answers.changed import (
    with_axle_moved,
    with_camber,
    with_cycle,
    with_offset,
    with_part_moved,
    with_tire,
)
from clearance.answers.checked import Progress, gaps_of, silent
from clearance.errors import SuspensionError
from clearance.gap.found import Gap
from clearance.pose import Array
from clearance.steady import steady
from clearance.suspension.position import BODY, Cycle
from clearance.terms import Uncertainty
from clearance.tire.allowed import height_factor, width_factor
from clearance.tire.basis import Basis

if TYPE_CHECKING:
    from clearance.mockup.mockup import MockUp
    from clearance.tire.tire import Tire

GENERATOR = 7
"""What the random generator is started from."""
DRAWS = 20_000
SURE = 0.95
"""The confidence from which on a budget is said to clear."""
RECHECKED = 6
"""How many draws are measured again in full."""
TAPE_MM = 2.0
"""A tape in a wheel well, about two standard deviations (common practice)."""
DEFAULTS: Mapping[str, tuple[float, str, str]] = {
    "backspace": (1.5, "mm", "tape over a straight edge"),
    "axle_sideways": (3.0, "mm", "how well the axle is centred"),
    "axle_lengthways": (2.0, "mm", "how square the axle stands"),
    "ride_height": (3.0, "mm", "height at which the parts were measured"),
    "bump_travel": (3.0, "mm", "bump and droop travel"),
    "camber": (0.25, "deg", "camber gauge"),
    "steer": (0.5, "deg", "turn plates at lock"),
}
"""Plus or minus, unit and what it stands for; common practice, editable in [uncertainty]."""
_AT_END = 0.5
"""A witness this close to the end of a travel or a lock moves with that end."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Source:
    """One source of doubt."""

    name: str
    unit: str
    low: float
    high: float
    """The ends of the plus-or-minus, about zero."""
    even: bool
    """Drawn evenly from end to end (a maker's tolerance), else from a normal curve with the ends at two deviations."""
    why: str
    per_unit: Array
    """(parts,): change of each part's gap for one unit."""

    @property
    def most(self) -> float:
        """The larger end."""
        return max(abs(self.low), abs(self.high))

    @property
    def deviation(self) -> float:
        """Its standard deviation."""
        return (self.high - self.low) / math.sqrt(12) if self.even else self.most / 2


@dataclass(frozen=True, slots=True, kw_only=True)
class PartBudget:
    """One part's gap with everything that it is uncertain by."""

    part: str
    required_mm: float
    gap_mm: float
    worst_mm: float
    likely_mm: float
    """By root sum square."""
    confidence: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Worth:
    """What halving one source's doubt would do."""

    source: str
    share: float
    """Of the variance of the part that is least sure to clear."""
    confidence: float
    """That every part clears, with this source halved and nothing else changed."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Budget:
    """The whole answer."""

    sources: tuple[Source, ...]
    parts: tuple[PartBudget, ...]
    confidence: float
    """That every part keeps its required gap."""
    worth: tuple[Worth, ...]
    """The most worthwhile measurement first."""
    rechecked: int
    recheck_worst_mm: float
    """The most by which the full measurement disagreed with the straight lines, near or under the required gap."""
    recheck_mean_mm: float
    """Full less straight-line, mean: negative means that the straight lines are too hopeful."""

    @property
    def sure(self) -> bool:
        """Whether everything clears with 95 % confidence or more."""
        return self.confidence >= SURE


@steady
def budget(mockup: MockUp, stated: Uncertainty, *, rechecks: int = RECHECKED, progress: Progress = silent) -> Budget:
    """What all uncertainties together do to a mock-up."""
    gaps = gaps_of(mockup)
    sources = sources_of(mockup, gaps, stated)
    gap = np.array([g.stands_at_mm for g in gaps])
    required = np.array([g.required_mm for g in gaps])
    draws = _draws(sources)
    slopes = np.array([s.per_unit for s in sources])
    spare = gap - required + draws @ slopes
    confidence = float((spare >= 0).all(axis=1).mean())
    worst_each, mean_each = _rechecked(mockup, gaps, sources, draws[:rechecks], progress)
    return Budget(
        sources=sources,
        parts=tuple(
            PartBudget(
                part=g.part,
                required_mm=g.required_mm,
                gap_mm=g.stands_at_mm,
                worst_mm=g.stands_at_mm - sum(worst_of(s, k) for s in sources),
                likely_mm=g.stands_at_mm - 2 * math.sqrt(sum((s.per_unit[k] * s.deviation) ** 2 for s in sources)),
                confidence=float((spare[:, k] >= 0).mean()),
            )
            for k, g in enumerate(gaps)
        ),
        confidence=confidence,
        worth=_worth(sources, draws, gap - required, spare),
        rechecked=rechecks,
        recheck_worst_mm=worst_each,
        recheck_mean_mm=mean_each,
    )


def worst_of(source: Source, part: int) -> float:
    """How much gap this source can cost this part."""
    slope = float(source.per_unit[part])
    return max(-slope * source.low, -slope * source.high, 0.0)


def _draws(sources: Sequence[Source]) -> Array:
    """(DRAWS, sources): one column for each source, in their order."""
    rng = np.random.default_rng(GENERATOR)
    columns = [rng.uniform(s.low, s.high, DRAWS) if s.even else rng.normal(0.0, s.deviation, DRAWS) for s in sources]
    return np.column_stack(columns) if columns else np.zeros((DRAWS, 0))


def _worth(sources: Sequence[Source], draws: Array, margin: Array, spare: Array) -> tuple[Worth, ...]:
    """Each source halved on its own, in the same draws."""
    least_sure = int((spare >= 0).mean(axis=0).argmin())
    if (spare >= 0).mean(axis=0).min() in (0.0, 1.0):
        least_sure = int(margin.argmin())
    variance = np.array([(s.per_unit[least_sure] * s.deviation) ** 2 for s in sources])
    total = float(variance.sum()) or 1.0
    rows = []
    for k, source in enumerate(sources):
        halved = spare - 0.5 * draws[:, k : k + 1] * source.per_unit[None, :]
        rows.append(
            Worth(
                source=source.name,
                share=float(variance[k]) / total,
                confidence=float((halved >= 0).all(axis=1).mean()),
            )
        )
    return tuple(sorted(rows, key=lambda w: (-w.share, w.source)))


# ---- where the doubt comes from


def sources_of(mockup: MockUp, gaps: Sequence[Gap], stated: Uncertainty) -> tuple[Source, ...]:
    """Every source of doubt about this mock-up with its sensitivities; those that move nothing are left out."""
    sources = [
        *_of_the_tire(mockup, gaps, stated),
        *_of_the_car(mockup, gaps, stated),
        *_of_parts(mockup, gaps, stated),
    ]
    return tuple(s for s in sources if s.most > 0 and np.abs(s.per_unit).max(initial=0.0) > 1e-4)


def _of_the_tire(mockup: MockUp, gaps: Sequence[Gap], stated: Uncertainty) -> list[Source]:
    return [
        Source(
            name=name,
            unit="mm",
            low=low,
            high=high,
            even=even,
            why=why,
            per_unit=np.array([g.per_mm.get(name, 0.0) for g in gaps]),
        )
        for name, (low, high, even, why) in _tire_ends(mockup.tire, stated).items()
    ]


def tire_doubts(tire: Tire, stated: Uncertainty) -> list[tuple[str, float, float, bool]]:
    """Of each size of a tire its name, the ends of its plus-or-minus, and whether it is drawn evenly between them."""
    return [(name, low, high, even) for name, (low, high, even, _) in _tire_ends(tire, stated).items()]


def _tire_ends(tire: Tire, stated: Uncertainty) -> dict[str, tuple[float, float, bool, str]]:
    height = tire.section_height_mm
    rows = {
        "section_width": (tire.section_width_mm * (width_factor(tire.info) - 1), None, tire.growth_width_mm),
        "overall_diameter": (2 * height * (height_factor(tire.info) - 1), 2 * height * 0.03, tire.growth_diameter_mm),
    }
    stands_on = {"section_width": tire.section_from, "overall_diameter": tire.overall_from}
    found = {}
    for name, (more, less, growth) in rows.items():
        if name in stated.stated:
            u, even, why = stated.stated[name], False, "stated"
            low, high = -u, u
        elif stands_on[name] is Basis.BOUND:
            low, high, even, why = -more, 0.0, True, "an upper bound stands in for it: it can only be less"
        elif stands_on[name] is Basis.MEASURED:
            low, high, even, why = -TAPE_MM, TAPE_MM, False, "tape round or across the tire"
        elif growth > 0:
            # what a new tire may exceed its marking by is already inside the growth of the tire that was measured with
            low, high, even, why = -more, 0.0, True, "maker's tolerance; its upper end is in the growth"
        else:
            low, high, even = -(more if less is None else less), more, True
            why = "maker's tolerance, UN R30 6.1.4 and 6.1.5 (from memory)"
        found[name] = (low, high, even, why)
    return found


def _of_the_car(mockup: MockUp, gaps: Sequence[Gap], stated: Uncertainty) -> list[Source]:
    slopes = {
        "backspace": np.array([g.per_mm.get("backspace", 0.0) for g in gaps]),
        "axle_sideways": _body_only(mockup, gaps, lambda g: -float(g.toward_part[1])),
        "axle_lengthways": _body_only(mockup, gaps, lambda g: -float(g.toward_part[0])),
        "ride_height": _body_only(mockup, gaps, lambda g: -float(g.toward_part[2])),
        "bump_travel": np.array([_at_stop(mockup, g) for g in gaps]),
        "camber": np.array([_camber_slope(mockup, g) for g in gaps]),
        "steer": np.array([_at_lock(mockup, g) for g in gaps]),
    }
    sources = []
    for name, slope in slopes.items():
        u, unit, why = DEFAULTS[name]
        if name in stated.stated:
            u, why = stated.stated[name], "stated"
        sources.append(Source(name=name, unit=unit, low=-u, high=u, even=False, why=why, per_unit=slope))
    return sources


def _of_parts(mockup: MockUp, gaps: Sequence[Gap], stated: Uncertainty) -> list[Source]:
    sources = []
    for k, gap in enumerate(gaps):
        part = mockup.part(gap.part)
        u, why = TAPE_MM, "tape (common practice)"
        if part.uncertainty_mm > 0:
            u, why = part.uncertainty_mm, "the part's own"
        if stated.parts_mm is not None and not part.uncertainty_mm > 0:
            u, why = stated.parts_mm, "stated for all parts"
        if gap.part in stated.part_mm:
            u, why = stated.part_mm[gap.part], "stated"
        alone = np.zeros(len(gaps))
        alone[k] = 1.0
        sources.append(
            Source(name=f"place of {gap.part}", unit="mm", low=-u, high=u, even=False, why=why, per_unit=alone)
        )
    wander = mockup.suspension.uncertainty_mm
    if wander > 0:
        everywhere = np.ones(len(gaps))
        sources.append(
            Source(
                name="measured motion",
                unit="mm",
                low=-wander,
                high=wander,
                even=False,
                why="scatter of the measured rows about their fit",
                per_unit=everywhere,
            )
        )
    return sources


def _body_only(mockup: MockUp, gaps: Sequence[Gap], slope: Callable[[Gap], float]) -> Array:
    """A slope for parts that stay with the body; what rides on the axle goes along with it."""
    return np.array([slope(g) if mockup.part(g.part).rides_on == BODY else 0.0 for g in gaps])


def _at_stop(mockup: MockUp, gap: Gap) -> float:
    least, most = mockup.suspension.cycle.bump_mm
    slope = gap.per_mm.get("bump", 0.0)
    # More travel is the worse of the two ends; at the droop end more travel is less bump.
    if gap.position.bump_mm >= most - _AT_END:
        return slope
    return -slope if gap.position.bump_mm <= least + _AT_END else 0.0


def _at_lock(mockup: MockUp, gap: Gap) -> float:
    right, left = mockup.suspension.cycle.steer_deg
    if left - right <= 0:
        return 0.0
    slope = gap.per_mm.get("steer_per_deg", 0.0)
    if gap.position.steer_deg >= left - _AT_END:
        return slope
    return -slope if gap.position.steer_deg <= right + _AT_END else 0.0


def _camber_slope(mockup: MockUp, gap: Gap) -> float:
    """Gap per degree: the contact point swings about the hub's centre, square to the line ahead."""
    centre = mockup.suspension.pose(gap.position.row()[None]).origin_mm[0]
    lever = np.asarray(gap.on_tire_mm) - centre
    swing = np.cross(np.array([-1.0, 0.0, 0.0]), lever) * math.pi / 180
    return -float(np.asarray(gap.toward_part) @ swing)


# ---- draws measured again


def drawn(mockup: MockUp, sources: Sequence[Source], values: Sequence[float] | Array, gaps: Sequence[Gap]) -> MockUp:
    """The mock-up as it would be if every source were off by its value."""
    by = {source.name: float(value) for source, value in zip(sources, values, strict=True)}
    tire = mockup.tire
    mockup = with_tire(
        mockup,
        replace(
            tire,
            section_width_mm=tire.section_width_mm + by.get("section_width", 0.0),
            overall_diameter_mm=tire.overall_diameter_mm + by.get("overall_diameter", 0.0),
            tread_width_mm=min(tire.tread_width_mm, (tire.section_width_mm + by.get("section_width", 0.0)) * 0.98),
        ),
    )
    mockup = with_offset(mockup, mockup.wheel.offset_mm + by.get("backspace", 0.0))
    mockup = with_axle_moved(
        mockup,
        ahead_mm=by.get("axle_lengthways", 0.0),
        outboard_mm=by.get("axle_sideways", 0.0),
        above_mm=by.get("ride_height", 0.0),
    )
    if by.get("camber"):
        mockup = with_camber(mockup, by["camber"])
    mockup = with_cycle(mockup, _stretched(mockup, by.get("bump_travel", 0.0), by.get("steer", 0.0)))
    for gap in gaps:
        off = by.get(f"place of {gap.part}", 0.0) + by.get("measured motion", 0.0)
        if off:
            mockup = with_part_moved(mockup, gap.part, off * np.asarray(gap.toward_part))
    return mockup


def _stretched(mockup: MockUp, travel: float, lock: float) -> Cycle:
    cycle = mockup.suspension.cycle
    bump, steer = cycle.bump_mm, cycle.steer_deg
    if bump[1] > bump[0]:
        bump = (bump[0] - travel, bump[1] + travel) if bump[1] - bump[0] + 2 * travel > 0 else bump
    if steer[1] > steer[0]:
        steer = (steer[0] - lock, steer[1] + lock) if steer[1] - steer[0] + 2 * lock > 0 else steer
    return replace(cycle, bump_mm=bump, steer_deg=steer)


def reachable(mockup: MockUp, sources: Sequence[Source], values: Array) -> Array:
    """The draw, without more travel or lock than the suspension can be asked for: a measured table ends at its rows."""
    names = [source.name for source in sources]
    by = dict(zip(names, values, strict=True))
    cycle = _stretched(mockup, float(by.get("bump_travel", 0.0)), float(by.get("steer", 0.0)))
    corners = np.array(list(product(*cycle.box.tolist())))
    try:
        mockup.suspension.pose(corners)
    except SuspensionError:
        ends = [k for k, name in enumerate(names) if name in ("bump_travel", "steer")]
        values = values.copy()
        values[ends] = np.minimum(values[ends], 0.0)
    return values


def _deciding(gaps: Sequence[Gap], sources: Sequence[Source]) -> list[int]:
    """The gaps that all of the sources at their worst could take below what is required."""
    reach = [sum(worst_of(s, k) for s in sources) for k in range(len(gaps))]
    return [k for k, g in enumerate(gaps) if g.stands_at_mm - reach[k] < g.required_mm]


def _rechecked(
    mockup: MockUp, gaps: Sequence[Gap], sources: Sequence[Source], draws: Array, progress: Progress
) -> tuple[float, float]:
    """(most disagreement, mean of full less straight-line) over some draws, for parts that could decide the answer."""
    slopes = np.array([s.per_unit for s in sources])
    worst, every = 0.0, []
    deciding = _deciding(gaps, sources)
    names = [gaps[k].part for k in deciding]
    if not names or not len(draws):
        return 0.0, 0.0
    for done, values in enumerate(draws):
        progress(done, len(draws), "measuring a draw in full")
        values = reachable(mockup, sources, values)
        full = gaps_of(drawn(mockup, sources, values, gaps), names)
        for k, gap in zip(deciding, full, strict=True):
            off = gap.stands_at_mm - (gaps[k].stands_at_mm + float(values @ slopes[:, k]))
            every.append(off)
            worst = max(worst, abs(off))
    return worst, float(np.mean(every))
