"""Leaf springs: the arc of a half, the 3/4 rule, the clamp's turn, shackle and articulation."""

from __future__ import annotations

import numpy as np
import pytest

from clearance.suspension.kinds import build
from clearance.suspension.leaf import Half, Spring, half_from_points
from clearance.suspension.position import Cycle

CYCLE = Cycle(bump_mm=(-150, 150), other_bump_mm=(-150, 150))


def alike(*bumps):
    return np.array([[b, b, 0.0] for b in bumps])


def tape(**values):
    return build("leaf-arc", {"track": 1500.0, "half_length": 600.0, "spring_inboard": 220.0, **values}, CYCLE)


def arc_shortening(length, rise):
    """The exact circle of a uniform-strength leaf: x = sin(k a) / k, y = (1 - cos(k a)) / k, solved for k."""
    low, high = 1e-12, 1.5 / length
    for _ in range(200):
        k = 0.5 * (low + high)
        low, high = (k, high) if (1.0 - np.cos(k * length)) / k < rise else (low, k)
    return length - np.sin(k * length) / k


def test_a_flat_leaf_shortens_by_the_three_quarter_rule():
    """a = 600: 0.69498, 2.78640, 6.29402, 11.25178, 25.73593 mm at 25, 50, 75, 100, 150 (a link of 0.75 a)."""
    found = tape().pose(alike(25, 50, 75, 100, 150), "axle").origin_mm[:, 0]
    assert found == pytest.approx([0.69498, 2.78640, 6.29402, 11.25178, 25.73593], abs=0.51e-5)


@pytest.mark.parametrize(
    ("rise", "exact"), [(25, 0.69501), (50, 2.78684), (75, 6.29626), (100, 11.25906), (150, 25.77575)]
)
def test_the_rule_follows_the_leafs_own_circle(rise, exact):
    """The arc of equal stress, derived and printed; the rule errs by 0.01 mm at 100 and 0.04 at 150."""
    assert arc_shortening(600.0, rise) == pytest.approx(exact, abs=0.51e-5)
    found = tape().pose(alike(rise), "axle").origin_mm[0, 0]
    assert abs(found - exact) < 0.04 * (rise / 150.0) ** 4 + 1e-4


def test_an_arched_spring_goes_back_before_it_comes_forward():
    """Deflection counts from the flat leaf: S(y0 + h) - S(y0) with the arch y0 = -60 and S the link's shortening."""
    spring = tape(arch=60.0)
    h = np.array([20.0, 60.0, 120.0])

    def short(y):
        return 450.0 - np.sqrt(450.0**2 - y**2)

    found = spring.pose(alike(*h), "axle").origin_mm[:, 0]
    assert found == pytest.approx(short(h - 60.0) - short(-60.0), abs=1e-9)
    assert found[0] < 0.0
    assert found[2] == pytest.approx(0.0, abs=1e-9)


def test_unequal_halves_turn_the_clamp():
    """phi = h (1/b - 1/a): 550 and 750 give -1.38899 deg per 50 mm; the exact circle differs in the third digit."""
    spring = tape(half_length=550.0, rear_half_length=750.0)
    turn = spring.pose(alike(50, 0.01), "axle").turn[:, :, 0]
    degrees = np.degrees(np.arctan2(turn[:, 2], turn[:, 0]))
    assert degrees[0] == pytest.approx(-1.38899, abs=0.005)
    assert degrees[1] / 0.01 == pytest.approx(-1.38899 / 50.0, rel=1e-3)


def test_a_three_link_spring_with_shackle_follows_its_solved_values(hardpoints):
    """The open van's leaf as three rods: axle 11.93731, 5.61688, 0.64311, 4.05889 mm ahead at -80, -50, 50, 80.

    Clamp 0.30068, 0.11173, 0.26055, 0.59005 deg. Rods run the whole half there, both equally stiff.
    """
    points = {name: (p + hardpoints("van-leaf").hub_mm)[[0, 2]] for name, p in hardpoints("van-leaf").values.items()}
    spring = Spring(
        front=Half(length_mm=450.0, joint=points["front_clamp"], eye=points["front_eye"]),
        rear=Half(length_mm=450.0, joint=points["rear_clamp"], eye=points["rear_eye"]),
        hanger=points["shackle_hanger"],
        stiffness=(1.0, 1.0),
    )
    rise = np.array([-80.0, -50.0, 50.0, 80.0])
    turn = spring.clamp_turn_rad(rise)
    assert np.degrees(turn) == pytest.approx([0.30068, 0.11173, 0.26055, 0.59005], abs=0.51e-5)
    assert spring.clamp_ahead_mm(rise, turn) == pytest.approx([11.93731, 5.61688, 0.64311, 4.05889], abs=0.51e-5)


def test_a_half_is_found_from_where_its_eye_stands():
    """A flat half is as long as it looks; an arched one is longer, and its link is three quarters of it."""
    flat = half_from_points(np.array([50.0, 0.0]), np.array([650.0, 0.0]))
    assert flat.length_mm == pytest.approx(600.0, abs=1e-12)
    arched = half_from_points(np.array([50.0, 0.0]), np.array([640.0, 80.0]))
    assert arched.link_mm == pytest.approx(0.75 * arched.length_mm, abs=1e-9)
    assert arched.length_mm > np.hypot(590.0, 80.0) - 1.0


LEAF = {
    "track": 1500.0,
    "front_eye": [610.0, -230.0, -20.0],
    "front_clamp": [60.0, -230.0, -75.0],
    "rear_clamp": [-60.0, -230.0, -75.0],
    "rear_eye": [-690.0, -230.0, -25.0],
    "shackle_hanger": [-650.0, -230.0, 75.0],
}


def test_in_roll_each_side_follows_its_own_arc():
    """yaw = (x_left - x_right) / track, each x by its own spring's rise at its seat."""
    suspension = build("leaf-spring", LEAF, CYCLE)
    axle = suspension.pose([[60.0, -60.0, 0.0]], "axle")
    yaw = np.arctan2(-axle.axis[0, 0], axle.axis[0, 1])
    here, there = (axle.carry(np.array([0.0, y, -75.0]))[0] for y in (-230.0, -1270.0))
    rise = here[2] + 75.0, there[2] + 75.0
    one = suspension.pose(alike(rise[0], rise[1]), "axle")
    ahead = one.carry(np.array([0.0, -230.0, -75.0]))[:, 0]
    # the two springs share one axle's wind-up, so each side's own x is met to a few tenths
    assert np.degrees(yaw) == pytest.approx(np.degrees(-(ahead[0] - ahead[1]) / 1040.0), abs=0.05)


def test_sideways_flex_widens_the_cycles_shift():
    plain = build("leaf-spring", LEAF, CYCLE)
    flexing = build("leaf-spring", LEAF | {"sideways_flex": 8.0}, CYCLE)
    assert plain.cycle.shift.inboard_mm == 0.0
    assert flexing.cycle.shift.inboard_mm == 8.0
    assert flexing.cycle.shift.outboard_mm == 8.0
    assert flexing.cycle.shift.ahead_mm == 0.0


@pytest.mark.parametrize("kind", ["leaf-spring", "leaf-arc"])
def test_an_axle_on_leaves_steers_about_the_axis_that_is_given(kind):
    """At ride height the knuckle turns about it and nothing else: points on the axis stay, the wheel's axis turns."""
    springs = {
        "leaf-arc": {"half_length": 600.0, "spring_inboard": 220.0},
        "leaf-spring": {
            "front_eye": [560.0, -200.0, 50.0],
            "front_clamp": [50.0, -200.0, 60.0],
            "rear_clamp": [-55.0, -200.0, 60.0],
            "rear_eye": [-630.0, -200.0, 50.0],
            "shackle_hanger": [-600.0, -200.0, 190.0],
        },
    }
    through = np.array([5.0, -100.0, 0.0])
    axis = {"through": through, "inclination": 8.0, "caster": 4.0}
    values = {key: np.array(value) if isinstance(value, list) else value for key, value in springs[kind].items()}
    steering = {"left": 30.0, "right": 25.0, "axis": axis}
    axle = build(kind, {"track": 1500.0, **values}, Cycle(bump_mm=(-60, 60), other_bump_mm=(-60, 60)), steering)
    turned = axle.pose([[0.0, 0.0, 30.0]], "knuckle")
    assert turned.carry(through)[0] == pytest.approx(through, abs=1e-9)
    spin = turned.turn[0] @ np.array([0.0, 1.0, 0.0])
    assert np.degrees(np.arctan2(-spin[0], spin[1])) == pytest.approx(30.0, abs=1e-6)
