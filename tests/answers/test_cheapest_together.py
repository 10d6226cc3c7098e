"""Changes that clear together: what is offered clears, is sold, and no cheaper one on the sold grid clears.

The judge tries every one, two and three changes by brute force, each by a whole certified check of the changed corner,
knows nothing of the search, its bounds or its order, and prices with its own sum.
"""

from __future__ import annotations

from dataclasses import replace
from itertools import combinations, product

import numpy as np
import pytest
from mockups import between_walls, steered, under_ceiling

from clearance.answers.changed import (
    with_bump_stop,
    with_camber,
    with_lip_rolled,
    with_locks,
    with_offset,
    with_part_moved,
)
from clearance.answers.checked import all_clear, failing, gaps_of
from clearance.answers.least_change import least_change
from clearance.terms import Cost, Limits, Sold, Steps, Terms, Work
from clearance.well.lip import lip
from clearance.well.parts import Tag, box

CLOSE = 1e-6


def all_amounts(step, most):
    return [step * k for k in range(1, int(most / step + CLOSE) + 1)]


def moves_of(mockup, limits, sold):
    """Name: (what it decides, [(amount, corner changed by it, share of travel or lock lost)], key of its price)."""
    bump = mockup.suspension.cycle.bump_mm
    right, left = mockup.suspension.cycle.steer_deg
    rows = {}
    if limits.spacer_mm:
        rows["spacer"] = (
            {"offset"}, "spacer", limits.spacer_mm,
            [(a, lambda m, a=a: with_offset(m, m.wheel.offset_mm - a), 0.0)
             for a in all_amounts(sold.spacer_mm.step, limits.spacer_mm)],
        )  # fmt: skip
    if limits.bump_stop_mm:
        most = min(limits.bump_stop_mm, bump[1])
        rows["bump stop"] = (
            {"stop"}, "bump_stop", most,
            [(a, lambda m, a=a: with_bump_stop(m, a), a / bump[1]) for a in all_amounts(sold.bump_stop_mm.step, most)],
        )  # fmt: skip
    if limits.steering_stop_deg and left > right:
        ways = {"left": (1.0, 0.0), "right": (0.0, 1.0), "both": (1.0, 1.0)}
        for side, (one, other) in ways.items():
            most = min(limits.steering_stop_deg, max(one * left, -other * right))
            rows[f"steering stop, {side}"] = (
                {"left", "right"} if side == "both" else {side}, "steering_stop", most,
                [(a, lambda m, a=a, one=one, other=other: with_locks(m, one * a, other * a),
                  (one + other) * a / (left - right))
                 for a in all_amounts(sold.steering_stop_deg.step, most)],
            )  # fmt: skip
    if limits.camber_deg:
        for name, way, most in (("in", -1.0, -limits.camber_deg[0]), ("out", 1.0, limits.camber_deg[1])):
            rows[f"camber, top {name}"] = (
                {"camber"}, "camber", most,
                [(a, lambda m, a=a, way=way: with_camber(m, way * a), 0.0)
                 for a in all_amounts(sold.camber_deg.step, most)],
            )  # fmt: skip
    lips = [p for p in mockup.parts if p.kind == "lip" and p.name in failing(gaps_of(mockup))]
    for one in lips:
        depth = float(np.ptp(one.triangles_mm[..., 1]))
        most = min(limits.lip_roll_mm, depth - 2.0)
        rows["lip rolled"] = (
            {"lip"}, "lip_roll", most,
            [(a, lambda m, a=a, n=one.name: with_lip_rolled(m, n, a), 0.0)
             for a in all_amounts(sold.lip_roll_mm.step, most)],
        )  # fmt: skip
        rows["lip trimmed up"] = (
            {"lip"}, "lip_trim", limits.lip_trim_mm,
            [(a, lambda m, a=a, n=one.name: with_part_moved(m, n, (0.0, 0.0, a)), 0.0)
             for a in all_amounts(sold.lip_roll_mm.step, limits.lip_trim_mm)],
        )  # fmt: skip
    return rows


def price(work, share, cost):
    lasting = 0.0 if work.reversible else cost.irreversible_hours
    return work.hours + work.money / cost.per_hour + lasting + cost.given_up_hours * share


def keeps_all(mockup):
    """A certified check, part by part up to the first that does not keep its gap."""
    return all(all_clear(gaps_of(mockup, (part.name,))) for part in reversed(mockup.parts))


def judged(mockup, terms):
    """{names: (cheapest price, effort)} of every set of changes of which some amounts clear, all of them tried."""
    rows = moves_of(mockup, terms.limits, terms.sold)
    best = {}
    for size in (1, 2, 3):
        for names in combinations(sorted(rows), size):
            if sum(len(rows[n][0]) for n in names) != len(set().union(*(rows[n][0] for n in names))):
                continue
            for turned in product(*(rows[n][3] for n in names)):
                changed = mockup
                hours = effort = 0.0
                for name, (amount, change, share) in zip(names, turned, strict=True):
                    changed = change(changed)
                    hours += price(getattr(terms.cost, rows[name][1]), share, terms.cost)
                    effort += amount / rows[name][2]
                if names in best and (hours, effort) >= best[names]:
                    continue
                if keeps_all(changed):
                    best[names] = (hours, effort)
    return best


def law(mockup, terms):
    assert not all_clear(gaps_of(mockup)), "there is nothing to change"
    found = least_change(mockup, terms).combinations
    truth = judged(mockup, terms)
    rows = moves_of(mockup, terms.limits, terms.sold)
    for one in found:
        changed = mockup
        for change in one.changes:
            amounts = [row for row in rows[change.knob][3] if abs(row[0] - change.amount) < CLOSE]
            assert len(amounts) == 1, f"{change.knob} {change.amount} is not sold"
            changed = amounts[0][1](changed)
        assert all_clear(gaps_of(changed))
        names = tuple(sorted(change.knob for change in one.changes))
        assert (one.hours, one.effort) == pytest.approx(truth[names], abs=1e-6), names
    prices = [(one.hours, one.effort) for one in found]
    assert prices == sorted(prices)
    assert bool(found) == bool(truth)
    if truth:
        assert prices[0] == pytest.approx(min(truth.values()), abs=1e-6)
    # whatever clears and is not given has all the changes of a cheaper one, or costs more than all that are given
    given = {frozenset(c.knob for c in one.changes): one for one in found}
    for names, cost in truth.items():
        if frozenset(names) in given:
            continue
        contained = any(widened(some) <= widened(names) for some in given)
        assert contained or (len(found) == 8 and cost >= tuple(v - CLOSE for v in prices[-1])), names


SIDES = ("steering stop, left", "steering stop, right")


def widened(names):
    return frozenset(n for name in names for n in (SIDES if name == "steering stop, both" else (name,)))


def coarse(**more):
    return Sold(
        **{
            "spacer_mm": Steps(step=7.0), "bump_stop_mm": Steps(step=20.0), "steering_stop_deg": Steps(step=4.0),
            "camber_deg": Steps(step=1.0), "lip_roll_mm": Steps(step=6.0), **more,
        }
    )  # fmt: skip


def limited(**more):
    """Only what the judge knows how to change."""
    return Limits(**{"tire_size": False, "ride_height_mm": None, "other_backspace": False, "spacer_mm": 20.0, **more})


def drawn_cost(rng):
    keys = ("spacer", "bump_stop", "steering_stop", "camber", "lip_roll", "lip_trim")
    works = {
        key: Work(
            hours=float(rng.integers(0, 12)) / 2, money=float(rng.integers(0, 4)) * 50, reversible=bool(rng.integers(2))
        )
        for key in keys
    }
    return Cost(**works, given_up_hours=float(rng.integers(0, 20)))


@pytest.mark.parametrize("seed", [1, *(pytest.param(seed, marks=pytest.mark.slow) for seed in (0, 2, 3))])
def test_nothing_cheaper_on_the_sold_grid_clears_wall_ceiling_and_lip(seed):
    rng = np.random.default_rng(seed)
    roof = under_ceiling(height=float(rng.uniform(425.0, 470.0))).parts[-1]
    walls = between_walls(inboard=float(rng.uniform(118.0, 140.0)), outboard=float(rng.uniform(150.0, 170.0)))
    edge = lip(
        Tag(name="lip", required_mm=8.0),
        outboard_mm=float(rng.uniform(126.0, 140.0)),
        radius_mm=float(rng.uniform(380.0, 420.0)),
        from_deg=-60.0,
        to_deg=60.0,
        return_depth_mm=float(rng.uniform(10.0, 22.0)),
    )
    mockup = replace(under_ceiling(), parts=(*walls.parts, roof, edge))
    law(mockup, Terms(limits=limited(bump_stop_mm=60.0), sold=coarse(), cost=drawn_cost(rng)))


@pytest.mark.slow
@pytest.mark.parametrize("seed", range(4))
def test_nothing_cheaper_on_the_sold_grid_clears_locks_camber_and_spacer(seed):
    rng = np.random.default_rng(100 + seed)
    base = steered(rail=float(rng.uniform(-215.0, -190.0)), lock=20.0)
    block = box(
        Tag(name="apron", required_mm=10.0),
        min_mm=(150.0, -700.0, -60.0),
        max_mm=(600.0, float(rng.uniform(-230.0, -200.0)), 60.0),
    )
    mockup = replace(base, parts=(*base.parts, block))
    limits = limited(steering_stop_deg=12.0, bump_stop_mm=None, camber_deg=(-2.0, 2.0))
    law(mockup, Terms(limits=limits, sold=coarse(), cost=drawn_cost(rng)))


@pytest.mark.slow
def test_lock_is_given_up_in_washers_of_the_rack_where_the_rack_is_known():
    """1.4 mm of rack to the degree, washers in millimetres: every amount is a whole number of them."""
    limits = Limits(rack_per_deg_mm=1.4, tire_size=False)
    found = least_change(steered(rail=-200.0), Terms(limits=limits, sold=Sold(rack_washer_mm=Steps(step=1.0))))
    stops = [c for one in found.combinations for c in one.changes if c.knob.startswith("steering")]
    assert stops
    for stop in stops:
        washers = stop.amount * 1.4
        assert washers == pytest.approx(round(washers), abs=1e-9)
        assert f"{round(washers)}.0 mm of rack" in stop.said


def test_the_cheap_pair_is_not_hidden_behind_most_of_the_travel():
    """A lip 9 mm too near at full bump under a stop that would take 60 of 76 mm: rolling and a little backspace rank
    before it, whatever the order in which they were found."""
    mockup = under_ceiling(bump=(-60.0, 76.0))
    edge = lip(
        Tag(name="lip", required_mm=13.0),
        outboard_mm=139.0,
        radius_mm=377.0,
        from_deg=-70.0,
        to_deg=70.0,
        return_depth_mm=16.0,
    )
    mockup = replace(mockup, parts=(*between_walls(inboard=160.0, outboard=400.0).parts[:1], edge))
    found = least_change(mockup, Terms(limits=Limits(tire_size=False)))
    ranked = [({c.knob: c.amount for c in one.changes}, one.hours) for one in found.combinations]
    stops = [hours for changes, hours in ranked if changes.get("bump stop", 0.0) > 38.0]
    others = [hours for changes, hours in ranked if "bump stop" not in changes]
    assert others
    assert not stops or min(others) < min(stops)
