"""Cars that never were: tires, wheels and every kind of suspension, jittered from layouts that are sound.

Points are [ahead, outboard, above] from the hub; an axle's middle lies half the track inboard. Nothing here is of a
real car. What each maker gives is the [suspension] and the [steering] of a corner file.
"""

from __future__ import annotations

from collections.abc import Callable

import numpy as np

from .tape import length_mm
from .writing import Tables, deg, mm, point

Rng = np.random.Generator
Made = tuple[Tables, Tables]
"""The [suspension] and the [steering]."""

JITTER_MM = 12.0


def tire_and_wheel(rng: Rng) -> Made:
    """[tire] and [wheel]: by marking or by measure, any offset."""
    rim = float(rng.choice([13.0, 14.0, 15.0, 16.0, 17.0, 18.0]))
    tire: Tables = {}
    if rng.random() < 0.5:
        marking, rim, widths = _MARKINGS[int(rng.integers(len(_MARKINGS)))]
        tire["size"] = marking
        width = float(rng.choice(widths))
    else:
        section = rng.uniform(165.0, 300.0)
        tire["overall_diameter"] = mm(rim * 25.4 + section * rng.uniform(0.9, 1.5), rng)
        tire["section_width"] = mm(section, rng)
        width = round(section * rng.uniform(0.74, 0.9) / 25.4 * 2.0) / 2.0
        if rng.random() < 0.4:
            tire["tread_width"] = mm(section * rng.uniform(0.65, 0.85))
    if rng.random() < 0.6:
        tire["shape"] = str(rng.choice(["road", "square", "round"]))
    if rng.random() < 0.3:
        tire["growth"] = "in-service"
    wheel: Tables = {"diameter": f"{rim:g} in", "width": f"{width:g} in"}
    offset = rng.uniform(-45.0, 50.0)
    if rng.random() < 0.5:
        wheel["offset"] = mm(offset)
    else:
        wheel["backspace"] = mm(0.5 * (width * 25.4 + 25.4) + offset)
    if rng.random() < 0.2:
        wheel["center_bore"] = mm(rng.uniform(50.0, 90.0))
    if rng.random() < 0.2:
        wheel["flange_thickness"] = mm(rng.uniform(10.0, 14.0))
    if rng.random() < 0.2:
        wheel["barrel_inner_diameter"] = mm(rim * 25.4 - rng.uniform(25.0, 45.0))
    return tire, wheel


_MARKINGS = (
    ("155/80R13", 13.0, (4.5, 5.0, 5.5)),
    ("195/65R15", 15.0, (6.0, 6.5)),
    ("205/55R16", 16.0, (6.0, 6.5, 7.0)),
    ("225/45R17", 17.0, (7.5, 8.0)),
    ("235/75R15", 15.0, (6.5, 7.0, 8.0)),
    ("265/70R16", 16.0, (7.5, 8.0)),
    ("245/40R18", 18.0, (8.5, 9.0)),
)


def corner(rng: Rng, number: int) -> Tables:
    """Everything of a corner file but its parts. Each kind of suspension comes by its turn."""
    makers = list(MAKERS)
    kind = makers[number % len(makers)]
    suspension, steering = MAKERS[kind](rng)
    tire, wheel = tire_and_wheel(rng)
    end = "front" if steering or rng.random() < 0.2 else "rear"
    tables: Tables = {
        "title": f"invented corner {number}",
        "corner": f"{end}-{rng.choice(['left', 'right'])}",
        "tire": tire,
        "wheel": wheel,
        "suspension": {"kind": kind, **_travel(rng, suspension), **_play(rng), **suspension},
    }
    if steering:
        tables["steering"] = steering
    return tables


def _travel(rng: Rng, suspension: Tables) -> Tables:
    most = 55.0 if "bushing_limit" in suspension else 95.0
    travel: Tables = {"bump": mm(rng.uniform(25.0, most), rng), "droop": mm(rng.uniform(25.0, most), rng)}
    if "track" not in suspension:
        return travel
    if rng.random() < 0.3:
        travel["other_bump"], travel["other_droop"] = (mm(rng.uniform(20.0, most)) for _ in range(2))
    choice = rng.random()
    if "bushing_limit" in suspension or choice < 0.35:
        travel["articulation"] = mm(rng.uniform(15.0, 50.0))
    elif choice < 0.6:
        travel["articulation"] = mm(rng.uniform(60.0, 150.0))
    return travel


def _play(rng: Rng) -> Tables:
    choice = rng.random()
    if choice < 0.4:
        return {}
    most = 2.0 if choice < 0.7 else 8.0
    ways = [way for way in ("inboard", "outboard", "ahead", "behind") if rng.random() < 0.8]
    return {"shift": {way: mm(rng.uniform(0.2, most)) for way in ways}} if ways else {}


def _near(rng: Rng, *values: float) -> list[str]:
    return point(np.array(values) + rng.uniform(-JITTER_MM, JITTER_MM, 3), rng)


def _points(rng: Rng, **places: tuple[float, float, float]) -> Tables:
    return {name: _near(rng, *place) for name, place in places.items()}


def _stance(rng: Rng) -> Tables:
    table: Tables = {}
    if rng.random() < 0.5:
        table["camber"] = deg(rng.uniform(-2.5, 1.5))
    if rng.random() < 0.5:
        table["toe"] = deg(rng.uniform(-0.6, 0.6))
    return table


def _locks(rng: Rng) -> Tables:
    return {"left": deg(rng.uniform(8.0, 36.0)), "right": deg(rng.uniform(8.0, 36.0))}


def _axis(rng: Rng, share: float) -> Tables:
    """Steering about an axis by its angles, in a share of cases."""
    if rng.random() > share:
        return {}
    axis = {
        "through": point([rng.uniform(-12, 12), -rng.uniform(30, 120), rng.uniform(-20, 20)]),
        "inclination": deg(rng.uniform(0.0, 14.0)),
        "caster": deg(rng.uniform(-3.0, 9.0)),
    }
    return {**_locks(rng), "axis": axis}


def _by_rod(rng: Rng, *, rack: bool) -> Tables:
    """Steering where a rod says how: by angles, or by rack travel, or none."""
    choice = rng.random()
    if choice < 0.25:
        return {}
    if choice < 0.6 and rack:
        return {"rack_left": mm(rng.uniform(20.0, 60.0)), "rack_right": mm(rng.uniform(20.0, 60.0))}
    return _locks(rng)


def _steering_arm(rng: Rng, inner: list[str]) -> Tables:
    """An arm about an upright axis that moves the rod's inner end across."""
    if rng.random() > 0.3:
        return {}
    side = float(rng.choice([-1.0, 1.0]))
    foot = _shifted(inner, side * rng.uniform(100, 170), rng.uniform(-20, 20), rng.uniform(-20, 20))
    return {"arm_pivot": foot, "arm_axis": _shifted(foot, rng.uniform(-8, 8), rng.uniform(-8, 8), 90.0)}


def _shifted(start: list[str], *by: float) -> list[str]:
    """A point some way from one that is written."""
    return point(np.add([length_mm(value) for value in start], by))


# ---- by tape


def _straight(rng: Rng) -> Made:
    table = _stance(rng)
    for key, size in (("camber_per_100mm", 2.0), ("toe_per_100mm", 0.5)):
        if rng.random() < 0.6:
            table[key] = deg(rng.uniform(-size, size))
    for key in ("across_per_100mm", "along_per_100mm"):
        if rng.random() < 0.6:
            table[key] = mm(rng.uniform(-8.0, 8.0))
    return table, _axis(rng, 0.5)


def _table(rng: Rng) -> Made:
    step = float(rng.choice([25.0, 35.0]))
    heights = np.arange(-100.0, 101.0, step)
    heights = np.unique(np.concatenate([heights, [-100.0, 0.0, 100.0]]))
    bends = rng.uniform(-1.0, 1.0, (2, 4)) * [[6.0, 6.0, 2.0, 0.4], [3.0, 3.0, 0.6, 0.1]]
    rows = []
    for bump in heights:
        x = bump / 100.0
        across, along, camber, toe = bends[0] * x + bends[1] * x * x + rng.normal(size=4) * [0.4, 0.4, 0.05, 0.02]
        rows.append([mm(bump), mm(220.0 + across), mm(along), deg(camber - 0.4), deg(toe + 0.1)])
    if rng.random() < 0.5:
        return {"rows": rows}, _axis(rng, 0.4)
    locks = rng.uniform(20.0, 34.0, 2)
    steer_rows = [
        [mm(bump), deg(steer), mm(steer * steer * 0.006 + bump * 0.02), mm(-0.9 * steer), deg(0.08 * steer - 0.4)]
        for bump in (-100.0, 0.0, 100.0)
        for steer in (float(np.round(locks[0], 2)), 0.0, -float(np.round(locks[1], 2)))
    ]
    share = rng.uniform(0.5, 1.0, 2)
    # the locks of the rows are the car's own, so a corner on either side may use the smaller of the two
    most = float(locks.min())
    return {"rows": rows, "steer_rows": steer_rows}, {"left": deg(most * share[0]), "right": deg(most * share[1])}


def _swing_arm(rng: Rng) -> Made:
    table = {"swing_arm": mm(rng.uniform(450.0, 1500.0)), **_stance(rng)}
    if rng.random() < 0.7:
        table["centre_above"] = mm(rng.uniform(-60.0, 140.0))
    return table, _axis(rng, 0.5)


# ---- independent


def _tie(rng: Rng, inner: tuple[float, float, float], outer: tuple[float, float, float], *, share: float) -> Tables:
    if rng.random() > share:
        return {}
    rod = _points(rng, tie_inner=inner, tie_outer=outer)
    return {**rod, **_steering_arm(rng, rod["tie_inner"])}


def _double_wishbone(rng: Rng) -> Made:
    table = _points(
        rng,
        upper_front=(85.0, -325.0, 185.0),
        upper_rear=(-125.0, -320.0, 168.0),
        upper_ball=(-15.0, -125.0, 190.0),
        lower_front=(175.0, -400.0, -105.0),
        lower_rear=(-170.0, -395.0, -118.0),
        lower_ball=(5.0, -70.0, -125.0),
    )
    table |= _tie(rng, (-125.0, -365.0, -35.0), (-130.0, -85.0, -45.0), share=0.85)
    steering = _by_rod(rng, rack="tie_inner" in table and "arm_pivot" not in table)
    return {**table, **_stance(rng)}, steering


def _strut(rng: Rng) -> Made:
    table = _points(
        rng,
        lower_front=(240.0, -560.0, -125.0),
        lower_rear=(-240.0, -565.0, -112.0),
        lower_ball=(15.0, -120.0, -140.0),
        strut_top=(-60.0, -300.0, 560.0),
        strut_bottom=(-30.0, -235.0, 220.0),
    )
    table |= _tie(rng, (-215.0, -540.0, -50.0), (-160.0, -165.0, -30.0), share=0.85)
    steering = _by_rod(rng, rack="tie_inner" in table and "arm_pivot" not in table)
    return {**table, **_stance(rng)}, steering


_FIVE_LINKS = (
    (60.0, -403.0, 82.0, 56.0, -86.0, 151.0),
    (-157.0, -442.0, 62.0, 40.0, -86.0, 151.0),
    (36.0, -612.0, -133.0, 29.0, -108.0, -93.0),
    (620.0, -351.0, -72.0, 0.0, -86.0, -156.0),
    (-257.0, -630.0, -116.0, -144.0, -88.0, -56.0),
)


def _multi_link(rng: Rng) -> Made:
    links = [_near(rng, *row[:3]) + _near(rng, *row[3:]) for row in _FIVE_LINKS]
    if rng.random() < 0.4:
        return {"links": links, **_stance(rng)}, {}
    inner, outer = links[4][:3], links[4][3:]
    table = {"links": links[:4], "tie_inner": inner, "tie_outer": outer, **_stance(rng)}
    table |= _steering_arm(rng, inner)
    return table, _by_rod(rng, rack="arm_pivot" not in table)


def _trailing_arm(rng: Rng) -> Made:
    table = _points(rng, pivot=(rng.uniform(350.0, 550.0), -160.0, rng.uniform(-30.0, 50.0)))
    if rng.random() < 0.5:
        table["pivot_2"] = _shifted(table["pivot"], rng.uniform(-50, 50), -320.0, rng.uniform(-30, 30))
    return {**table, **_stance(rng)}, _axis(rng, 0.3)


def _semi_trailing(rng: Rng) -> Made:
    table = _points(rng, outer_pivot=(500.0, -200.0, 0.0), inner_pivot=(400.0, -520.0, -40.0))
    return {**table, **_stance(rng)}, _axis(rng, 0.3)


def _swing_axle(rng: Rng) -> Made:
    table = _points(rng, inner_joint=(0.0, -rng.uniform(480.0, 620.0), 10.0))
    if rng.random() < 0.5:
        table["arm_front"] = _near(rng, 620.0, -280.0, -30.0)
    return {**table, **_stance(rng)}, _axis(rng, 0.3)


def _twin_beam(rng: Rng) -> Made:
    table = _points(
        rng,
        beam_pivot=(0.0, -880.0, -60.0),
        arm_pivot_on_car=(900.0, -330.0, -50.0),
        kingpin_lower=(0.0, -90.0, -105.0),
        kingpin_upper=(-8.0, -120.0, 105.0),
    )
    table |= _tie(rng, (-140.0, -470.0, -45.0), (-145.0, -110.0, -30.0), share=0.7)
    return {**table, **_stance(rng)}, _locks(rng) if rng.random() < 0.8 else {}


# ---- axles


def _basics(rng: Rng) -> Tables:
    table: Tables = {"track": mm(rng.uniform(1420.0, 1520.0))}
    if rng.random() < 0.2:
        table |= {"camber": deg(rng.uniform(-1.0, 0.5)), "toe": deg(rng.uniform(-0.3, 0.3))}
    if rng.random() < 0.15:
        table["sideways_flex"] = mm(rng.uniform(0.5, 4.0))
    return table


def _lower(rng: Rng) -> Tables:
    return _points(rng, lower_axle=(-15.0, -240.0, -75.0), lower_body=(455.0, -260.0, -45.0))


def _bar(rng: Rng) -> Tables:
    return _points(rng, bar_axle=(-140.0, -270.0, 50.0), bar_body=(-140.0, -1180.0, 75.0))


def _watts(rng: Rng, *, parallel_plane: float = -130.0) -> Tables:
    """Drawn in one upright plane across the car, as it is built."""
    pivot = np.array([parallel_plane, -735.0, 30.0]) + rng.uniform(-JITTER_MM, JITTER_MM, 3)
    half = rng.uniform(70.0, 110.0)
    up = np.array([0.0, rng.uniform(-8.0, 8.0), half])
    far = np.array([0.0, rng.uniform(380.0, 460.0), rng.uniform(-15.0, 15.0)])
    ends = {"lever_end_1": pivot + up, "lever_end_2": pivot - up}
    table = {"lever_pivot": pivot, **ends, "watts_end_1": pivot + up + far, "watts_end_2": pivot - up - far}
    return {**{key: point(value) for key, value in table.items()}, "lever_on": str(rng.choice(["axle", "body"]))}


def _four_link(rng: Rng) -> Made:
    if rng.random() < 0.6:
        upper = _points(rng, upper_axle=(-30.0, -600.0, 135.0), upper_body=(270.0, -330.0, 150.0))
        return {**_lower(rng), **upper, **_basics(rng)}, _axis(rng, 0.15)
    upper = _points(rng, upper_axle=(-20.0, -255.0, 125.0), upper_body=(360.0, -265.0, 140.0))
    return {**_lower(rng), **upper, **_bar(rng), **_basics(rng), "bushing_limit": "25 mm"}, _axis(rng, 0.1)


def _three_link(rng: Rng) -> Made:
    if rng.random() < 0.5:
        upper = _points(rng, upper_axle=(-20.0, -735.0, 165.0), upper_body=(350.0, -735.0, 170.0))
        return {**_lower(rng), **upper, **_bar(rng), **_basics(rng)}, _axis(rng, 0.1)
    upper = _points(rng, upper_axle=(-10.0, -735.0, 180.0), upper_body=(350.0, -400.0, 150.0))
    upper["upper_body_2"] = _near(rng, 350.0, -1070.0, 150.0)
    return {**_lower(rng), **upper, **_basics(rng)}, {}


def _watts_link(rng: Rng) -> Made:
    two = rng.random() < 0.3
    y = -300.0 if two else -735.0
    upper = _points(rng, upper_axle=(-20.0, y, 150.0), upper_body=(350.0, y, 155.0))
    table = {**_lower(rng), **upper, **_watts(rng), **_basics(rng)}
    if two:
        table |= {"upper_links": "two", "bushing_limit": "25 mm"}
    return table, _axis(rng, 0.1)


def _torque_arm(rng: Rng) -> Made:
    held = _bar(rng) if rng.random() < 0.5 else _watts(rng)
    return {**_lower(rng), **_points(rng, arm_front=(850.0, -735.0, 45.0)), **held, **_basics(rng)}, {}


def _truck_arm(rng: Rng) -> Made:
    arm = _points(rng, arm_body=(1100.0, -620.0, 40.0))
    return {**arm, **_bar(rng), **_basics(rng), "bushing_limit": "25 mm"}, {}


def _de_dion(rng: Rng) -> Made:
    choice = rng.random()
    held = _bar(rng) if rng.random() < 0.5 else _watts(rng)
    if choice < 0.6:
        return {**_points(rng, arm_body=(900.0, -735.0, 25.0)), **held, **_basics(rng)}, {}
    upper = _points(rng, upper_axle=(-20.0, -735.0, 150.0), upper_body=(350.0, -735.0, 160.0))
    return {**_lower(rng), **upper, **held, **_basics(rng)}, {}


def _leaf_points(rng: Rng) -> Tables:
    across, up = -rng.uniform(170.0, 220.0), rng.uniform(20.0, 90.0)

    def at(ahead: float, above: float) -> list[str]:
        return point([ahead + rng.uniform(-15, 15), across, up + above + rng.uniform(-6, 6)])

    return {
        "front_eye": at(560.0, rng.uniform(0.0, 60.0)),
        "front_clamp": at(50.0, 0.0),
        "rear_clamp": at(-55.0, 0.0),
        "rear_eye": at(-630.0, rng.uniform(0.0, 60.0)),
        "shackle_hanger": at(-600.0, rng.uniform(120.0, 170.0)),
    }


def _leaf_spring(rng: Rng) -> Made:
    return {**_leaf_points(rng), **_basics(rng)}, _axis(rng, 0.2)


def _leaf_arc(rng: Rng) -> Made:
    table: Tables = {
        "half_length": mm(rng.uniform(480.0, 650.0)),
        "spring_inboard": mm(rng.uniform(150.0, 230.0)),
        "spring_above": mm(rng.uniform(-90.0, 90.0)),
    }
    for key, low, high in (("rear_half_length", 480.0, 700.0), ("arch", -20.0, 110.0), ("clamp_length", 60.0, 120.0)):
        if rng.random() < 0.7:
            table[key] = mm(rng.uniform(low, high))
    return {**table, **_basics(rng)}, _axis(rng, 0.2)


def _solid_steer(rng: Rng) -> Made:
    basics = _basics(rng)
    track = length_mm(basics["track"])
    table = _points(rng, kingpin_lower=(0.0, -85.0, -100.0), kingpin_upper=(-8.0, -112.0, 95.0))
    if rng.random() < 0.5:
        table |= _leaf_points(rng)
    else:
        upper = _points(rng, upper_axle=(-20.0, -735.0, 165.0), upper_body=(350.0, -735.0, 170.0))
        table |= {**_lower(rng), **upper, **_bar(rng)}
    choice = rng.random()
    # a drag link's proof takes the program long: it comes more rarely than on the road
    if choice < 0.2:
        table |= _points(rng, drag_inner=(-140.0, -560.0, 60.0), drag_outer=(-145.0, -130.0, 25.0))
    elif choice < 0.25:
        table |= _points(rng, drag_inner=(-140.0, -480.0, 60.0), drag_outer=(-145.0, 130.0 - track, 25.0))
        table |= _points(rng, track_rod_here=(-150.0, -125.0, -20.0), track_rod_there=(-150.0, 125.0 - track, -20.0))
    if "drag_inner" in table:
        table |= _steering_arm(rng, table["drag_inner"])
    return {**table, **basics}, _locks(rng)


def _track_bar(rng: Rng) -> Made:
    table: Tables = {"bar_length": mm(rng.uniform(700.0, 1050.0))}
    for key, low, high in (("axle_end_below", -40.0, 70.0), ("axle_end_above_hub", -60.0, 80.0)):
        if rng.random() < 0.7:
            table[key] = mm(rng.uniform(low, high))
    if rng.random() < 0.6:
        table["car_end"] = str(rng.choice(["near", "far"]))
    return {**table, **_basics(rng)}, _axis(rng, 0.2)


MAKERS: dict[str, Callable[[Rng], Made]] = {
    "straight": _straight,
    "double-wishbone": _double_wishbone,
    "leaf-spring": _leaf_spring,
    "table": _table,
    "strut": _strut,
    "four-link": _four_link,
    "trailing-arm": _trailing_arm,
    "multi-link": _multi_link,
    "three-link": _three_link,
    "semi-trailing-arm": _semi_trailing,
    "watts-link": _watts_link,
    "swing-axle": _swing_axle,
    "solid-steer-axle": _solid_steer,
    "torque-arm": _torque_arm,
    "twin-beam": _twin_beam,
    "truck-arm": _truck_arm,
    "swing-arm": _swing_arm,
    "de-dion": _de_dion,
    "leaf-arc": _leaf_arc,
    "track-bar": _track_bar,
}
