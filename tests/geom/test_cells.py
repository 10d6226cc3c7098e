"""The table of the elements that can be nearest: what it leaves out is never nearest, and the answers are the same."""

from __future__ import annotations

import numpy as np
import pytest
from oracles import tire_and_wheel

from clearance.geom import chain
from clearance.geom.cells import ENOUGH
from clearance.geom.chain import Chain
from clearance.geom.revolve import closed


@pytest.fixture(scope="module", params=["hollow", "closed"])
def profile(request):
    solid = tire_and_wheel()
    return (closed(solid) if request.param == "closed" else solid).profile


def places(profile, count: int):
    """Places about the outline, some far off the table and some on the outline's own corners."""
    rng = np.random.default_rng(11)
    low, high, _, most = profile.bounds
    y, r = rng.uniform(low - 400.0, high + 400.0, count), rng.uniform(0.0, most + 400.0, count)
    ends = np.array([e.start for e in profile.surfaces])
    y[: len(ends)], r[: len(ends)] = ends.T
    return y, r


def test_by_the_table_every_figure_is_the_same_to_the_last_digit(profile, monkeypatch):
    monkeypatch.setattr(chain, "_SHORT", 0)
    y, r = places(profile, 6_000)
    asked, looked_up = Chain(profile), Chain(profile)
    # one has been asked enough to have a table, the other never will have
    looked_up._asked, asked._asked = ENOUGH, -(10**9)
    wanted, found = asked.near(y, r), looked_up.near(y, r)
    assert looked_up._cells is not None
    assert asked._cells is None
    for name in ("distance", "across", "away", "element"):
        assert np.array_equal(getattr(found, name), getattr(wanted, name)), name


def test_most_places_are_left_with_two_elements_at_most(profile):
    own = Chain(profile)
    own._asked = ENOUGH
    y, r = places(profile, 6_000)
    own.near(y, r)
    assert own._cells is not None
    low, high, _, most = profile.bounds
    about = (y > low - 200.0) & (y < high + 200.0) & (r < most + 200.0)
    _, _, open_ = own._cells.of(y[about], r[about])
    # where three elements meet, or a place is in the middle of them; a tenth of them would do no harm
    assert len(open_) < 0.15 * about.sum()


def test_off_the_table_all_are_asked(profile):
    own = Chain(profile)
    own._asked = ENOUGH
    own.near(*places(profile, 3_000))
    assert own._cells is not None
    _, other, open_ = own._cells.of(np.array([5_000.0, 0.0, -5_000.0]), np.array([100.0, 9_000.0, 100.0]))
    assert open_.tolist() == [0, 1, 2]
    assert (other < 0).all()
