"""Linkages whose path is a formula: held to 1e-10 mm, far inside rounding's reach of the numbers printed."""

from __future__ import annotations

import numpy as np
import pytest

from clearance.pose import camber_deg, toe_deg
from clearance.suspension.kinds import build
from clearance.suspension.position import Cycle

EXACT = 1e-10


def rows(bumps, other=None):
    bumps = np.asarray(bumps, dtype=float)
    return np.stack([bumps, bumps if other is None else np.asarray(other, float), 0.0 * bumps], axis=1)


def both(low, high):
    return Cycle(bump_mm=(low, high), other_bump_mm=(low, high))


@pytest.mark.parametrize("length", [700.0, 900.0, 1000.0])
@pytest.mark.parametrize("end", ["near", "far"])
def test_a_level_track_bar_pulls_its_axle_by_the_versine(length, end):
    """R - sqrt(R^2 - h^2), towards the car's end of the bar."""
    h = np.array([-75.0, -25.0, 25.0, 50.0, 75.0])
    suspension = build("track-bar", {"track": 1500.0, "bar_length": length, "car_end": end}, both(-75, 75))
    toward = 1.0 if end == "near" else -1.0
    found = suspension.pose(rows(h), "axle").origin_mm[:, 1]
    assert found == pytest.approx(toward * (length - np.sqrt(length**2 - h**2)), abs=EXACT)


def test_a_sloping_track_bar_moves_its_axle_ten_times_more_in_droop():
    """sqrt(R^2 - (h-e)^2) - sqrt(R^2 - e^2), R = 900, the axle's end 30 below: printed to five decimals."""
    suspension = build("track-bar", {"track": 1500.0, "bar_length": 900.0, "axle_end_below": 30.0}, both(-75, 75))
    found = suspension.pose(rows([-75, -50, 50, 75]), "axle").origin_mm[:, 1]
    assert found == pytest.approx([-5.64585, -3.06247, 0.27789, -0.62557], abs=0.51e-5)


def test_a_trailing_arm_swings_on_its_circle():
    """L = 450, level: fore and aft 2.78640, 7.16820, 11.25178 at 50, 80, 100."""
    suspension = build("trailing-arm", {"pivot": [450.0, -100.0, 0.0]}, Cycle(bump_mm=(-100, 100)))
    h = np.array([50.0, 80.0, 100.0])
    found = suspension.pose(rows(h, 0 * h)).origin_mm[:, 0]
    assert found == pytest.approx(450.0 - np.sqrt(450.0**2 - h**2), abs=EXACT)
    assert found == pytest.approx([2.78640, 7.16820, 11.25178], abs=0.51e-5)


@pytest.mark.parametrize("kind", ["swing-axle", "swing-arm"])
def test_a_level_swing_axle_leans_by_the_arcsine(kind):
    """Camber -asin(h / L), across -(L - sqrt(L^2 - h^2)), L = 600."""
    values = {"inner_joint": [0.0, -600.0, 0.0]} if kind == "swing-axle" else {"swing_arm": 600.0}
    suspension = build(kind, values, Cycle(bump_mm=(-100, 100)))
    h = np.array([50.0, 80.0, 100.0])
    hub = suspension.pose(rows(h, 0 * h))
    assert camber_deg(hub.axis) == pytest.approx(-np.degrees(np.arcsin(h / 600.0)), abs=EXACT)
    assert hub.origin_mm[:, 1] == pytest.approx(np.sqrt(600.0**2 - h**2) - 600.0, abs=EXACT)
    assert camber_deg(hub.axis) == pytest.approx([-4.780192, -7.662256, -9.594068], abs=0.51e-6)


def equal_wishbones(length):
    upper, lower = 150.0, -150.0
    return {
        "upper_front": [100.0, -50.0 - length, upper],
        "upper_rear": [-100.0, -50.0 - length, upper],
        "upper_ball": [0.0, -50.0, upper],
        "lower_front": [100.0, -50.0 - length, lower],
        "lower_rear": [-100.0, -50.0 - length, lower],
        "lower_ball": [0.0, -50.0, lower],
        "tie_inner": [-120.0, -50.0 - length, 0.0],
        "tie_outer": [-120.0, -50.0, 0.0],
    }


def test_equal_parallel_wishbones_keep_the_wheel_upright():
    """L = 350: camber and toe stay, and the hub comes in by the versine."""
    suspension = build("double-wishbone", equal_wishbones(350.0), Cycle(bump_mm=(-100, 100)))
    h = np.array([25.0, 50.0, 75.0, 100.0])
    hub = suspension.pose(rows(h, 0 * h))
    assert hub.origin_mm[:, 1] == pytest.approx(np.sqrt(350.0**2 - h**2) - 350.0, abs=EXACT)
    assert hub.origin_mm[:, 1] == pytest.approx([-0.89400, -3.58984, -8.13014, -14.58980], abs=0.51e-5)
    assert np.abs(camber_deg(hub.axis)).max() < EXACT
    assert np.abs(toe_deg(hub.axis)).max() < EXACT


def circle_meets_circle(a, ra, b, rb, near):
    d = b - a
    apart = np.linalg.norm(d)
    along = (apart**2 + ra**2 - rb**2) / (2.0 * apart)
    off = np.sqrt(ra**2 - along**2)
    middle = a + along * d / apart
    square = np.array([-d[1], d[0]]) / apart
    both_points = [middle + off * square, middle - off * square]
    return min(both_points, key=lambda p: np.linalg.norm(p - near))


def planar_camber(bump):
    """Short over long arms in the transverse plane, (y, z), by circles: the lower arm's angle is searched for the
    bump."""
    pivots = np.array([230.0, 125.0]), np.array([240.0, 280.0])
    balls = np.array([560.0, 125.0]), np.array([560.0, 375.0])
    hub = np.array([600.0, 300.0])
    radii = [np.linalg.norm(b - p) for b, p in zip(balls, pivots, strict=True)]
    apart = np.linalg.norm(balls[1] - balls[0])
    local = hub - balls[0]
    angle = 0.0
    for _ in range(60):

        def placed(a):
            lower = pivots[0] + radii[0] * np.array([np.cos(a), np.sin(a)])
            upper = circle_meets_circle(pivots[1], radii[1], lower, apart, lower + (balls[1] - balls[0]))
            lean = np.arctan2(upper[0] - lower[0], upper[1] - lower[1])
            turn = np.array([[np.cos(lean), np.sin(lean)], [-np.sin(lean), np.cos(lean)]])
            return lower + turn @ local, lean

        here, lean = placed(angle)
        slope = (placed(angle + 1e-6)[0][1] - placed(angle - 1e-6)[0][1]) / 2e-6
        angle -= (here[1] - hub[1] - bump) / slope
    return np.degrees(lean), here[0]


def planar_wishbones():
    def at(x, y, z):
        return [x, y - 600.0, z - 300.0]

    return {
        "upper_front": at(100.0, 240.0, 280.0),
        "upper_rear": at(-100.0, 240.0, 280.0),
        "upper_ball": at(0.0, 560.0, 375.0),
        "lower_front": at(100.0, 230.0, 125.0),
        "lower_rear": at(-100.0, 230.0, 125.0),
        "lower_ball": at(0.0, 560.0, 125.0),
        "tie_inner": at(-100.0, 230.0, 125.0),
        "tie_outer": at(-100.0, 560.0, 125.0),
    }


@pytest.mark.parametrize(
    ("bump", "camber", "y"),
    [(-50.0, 3.18735229, 606.23110), (25.0, -1.64824123, 594.08168), (50.0, -3.35962190, 586.17255)],
)
def test_planar_wishbones_agree_with_circles(bump, camber, y):
    """Circle against circle in the plane, and the digits printed for this geometry."""
    suspension = build("double-wishbone", planar_wishbones(), Cycle(bump_mm=(-50, 50)))
    hub = suspension.pose([[bump, 0.0, 0.0]])
    by_circles = planar_camber(bump)
    assert camber_deg(hub.axis)[0] == pytest.approx(by_circles[0], abs=1e-9)
    assert hub.origin_mm[0, 1] + 600.0 == pytest.approx(by_circles[1], abs=1e-9)
    assert camber_deg(hub.axis)[0] == pytest.approx(camber, abs=0.51e-8)
    assert hub.origin_mm[0, 1] + 600.0 == pytest.approx(y, abs=0.51e-5)
    assert np.abs(toe_deg(hub.axis)).max() < EXACT


def test_planar_wishbones_gain_camber_about_their_instant_centre():
    """1 / swing arm: instant centre (-282.10526, 125), swing arm 882.10526, -0.0649534 deg per mm."""
    suspension = build("double-wishbone", planar_wishbones(), Cycle(bump_mm=(-50, 50)))
    hub = suspension.pose([[-1e-3, 0.0, 0.0], [1e-3, 0.0, 0.0]])
    rate = np.diff(camber_deg(hub.axis))[0] / 2e-3
    assert rate == pytest.approx(-0.0649534, abs=0.51e-7)
    assert rate == pytest.approx(-np.degrees(1.0 / 882.10526), rel=1e-7)


def three_parallel_links():
    return {
        "track": 1500.0,
        "lower_axle": [0.0, -200.0, -100.0],
        "lower_body": [500.0, -200.0, -100.0],
        "upper_axle": [0.0, -750.0, 150.0],
        "upper_body": [500.0, -750.0, 150.0],
    }


def test_parallel_links_and_a_track_bar_pull_on_each_other():
    """dx = L - sqrt(L^2 - dy^2 - h^2), dy = R - sqrt(R^2 - dx^2 - h^2): 2.508233 and 1.393463 at 50 mm."""
    values = three_parallel_links() | {"bar_axle": [0.0, -300.0, 0.0], "bar_body": [0.0, -1200.0, 0.0]}
    suspension = build("three-link", values, both(-80, 80))
    for h, printed in ((50.0, (2.508233, 1.393463)), (80.0, (6.454519, 3.585844))):
        moved = suspension.pose(rows([h]), "axle").origin_mm[0]
        dx, dy = moved[0], -moved[1]
        assert dx == pytest.approx(500.0 - np.sqrt(500.0**2 - dy**2 - h**2), abs=EXACT)
        assert dy == pytest.approx(900.0 - np.sqrt(900.0**2 - dx**2 - h**2), abs=EXACT)
        assert (dx, dy) == pytest.approx(printed, abs=0.51e-6)


def watts_curve_shift(h, link, half):
    """The lever's turn for a rise h, and its pivot's shift, by the two circles of the linkage in its plane.

    The pivot P = (s, h) carries a lever of half-length c; its ends are `link` from (L, c) and (-L, -c).
    """
    turn, shift = 0.0, 0.0
    for _ in range(60):
        top = np.array([shift - half * np.sin(turn), h + half * np.cos(turn)])
        low = np.array([shift + half * np.sin(turn), h - half * np.cos(turn)])
        to_top, to_low = top - np.array([link, half]), low - np.array([-link, -half])
        left = np.array([to_top @ to_top - link**2, to_low @ to_low - link**2])
        d_top, d_low = (
            np.array([-half * np.cos(turn), -half * np.sin(turn)]),
            np.array([half * np.cos(turn), half * np.sin(turn)]),
        )
        slope = 2.0 * np.array([[to_top[0], to_top @ d_top], [to_low[0], to_low @ d_low]])
        step = np.linalg.solve(slope, -left)
        shift, turn = shift + step[0], turn + step[1]
    return shift, np.degrees(turn)


def planar_watts_axle():
    """The hubs are kept from moving fore and aft, so that the linkage stays in its own plane, as in the formula."""
    from clearance.suspension.linkage import Plane, Riding, Square
    from clearance.suspension.live_axle import _watts, axle_on

    ahead = np.array([1.0, 0.0, 0.0])
    values = {
        "track": 1500.0,
        "lever_pivot": [0.0, -750.0, 0.0],
        "lever_end_1": [0.0, -750.0, 100.0],
        "lever_end_2": [0.0, -750.0, -100.0],
        "watts_end_1": [0.0, -310.0, 100.0],
        "watts_end_2": [0.0, -1190.0, -100.0],
    }
    held = [
        Plane(name=name, letters=(), point=Riding(np.array([0.0, y, 0.0])), normal=ahead, height_mm=0.0)
        for name, y in (("this hub", 0.0), ("the other hub", -1500.0))
    ]
    level = Square(
        name="level", letters=(), body=0, direction=ahead, other=None, other_direction=np.array([0.0, 0.0, 1.0])
    )
    return axle_on("watts-link", values, both(-150, 150), "this axle", [*held, level, *_watts(values)], [], bodies=2)


def test_a_watts_linkage_draws_watts_curve():
    """Links 440, lever half 100: 0.00014, 0.00465, 0.03590, 0.15524, 1.28407 mm at 25, 50, 75, 100, 150."""
    axle = planar_watts_axle()
    h = np.array([25.0, 50.0, 75.0, 100.0, 150.0])
    state = axle.travel.states(rows(h))
    lever = np.degrees(np.arctan2(state.turn[:, 1, 2, 1], state.turn[:, 1, 2, 2]))
    by_circles = np.array([watts_curve_shift(value, 440.0, 100.0) for value in h])
    assert state.origin[:, 0, 1] == pytest.approx(by_circles[:, 0], abs=1e-9)
    assert np.abs(state.origin[:, 0, 1]) == pytest.approx([0.00014, 0.00465, 0.03590, 0.15524, 1.28407], abs=0.51e-5)
    assert np.abs(lever) == pytest.approx([0.40726, 1.63323, 3.69195, 6.61218, 15.29257], abs=0.51e-5)


def test_a_hinge_locks_where_its_arm_stands_straight():
    """A level arm of 450 mm reaches 450 mm and no further."""
    from clearance.errors import SuspensionError

    build("trailing-arm", {"pivot": [450.0, 0.0, 0.0]}, Cycle(bump_mm=(-449.9, 449.9)))
    with pytest.raises(SuspensionError, match=r"cannot reach -451\.0 mm: its arm stands straight down at -450\.0 mm"):
        build("trailing-arm", {"pivot": [450.0, 0.0, 0.0]}, Cycle(bump_mm=(-451.0, 100.0)))
