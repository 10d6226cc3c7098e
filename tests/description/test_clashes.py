"""Keys that contradict one another: each rule with one file that breaks it, both lines named.

Every row says which sections of a plain file it writes otherwise. The words are a piece of the message; the numbers in
them are worked out by hand beside the row where they are more than a copy of what was written.
"""

# ruff: noqa: E501 - what is written in a row, and what is said of it, stands on one line

from __future__ import annotations

import re
from pathlib import Path
from typing import NamedTuple

import numpy as np
import pytest

from clearance.description import clash_well, clash_wheel
from clearance.description.lines import lines_of, path_text
from clearance.description.load import WRITTEN, load
from clearance.ends import families
from clearance.errors import CornerFileError
from clearance.report.forms import CARRIERS, form_of

SECTIONS = {
    "top": 'title = "Plain corner"\ncorner = "rear-left"',
    "tire": '[tire]\nsize = "235/75R15"',
    "wheel": '[wheel]\ndiameter = "15 in"\nwidth = "7 in"\nbackspace = "3 3/4 in"',
    "suspension": '[suspension]\nkind = "straight"\nbump = "90 mm"\ndroop = "75 mm"',
    "steering": "",
    "part": '[[part]]\nname = "wall"\nkind = "wall"\ninboard = "165 mm"',
    "more": "",
}
WHEEL, TIRE, SUSPENSION, PART = SECTIONS["wheel"], SECTIONS["tire"], SECTIONS["suspension"], SECTIONS["part"]
STEERING = """[steering]
left = "33 deg"
right = "28 deg"
axis = { through = ["0 mm", "-95 mm", "0 mm"], inclination = "8 deg", caster = "3 deg" }"""
FRONT = 'title = "Plain corner"\ncorner = "front-left"'
LIP = '\n[[part]]\nname = "lip"\nkind = "lip"\noutboard = "200 mm"\nradius = "430 mm"'
TUB = '\n[[part]]\nname = "well"\nkind = "tub"\ninner = "190 mm"\ncrown = "480 mm"\nouter = "130 mm"'
WISHBONES = """[suspension]
kind = "double-wishbone"
bump = "60 mm"
droop = "50 mm"
upper_front = ["55 mm", "-300 mm", "145 mm"]
upper_rear  = ["-145 mm", "-305 mm", "132 mm"]
upper_ball  = ["-18 mm", "-118 mm", "148 mm"]
lower_front = ["150 mm", "-400 mm", "-112 mm"]
lower_rear  = ["-160 mm", "-395 mm", "-118 mm"]
lower_ball  = ["6 mm", "-62 mm", "-128 mm"]
tie_inner   = ["-128 mm", "-352 mm", "-63 mm"]
tie_outer   = ["-122 mm", "-78 mm", "-70 mm"]"""
LINKS = """[suspension]
kind = "four-link"
bump = "90 mm"
droop = "85 mm"
track = "1470 mm"
lower_axle = ["-15 mm", "-235 mm", "-75 mm"]
lower_body = ["455 mm", "-250 mm", "-45 mm"]
upper_axle = ["-30 mm", "-600 mm", "135 mm"]
upper_body = ["260 mm", "-330 mm", "150 mm"]"""
LEAF = """[suspension]
kind = "leaf-arc"
bump = "60 mm"
droop = "60 mm"
half_length = "600 mm"
rear_half_length = "650 mm"
arch = "80 mm"
clamp_length = "100 mm"
spring_inboard = "180 mm"
track = "1450 mm\""""
BAR = """[suspension]
kind = "track-bar"
bump = "60 mm"
droop = "60 mm"
bar_length = "850 mm"
axle_end_below = "20 mm"
track = "1450 mm\""""
TABLE = """[suspension]
kind = "table"
bump = "50 mm"
droop = "75 mm"
rows = [
    ["-75 mm", "-6.9 mm", "1.5 mm", "0.75 deg", "0.15 deg"],
    ["-50 mm", "-3.7 mm", "1.0 mm", "0.45 deg", "0.10 deg"],
    ["-25 mm", "-1.4 mm", "0.5 mm", "0.10 deg", "0.05 deg"],
    ["0 mm", "0 mm", "0 mm", "-0.30 deg", "0 deg"],
    ["25 mm", "0.6 mm", "-0.5 mm", "-0.75 deg", "-0.05 deg"],
    ["50 mm", "0.3 mm", "-1.0 mm", "-1.25 deg", "-0.10 deg"],
]"""
STEERED_TABLE = (
    TABLE.replace('bump = "50 mm"', 'bump = "40 mm"').replace('droop = "75 mm"', 'droop = "40 mm"')
    + """
steer_rows = [
    ["-50 mm", "30 deg", "-6 mm", "-20 mm", "-1 deg"], ["-50 mm", "0 deg", "-3 mm", "1 mm", "0.5 deg"],
    ["-50 mm", "-25 deg", "-5 mm", "16 mm", "3 deg"], ["0 mm", "30 deg", "-3 mm", "-21 mm", "-2 deg"],
    ["0 mm", "0 deg", "0 mm", "0 mm", "-0.3 deg"], ["0 mm", "-25 deg", "-2 mm", "15 mm", "2 deg"],
    ["50 mm", "30 deg", "-3 mm", "-22 mm", "-3 deg"], ["50 mm", "0 deg", "0 mm", "-1 mm", "-1.2 deg"],
    ["50 mm", "-25 deg", "-2 mm", "14 mm", "1 deg"],
]"""
)


class Row(NamedTuple):
    """A file that breaks a rule, the two keys that are named, and a piece of what is said."""

    rule: str
    changed: dict[str, str]
    at: str
    against: str
    words: str


def with_(section: str, good: str, bad: str, base: str | None = None) -> dict[str, str]:
    """One thing changed in one section."""
    text = SECTIONS[section] if base is None else base
    assert good in text
    return {section: text.replace(good, bad, 1)}


REFUSED = [
    Row(
        "backspace_and_offset",
        {"wheel": WHEEL + '\noffset = "-10 mm"'},
        "wheel.offset",
        "wheel.backspace",
        "is an offset of -6.3 mm; found -10 mm",  # 95.25 - 203.2 / 2
    ),
    Row(
        "face_outside_the_rim",
        with_("wheel", "3 3/4 in", "8 1/2 in"),
        "wheel.backspace",
        "wheel.width",
        "is more than the whole rim, 203.2 mm (8 in) over its flanges",  # 7 in and an inch for the flanges
    ),
    Row(
        "face_outside_the_rim",
        with_("wheel", 'backspace = "3 3/4 in"', 'offset = "-120 mm"'),
        "wheel.offset",
        "wheel.width",
        "18.4 mm (3/4 in) inboard of the whole rim",  # 101.6 - 120
    ),
    Row(
        "circle_and_rim",
        {"wheel": WHEEL + '\nbolt_circle = "10 x 335 mm"'},
        "wheel.bolt_circle",
        "wheel.diameter",
        "does not fit into a 15 in rim, which is about 333.6 mm",  # 380.2 - 2 x 17.3 - 2 x 6
    ),
    Row(
        "bore_and_circle",
        {"wheel": WHEEL + '\nbolt_circle = "5 x 114.3 mm"\ncenter_bore = "5 in"'},
        "wheel.center_bore",
        "wheel.bolt_circle",
        "a center bore of 127.0 mm (5 in) would cut into the holes on a bolt circle of 114.3 mm",
    ),
    Row(
        "barrel_and_rim",
        {"wheel": WHEEL + '\nbarrel_inner_diameter = "15 in"'},
        "wheel.barrel_inner_diameter",
        "wheel.diameter",
        "does not fit in a rim whose bead seats are 380.2 mm",
    ),
    Row(
        "bore_and_barrel",
        {"wheel": WHEEL.replace("15 in", "12 in") + '\ncenter_bore = "290 mm"', "tire": '[tire]\nsize = "155/80R12"'},
        "wheel.center_bore",
        "wheel.diameter",
        "does not fit into a rim 262.0 mm",  # 304.0 - 2 x 15 - 2 x 6, JIS D 4218 and ISO 4000-2
    ),
    Row(
        "width_and_diameter",
        {"wheel": '[wheel]\ndiameter = "10 in"\nwidth = "15 in"\noffset = "0 mm"', "tire": '[tire]\nsize = "5.20-10"'},
        "wheel.width",
        "wheel.diameter",
        "are the two swapped?",
    ),
    Row(
        "flange_and_width",
        {"wheel": WHEEL.replace('"7 in"', '"2 1/2 in"') + '\nflange_thickness = "1 1/4 in"'},
        "wheel.flange_thickness",
        "wheel.width",
        "leave nothing of a rim 2.5 in wide",
    ),
    Row(
        "tread_and_section",
        {"tire": TIRE + '\nsection_width = "200 mm"\ntread_width = "205 mm"'},
        "tire.tread_width",
        "tire.section_width",
        "is not narrower than the section",
    ),
    Row(
        "section_and_rim",
        {"tire": TIRE + '\nsection_width = "430 mm"'},
        "tire.section_width",
        "wheel.width",
        "does not stand on a rim of 7 in",  # 430 / 177.8 = 2.4
    ),
    Row(
        "section_and_rim",
        {"tire": TIRE + '\nsection_width = "239 mm"\nmeasured_on = "13 in"'},
        "tire.section_width",
        "tire.measured_on",
        "does not stand on a rim of 13 in",  # 239 / 330 = 0.72
    ),
    Row(
        "tire_and_rim",
        with_("tire", "235/75R15", "235/75R16"),
        "tire.size",
        "wheel.diameter",
        "a tire for a 16 in rim does not go on a 15 in wheel",
    ),
    Row(
        "tire_and_rim",
        {"tire": TIRE + '\nrim_diameter = "14 in"'},
        "tire.rim_diameter",
        "tire.size",
        "235/75R15 is for a 15 in rim; found 14 in",
    ),
    Row(
        "tire_inside_rim",
        {"tire": TIRE + '\noverall_diameter = "16 in"'},
        "tire.overall_diameter",
        "wheel.diameter",
        "would lie inside its rim, whose flanges are 415.2 mm (16 3/8 in)",  # 380.2 + 2 x 17.5
    ),
    Row(
        "measured_and_marked",
        {"tire": TIRE + '\nsection_width = "165 mm"'},
        "tire.section_width",
        "tire.size",
        "section_width is 165.0 mm (6 1/2 in), but 235/75R15 stands for 235.0 mm",
    ),
    Row(
        "growth_and_tire",
        {"tire": TIRE + '\ngrowth = { width = "45 mm", diameter = "8 mm" }'},
        "tire.growth.width",
        "tire.size",
        "more than a sixth of the tire's 235.0 mm",
    ),
    Row(
        "rows_and_travel",
        with_("suspension", 'bump = "50 mm"', 'bump = "70 mm"', TABLE),
        "suspension.rows",
        "suspension.bump",
        "bump 70 mm is outside the measured table, which runs from -75 mm to 50 mm",
    ),
    Row(
        "row_out_of_line",
        with_("suspension", '"0.6 mm"', '"-60 mm"', TABLE),
        "suspension.rows[5][2]",
        "suspension.rows[4][2]",
        "at bump 25 mm across is -60 mm, where the other rows",
    ),
    Row(
        "steer_rows_and_locks",
        {"suspension": STEERED_TABLE, "top": FRONT, "steering": '[steering]\nleft = "35 deg"\nright = "25 deg"'},
        "suspension.steer_rows",
        "steering.left",
        "steer 35 deg is outside the measured table, which runs from -25 deg to 30 deg",
    ),
    Row(
        "upside_down",
        with_("suspension", '"-118 mm", "148 mm"', '"-118 mm", "-148 mm"', WISHBONES),
        "suspension.upper_ball",
        "suspension.lower_ball",
        "upper_ball stands 20.0 mm (13/16 in) below lower_ball",
    ),
    Row(
        "inside_out",
        with_("suspension", '"150 mm", "-400 mm"', '"150 mm", "-40 mm"', WISHBONES),
        "suspension.lower_front",
        "suspension.lower_ball",
        "lower_front stands 22.0 mm (7/8 in) outboard of lower_ball",
    ),
    Row(
        "past_the_middle",
        with_("suspension", '"455 mm", "-250 mm"', '"455 mm", "-850 mm"', LINKS),
        "suspension.lower_body",
        "suspension.track",
        "past the middle of the car at 735.0 mm",
    ),
    Row(
        "in_the_wheel",
        with_("suspension", '"-15 mm", "-235 mm"', '"-15 mm", "235 mm"', LINKS),
        "suspension.lower_axle",
        "wheel.backspace",
        "lower_axle stands 235.0 mm (9 1/4 in) outboard of the hub's face, where the wheel is",
    ),
    Row(
        "spring_past_the_middle",
        with_("suspension", '"180 mm"', '"730 mm"', LEAF),
        "suspension.spring_inboard",
        "suspension.track",
        "past the middle of an axle",
    ),
    Row(
        "bar_and_track",
        with_("suspension", '"850 mm"', '"1500 mm"', BAR),
        "suspension.bar_length",
        "suspension.track",
        "does not go between hubs 1450.0 mm",
    ),
    Row(
        "bar_and_drop",
        with_("suspension", '"850 mm"\naxle_end_below = "20 mm"', '"300 mm"\naxle_end_below = "305 mm"', BAR),
        "suspension.axle_end_below",
        "suspension.bar_length",
        "a track bar of 300 mm cannot have ends 305 mm apart in height",
    ),
    Row(
        "arch_and_half",
        with_("suspension", '"80 mm"', '"320 mm"', LEAF),
        "suspension.arch",
        "suspension.half_length",
        "is more than half of the spring's half",
    ),
    Row(
        "clamp_and_half",
        with_("suspension", '"600 mm"', '"300 mm"', LEAF.replace('"100 mm"', '"310 mm"')),
        "suspension.clamp_length",
        "suspension.half_length",
        "is longer than the half of the spring that it leaves free",
    ),
    Row(
        "steep_swing_arm",
        {
            "suspension": SUSPENSION.replace("straight", "swing-arm")
            + '\nswing_arm = "600 mm"\ncentre_above = "650 mm"'
        },
        "suspension.centre_above",
        "suspension.swing_arm",
        "does not go with a swing arm of 600.0 mm",
    ),
    Row(
        "locks_and_rack",
        {"suspension": WISHBONES, "top": FRONT, "steering": '[steering]\nleft = "33 deg"\nrack_right = "60 mm"'},
        "steering.left",
        "steering.rack_right",
        "by lock angles and by rack travel at once",
    ),
    Row(
        "uncertainty_and_distance",
        {"part": PART.replace("165 mm", "45 mm") + '\nuncertainty = "50 mm"'},
        "part[1].uncertainty",
        "part[1].inboard",
        "says nothing of a distance of 45.0 mm",
    ),
    Row(
        "required_and_distance",
        {"part": PART + '\nrequired = "170 mm"'},
        "part[1].required",
        "part[1].inboard",
        "cannot be kept to what stands 165.0 mm",
    ),
    Row(
        "uncertainty_twice",
        {"part": PART + '\nuncertainty = "3 mm"', "more": '[uncertainty]\npart = { wall = "1.5 mm" }'},
        "uncertainty.part.wall",
        "part[1].uncertainty",
        "is good to 1.5 mm (1/16 in) here and to 3.0 mm",
    ),
    Row(
        "circle_twice",
        {
            "wheel": WHEEL + '\nbolt_circle = "5 x 114.3 mm"',
            "part": PART + '\n[[part]]\nname = "scan"\nkind = "mesh"\nfile = "scan.ply"\nunit = "m"\n'
            'place = { bolt_holes = [[0, 0, 0], [1, 0, 0], [0, 0, 1]], up = "+z", bolt_circle = "5 x 120 mm" }',
        },
        "part[2].place.bolt_circle",
        "wheel.bolt_circle",
        "the hub is 5 x 120 mm here and the wheel 5 x 114.3 mm",
    ),
    Row(
        "uncertainty_of_itself",
        {"wheel": WHEEL.replace("3 3/4 in", "60 mm"), "more": '[uncertainty]\nbackspace = "65 mm"'},
        "uncertainty.backspace",
        "wheel.backspace",
        "an uncertainty of 65 mm says nothing of 60 mm",
    ),
    Row(
        "seat_and_stud",
        {"more": '[order]\nstud_length = "25 mm"\nseat_depth = "1 in"'},
        "order.seat_depth",
        "order.stud_length",
        "no thread is left",
    ),
    Row(
        "spare_and_well",
        {"more": '[spare_well]\ndiameter = "690 mm"\ndepth = "150 mm"\nrequired = "160 mm"'},
        "spare_well.required",
        "spare_well.depth",
        "leaves nothing of a well 150.0 mm",
    ),
    Row(
        "duals_and_gap",
        {"more": '[duals]\nspacing = "150 mm"\nrequired = "160 mm"'},
        "duals.required",
        "duals.spacing",
        "leaves no room for tires whose middles are 150.0 mm",
    ),
    Row(
        "unknown_names",
        {"more": '[uncertainty]\npart = { wal = "1.5 mm" }'},
        "uncertainty.part.wal",
        "part",
        'there is no part "wal". Did you mean "wall"?',
    ),
    # what a part refuses of its own numbers names both as well
    Row(
        "box: min and max",
        {"part":
        '[[part]]\nname = "rail"\nkind = "box"\nmin = ["0 mm", "-200 mm", "0 mm"]\nmax = ["9 mm", "-250 mm", "9 mm"]'}, "part[1].max",
        "part[1].min",
        "the first must be the smaller of the two",
    ),
    Row(
        "wall: above and below",
        {"part": PART + '\nabove = "-50 mm"\nbelow = "20 mm"'},
        "part[1].above",
        "part[1].below",
        "nothing is left between",
    ),
    Row(
        "tub: bottom and crown",
        {"part": PART + TUB.replace('crown = "480 mm"', 'crown = { radius = "400 mm", centre = ["0 mm", "-150 mm"] }') + '\nbottom = "120 mm"'},
        "part[2].bottom",
        "part[2].crown",
        "is not below the crown",
    ),
    Row(
        "lip: from and to",
        {"part": PART + LIP + '\nfrom = "80 deg"\nto = "70 deg"'},
        "part[2].to",
        "part[2].from",
        "to must be the greater",
    ),
]  # fmt: skip

SAID = [
    Row(
        "face_outside_the_rim",
        {
            "wheel": '[wheel]\ndiameter = "16 in"\nwidth = "6 in"\noffset = "129 mm"\nbolt_circle = "8 x 165.1 mm"',
            "tire": '[tire]\nsize = "LT235/85R16"',
            "part": PART.replace("165", "300"),
        },
        "wheel.offset",
        "wheel.width",
        "only wheels for duals are like that",  # 88.9 + 129 = 217.9 of 177.8
    ),
    Row(
        "proud_face",
        {"wheel": WHEEL + '\nface = "8 in"'},
        "wheel.face",
        "wheel.backspace",
        "would stand 95.2 mm (3 3/4 in) out of the rim's outer flange",  # 203.2 - (203.2 - 95.25)
    ),
    Row(
        "chains_twice",
        {"tire": TIRE + '\nchains = "S"', "more": '[chains]\nclass = "U"'},
        "chains",
        "tire.chains",
        '"S" in [tire] and "U" in [chains]',
    ),
    Row(
        "load_and_marking",
        {"tire": '[tire]\nsize = "235/75R15 105S"', "more": '[load]\ncorner = "2100 kg"'},
        "load.corner",
        "tire.size",
        "2100 kg on this corner is more than the 925 kg that the tire carries",  # ISO 4000-1: index 105
    ),
    Row(
        "load_and_marking",
        {"tire": '[tire]\nsize = "235/75R15 105S"', "more": '[load]\nspeed = "200 km/h"'},
        "load.speed",
        "tire.size",
        "200 km/h is more than the 180 km/h of the tire's symbol",
    ),
    Row(
        "no_travel",
        with_("suspension", 'bump = "90 mm"\ndroop = "75 mm"', 'bump = "0 mm"\ndroop = "0 mm"'),
        "suspension.droop",
        "suspension.bump",
        "there is no travel",
    ),
    Row(
        "axle_that_does_not_tilt",
        {"part": PART + '\nrides_on = "axle"'},
        "suspension.kind",
        "part[1].rides_on",
        "an axle from wheel to wheel tilts besides",
    ),
    Row(
        "articulation_and_travel",
        {"suspension": LINKS + '\narticulation = "200 mm"'},
        "suspension.articulation",
        "suspension.bump",
        "bump and droop differ by at most 175.0 mm",  # 90 + 85
    ),
    Row(
        "other_wheel",
        {"suspension": LINKS + '\nother_bump = "25 mm"'},
        "suspension.other_bump",
        "suspension.bump",
        "the other wheel has 25.0 mm (1 in) of bump and this one 90.0 mm",
    ),
    Row(
        "row_out_of_line",
        with_("suspension", '"0.6 mm"', '"7 mm"', TABLE),
        "suspension.rows[5][2]",
        "suspension.rows[4][2]",
        "at bump 25 mm across is 7 mm",
    ),
    Row(
        "back_to_front",
        {
            "suspension": WISHBONES.replace("upper_front", "upper_x")
            .replace("upper_rear ", "upper_front")
            .replace("upper_x", "upper_rear")
        },
        "suspension.upper_front",
        "suspension.upper_rear",
        "upper_front stands 200.0 mm (7 7/8 in) behind upper_rear",
    ),
    Row(
        "tie_rod_inside_out",
        {
            "suspension": WISHBONES.replace("tie_inner  ", "tie_x").replace("tie_outer  ", "tie_inner").replace("tie_x", "tie_outer")
        },
        "suspension.tie_inner",
        "suspension.tie_outer",
        "tie_inner stands 274.0 mm",
    ),
    Row(
        "unlike_halves",
        with_("suspension", '"650 mm"', '"1300 mm"', LEAF),
        "suspension.rear_half_length",
        "suspension.half_length",
        "rear half is 1300.0 mm",
    ),
    Row(
        "unlike_locks",
        {"top": FRONT, "steering": STEERING.replace("33", "40").replace("28", "8")},
        "steering.left",
        "steering.right",
        "left is 40 deg and right 8 deg",
    ),
    Row(
        "rear_wheel_that_steers",
        {"steering": STEERING},
        "steering.left",
        "corner",
        "a rear wheel that steers 33 deg",
    ),
    Row(
        "scrub",
        {"top": FRONT, "steering": STEERING.replace("-95 mm", "-300 mm")},
        "steering.axis.through",
        "wheel.backspace",
        "inboard of the tire's middle",
    ),
    Row(
        "camber_in_bump",
        {"suspension": SUSPENSION + '\ncamber = "-5 deg"\ncamber_per_100mm = "-12 deg"'},
        "suspension.camber_per_100mm",
        "suspension.bump",
        "the wheel would lean -15.8 deg",  # 5 + 0.9 x 12
    ),
    Row(
        "short_bar",
        {
            "part": PART
            + '\n[[part]]\nname = "shock"\nkind = "bar"\ndiameter = "60 mm"\n'
            'points = [["-4 in", "-9 in", "-3 in"], ["-4.5 in", "-9.1 in", "-1.5 in"]]'
        },
        "part[2].diameter",
        "part[2].points",
        "60.0 mm (2 3/8 in) thick and 40.2 mm",  # sqrt(0.5^2 + 0.1^2 + 1.5^2) = 1.584 in
    ),
    Row(
        "same_twice",
        {"part": PART + "\n" + PART.replace('"wall"\nkind', '"other wall"\nkind')},
        "part[2]",
        "part[1]",
        '"other wall" has every number of "wall"',
    ),
    Row(
        "title_and_corner",
        {"top": 'title = "Plain car, front left"\ncorner = "rear-left"'},
        "corner",
        "title",
        "the title says front-left, and corner rear-left",
    ),
    Row(
        "more_than_there_is",
        {"more": '[limits]\nbump_stop = "100 mm"'},
        "limits.bump_stop",
        "suspension.bump",
        "may be given up, and there are 90.0 mm",
    ),
    Row(
        "camber_and_limit",
        {
            "suspension": SUSPENSION + '\ncamber = "-2.5 deg"',
            "more": '[limits]\ncamber = { least = "-1 deg", most = "1 deg" }',
        },
        "limits.camber",
        "suspension.camber",
        "and the corner has -2.5 deg",
    ),
    Row(
        "step_and_limit",
        {"more": '[limits]\nspacer = "4 mm"\n[sold]\nspacer = ["5 mm", "8 mm"]'},
        "sold.spacer",
        "limits.spacer",
        "the smallest step, 5, is more than all that may be changed, 4",
    ),
    Row(
        "sides_apart",
        {"more": '[tape]\nhub_to_spring = "149 mm"\n[opposite]\nhub_to_spring = "210 mm"'},
        "opposite.hub_to_spring",
        "tape.hub_to_spring",
        "210.0 mm (8 1/4 in) on the other side and 149.0 mm",
    ),
    Row(
        "past_the_travel",
        {"more": '[load_states]\ntowing = "-100 mm"'},
        "load_states.towing",
        "suspension.bump",
        "there are 90.0 mm (3 9/16 in) of bump",
    ),
    Row(
        "wall_in_the_tire",
        with_("part", "165 mm", "100 mm"),
        "part[1].inboard",
        "wheel.backspace",
        "would touch at ride height, by up to 13.7 mm",  # (235 + 0.4 x 12.7) / 2 - 6.35 - 100, UN R30
    ),
    Row(
        "tub_in_the_tire",
        {"part": PART + TUB.replace("480 mm", "350 mm")},
        "part[2].crown",
        "tire.size",
        "by up to 16.5 mm",  # 733 / 2 - 350, UN R30
    ),
    Row(
        "tub_in_the_tire",
        {"part": PART + TUB + '\nfront = "300 mm"'},
        "part[2].front",
        "tire.size",
        "by up to 66.5 mm",
    ),
    Row(
        "lip_in_the_tire",
        {"part": PART + LIP.replace("200 mm", "60 mm").replace("430 mm", "350 mm")},
        "part[2].radius",
        "tire.size",
        "by up to 16.5 mm",
    ),
]  # fmt: skip


def written(changed: dict[str, str]) -> str:
    return "\n\n".join(text for text in (SECTIONS | changed).values() if text) + "\n"


def line(text: str, key: str) -> int:
    """Where a key stands, found by its words and not by what the refusal says."""
    return {path_text(path): at for path, at in lines_of(text).items()}[key]


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    return tmp_path


def test_the_plain_file_is_without_contradiction(folder):
    (folder / "plain.toml").write_text(written({}), encoding="utf-8")
    assert load(folder / "plain.toml").warnings == ()


@pytest.mark.parametrize("base", [WISHBONES, LINKS, LEAF, BAR, TABLE, STEERED_TABLE])
def test_the_suspensions_that_the_rows_change_are_without_contradiction(folder, base):
    (folder / "plain.toml").write_text(written({"suspension": base}), encoding="utf-8")
    assert [words for words in load(folder / "plain.toml").warnings if words.startswith("line ")] == []


@pytest.mark.parametrize("row", REFUSED, ids=lambda row: f"{row.rule}-{row.at}")
def test_a_contradiction_is_refused_with_both_lines(folder, row):
    text = written(row.changed)
    (folder / "bad.toml").write_text(text, encoding="utf-8")
    with pytest.raises(CornerFileError) as refused:
        load(folder / "bad.toml")
    said = refused.value
    assert (said.key, said.line) == (row.at, line(text, row.at))
    first, last = said.message.splitlines()
    assert row.words in first
    assert last == f"It contradicts {row.against}, line {line(text, row.against)}."


@pytest.mark.parametrize("row", SAID, ids=lambda row: f"{row.rule}-{row.at}")
def test_what_is_odd_and_can_be_is_said_first_with_both_lines(folder, row):
    text = written(row.changed)
    (folder / "odd.toml").write_text(text, encoding="utf-8")
    head = f"line {line(text, row.at)}, {row.at} and line {line(text, row.against)}, {row.against}: "
    warnings = load(folder / "odd.toml").warnings
    found = [words for words in warnings if words.startswith(head)]
    assert found, warnings
    assert any(row.words in words for words in found), found
    assert warnings[0].startswith("line ")


def test_every_rule_has_its_row():
    rules = {rule.__name__ for rule in (*WRITTEN, *clash_wheel.AFTER, *clash_well.AFTER)}
    tried = {row.rule for row in (*REFUSED, *SAID)}
    assert sorted(rules - tried) == []
    assert len({row.rule for row in REFUSED if row.rule in rules}) >= 25


# ---- near misses: what is rare and true must pass


@pytest.mark.parametrize(
    "changed",
    [
        # a deep-dished 10 in rim, its face 5.5 in from the inner edge less 44 mm
        {"wheel": '[wheel]\ndiameter = "15 in"\nwidth = "10 in"\noffset = "-44 mm"', "part": PART.replace("165", "300")},
        # studs of 5 x 205 mm round a bore of 160 mm, as on a rear-engined car of 1960
        {"wheel": WHEEL + '\nbolt_circle = "5 x 205 mm"\ncenter_bore = "160 mm"'},
        # a tire stretched onto a wide rim: 195 on 9 in, 0.85 of the rim's width as mounted
        {
            "tire": '[tire]\nsize = "195/45R15"\nsection_width = "215 mm"',
            "wheel": '[wheel]\ndiameter = "15 in"\nwidth = "9 in"\noffset = "10 mm"',
        },
        # a rim of 15 x 15, and its tire
        {
            "tire": '[tire]\noverall_diameter = "30 in"\nsection_width = "18 in"\ntread_width = "15 in"',
            "wheel": '[wheel]\ndiameter = "15 in"\nwidth = "15 in"\nbackspace = "4 in"',
            "part": PART.replace("165", "300"),
        },
        # the truck sizes that are numbers: 11R22.5 on 8.25
        {
            "tire": '[tire]\nsize = "11R22.5"',
            "wheel": '[wheel]\ndiameter = "22.5 in"\nwidth = "8.25 in"\noffset = "60 mm"\nbolt_circle = "10 x 335 mm"\ncenter_bore = "281 mm"',
            "part": PART.replace("165", "300"),
        },
        # an apron that ends above the hub does not stand before the wheel's whole face, and may be close
        {"part": PART + '\nbelow = "-40 mm"'},
    ],
)  # fmt: skip
def test_what_is_rare_and_true_is_not_refused(folder, changed):
    (folder / "rare.toml").write_text(written(changed), encoding="utf-8")
    assert load(folder / "rare.toml").parts


def test_a_measured_table_with_a_millimetre_of_noise_is_in_line(folder):
    """The tape errs by a millimetre and the angle finder by a tenth of a degree: 40 tables, none of them doubted."""
    rng = np.random.default_rng(7)
    cells = re.findall(r'"(-?[\d.]+) (mm|deg)"', TABLE.split("rows")[1])
    for _ in range(40):
        noisy = iter(
            f'"{float(number) + (rng.uniform(-1, 1) if unit == "mm" else rng.uniform(-0.1, 0.1)) * (k % 5 > 0):.2f} {unit}"'
            for k, (number, unit) in enumerate(cells)
        )
        head, rows = TABLE.split("rows")
        text = head + "rows" + re.sub(r'"-?[\d.]+ (mm|deg)"', lambda _, noisy=noisy: next(noisy), rows)
        (folder / "noisy.toml").write_text(written({"suspension": text}), encoding="utf-8")
        assert [words for words in load(folder / "noisy.toml").warnings if "rows" in words] == []


def test_five_rows_one_of_which_has_lost_its_point_are_refused(folder):
    """Too few to say which of them it is, but not to say that they lie on no one curve."""
    five = TABLE.replace('    ["-75 mm", "-6.9 mm", "1.5 mm", "0.75 deg", "0.15 deg"],\n', "")
    five = five.replace('"75 mm"', '"50 mm"')
    assert five.count('"],') == 5
    (folder / "five.toml").write_text(written({"suspension": five}), encoding="utf-8")
    assert load(folder / "five.toml").suspension.uncertainty_mm < 2.0
    (folder / "slip.toml").write_text(written({"suspension": five.replace('"0.6 mm"', '"-60 mm"')}), encoding="utf-8")
    with pytest.raises(CornerFileError, match="from any smooth curve") as refused:
        load(folder / "slip.toml")
    assert refused.value.key == "suspension.rows"


def test_the_row_that_began_this_is_refused(folder):
    """-50 for -0.5 mm, in the shipped roadster's last row."""
    text = (Path(__file__).parents[2] / "fixtures" / "corners" / "heron-roadster-front.toml").read_text(
        encoding="utf-8"
    )
    bad = text.replace('["70 mm", "-0.5 mm"', '["70 mm", "-50 mm"')
    assert bad != text
    (folder / "row.toml").write_text(bad, encoding="utf-8")
    with pytest.raises(CornerFileError) as refused:
        load(folder / "row.toml")
    assert refused.value.key == "suspension.rows[7][2]"
    assert "at bump 70 mm across is -50 mm" in refused.value.message


def test_what_the_interview_takes_the_file_takes():
    """The letters of the measuring sheet have no ends that are wider than those of their keys."""
    key_of = {
        "B": families.OVERALL_DIAMETER, "C": families.SECTION_WIDTH, "D": families.TREAD_WIDTH,
        "G": families.BACKSPACE, "J": families.TRAVEL, "K": families.TRAVEL, "L": families.LOCK, "M": families.LOCK,
        "P": families.INCLINATION, "Q": families.CASTER, "R": families.ACROSS_WELL, "S": families.EDGE,
        "T": families.ARCH_RADIUS, "U": families.RETURN_DEPTH, "V": families.CROWN_HEIGHT, "W": families.END_SHEET,
        "X": families.END_SHEET, "Y": families.ACROSS_WELL,
    }  # fmt: skip
    tried = 0
    for name in CARRIERS:
        for letter in form_of(name).letters:
            ends = key_of.get(letter.letter)
            if ends is not None and letter.ends is not None:
                assert ends.least <= letter.ends.least < letter.ends.most <= ends.most, letter.letter
                tried += 1
    assert tried > 30


@pytest.mark.parametrize(
    ("tire", "key", "words"),
    [
        ('size = "455/95R30"', "tire.size", "no road vehicle passes 380 mm to 1500 mm"),
        ('shape = { file = "trace.csv", unit = "in" }', "tire.shape.file", "no road vehicle passes 380 mm to 1500 mm"),
    ],
)
def test_dimensions_that_nobody_wrote_have_ends_too(folder, tire, key, words):
    """A marking of 762 + 2 x 0.95 x 455 mm; and a section traced in millimetres, called inches."""
    rows = ["across,radius", "79,211", "102,259", "99,292", "81,312", "0,318"]
    (folder / "trace.csv").write_text("\n".join(rows), encoding="utf-8")
    wheel = WHEEL.replace("15 in", "30 in").replace('"7 in"', '"12 in"') if "R30" in tire else WHEEL
    changed = {"tire": f"[tire]\n{tire}", "wheel": wheel}
    (folder / "tire.toml").write_text(written(changed), encoding="utf-8")
    with pytest.raises(CornerFileError) as refused:
        load(folder / "tire.toml")
    assert refused.value.key == key
    assert words in refused.value.message
    meant = tire.replace('"in"', '"mm"').replace("455/95", "255/45")
    (folder / "tire.toml").write_text(written(changed | {"tire": f"[tire]\n{meant}"}), encoding="utf-8")
    assert load(folder / "tire.toml").tire.overall_diameter_mm < 1000


# ---- a sign where none belongs


@pytest.mark.parametrize(
    ("changed", "key", "words"),
    [
        (
            {"part": PART + TUB + '\nbottom = "-120 mm"'},
            "part[2].bottom",
            '"-120 mm" is below zero. "bottom" is a distance without a sign: how far below the hub the sheets end.'
            ' Write "120 mm".',
        ),
        (
            with_("suspension", '"75 mm"', '"-75 mm"'),
            "suspension.droop",
            '"-75 mm" is below zero. "droop" is a distance without a sign: ride height down to full droop, at the wheel.'
            ' Write "75 mm".',
        ),
        (
            {"part": PART + TUB + '\nrear = "-340 mm"'},
            "part[2].rear",
            '"-340 mm" is below zero. "rear" is a distance without a sign: the rear sheet, behind the hub. Write "340 mm".',
        ),
        (
            {"suspension": LINKS.replace('"1470 mm"', '"-1470 mm"')},
            "suspension.track",
            '"-1470 mm" is below zero. "track" is a distance without a sign: hub face to hub face, across the axle.'
            ' Write "1470 mm".',
        ),
        (
            {"more": '[limits]\nspacer = "-25 mm"'},
            "limits.spacer",
            '"-25 mm" is below zero. "spacer" is a distance without a sign: the thickest spacer. Write "25 mm".',
        ),
    ],
)
def test_a_sign_where_none_belongs_says_which_way_the_key_goes_and_what_to_write(folder, changed, key, words):
    (folder / "sign.toml").write_text(written(changed), encoding="utf-8")
    with pytest.raises(CornerFileError) as refused:
        load(folder / "sign.toml")
    assert (refused.value.key, refused.value.message) == (key, words)


def test_a_sign_that_may_be_written_says_what_it_was_taken_for(folder):
    """A wall that ends above the hub can be; that it does is said, for who meant below."""
    text = written({"part": PART + '\nbelow = "-320 mm"'})
    (folder / "sign.toml").write_text(text, encoding="utf-8")
    (said,) = load(folder / "sign.toml").warnings
    assert said.startswith(
        f"line {line(text, 'part[1].below')}, part[1].below: a way below the hub of -320 mm is unusual"
    )
    assert "A minus sign ends it above the hub." in said
    assert 'Did you mean "320 mm"?' in said
