"""Every field of a corner file, wrong in one way: the line, the key and the words of the refusal.

Each row changes one thing in good.toml. The words are the whole first line of the message, as a user reads it.
"""

# ruff: noqa: E501 - the words of a refusal stand on one line, as the terminal shows them

from __future__ import annotations

import shutil
from pathlib import Path
from typing import NamedTuple

import pytest

from clearance.description.load import load
from clearance.errors import CornerFileError

HERE = Path(__file__).parent
GOOD = (HERE / "good.toml").read_text(encoding="utf-8")


class Bad(NamedTuple):
    """One thing changed, and what must be said about it."""

    good: str
    bad: str
    line: int
    key: str
    words: str


# fmt: off
TABLE = [
    Bad(
        'corner = "rear-left"',
        'corner = "rear left"',
        2,
        'corner',
        '"rear left" is not a corner. Did you mean "rear-left"?',
    ),
    Bad(
        'corner = "rear-left"',
        'corner = "middle"',
        2,
        'corner',
        '"middle" is not a corner. Write "front-left", "front-right", "rear-left" or "rear-right".',
    ),
    Bad(
        'corner = "rear-left"',
        'corner = 4',
        2,
        'corner',
        '4 is not a corner. Write "front-left", "front-right", "rear-left" or "rear-right".',
    ),
    Bad(
        'corner = "rear-left"\n',
        '',
        1,
        'corner',
        '"corner" is missing: which wheel this is. Write "front-left", "front-right", "rear-left" or "rear-right".',
    ),
    Bad(
        'title = "Plain corner"',
        'title = 12',
        1,
        'title',
        '12 is not a title. Write some words between quotes.',
    ),
    Bad(
        'title = "Plain corner"',
        'titel = "Plain corner"',
        1,
        'titel',
        'the key "titel" is not known here. Did you mean "title"?',
    ),
    Bad(
        '[limits]',
        '[limit]',
        77,
        'limit',
        'the section "limit" is not known here. Did you mean "limits"?',
    ),
    Bad(
        'title = "Plain corner"',
        'title = "Plain corner',
        1,
        '',
        'this is not TOML: there is a sign here that no text may have, or a line ends inside quotes.'
        ' The line reads: title = "Plain corner',
    ),
    Bad(
        'bump = "90 mm"',
        'bump = 90 mm',
        18,
        '',
        'a measure stands between quotes: write bump = "90 mm"',
    ),
    Bad(
        'bump = "90 mm"',
        'bump = 3 1/2 in',
        18,
        '',
        'a measure stands between quotes: write bump = "3 1/2 in"',
    ),
    Bad(
        'bump = "90 mm"',
        'bump "90 mm"',
        18,
        '',
        'this is not TOML: a key needs = and a value after it. The line reads: bump "90 mm"',
    ),
    Bad(
        'bump = "90 mm"',
        'bump = "90 mm"\nbump = "80 mm"',
        19,
        '',
        'this key stands here for the second time. Keep one of the two.',
    ),
    Bad(
        '[steering]',
        '[wheel]',
        23,
        '',
        'this section stands here for the second time. Keep one, or use [[part]] for a list.',
    ),
    Bad(
        '[steering]',
        '[[part]',
        23,
        '',
        "this is not TOML: a [[part]] needs both closing brackets. The line reads: [[part]",
    ),
    Bad(
        '[wheel]\n',
        '[wheels]\n',
        10,
        'wheels',
        'the section "wheels" is not known here. Did you mean "wheel"?',
    ),
    Bad(
        'diameter = "15 in"',
        'diameter = 15',
        11,
        'wheel.diameter',
        '15 has no unit. Write "15 mm" or "15 in".',
    ),
    Bad(
        'diameter = "15 in"',
        'diameter = "15"',
        11,
        'wheel.diameter',
        '\'15\' has no unit. Write "15 mm" or "15 in".',
    ),
    Bad(
        'diameter = "15 in"',
        'diameter = "15 furlongs"',
        11,
        'wheel.diameter',
        "'15 furlongs': the unit 'furlongs' is not known for a length. Use one of cm, ft, in, m, mm.",
    ),
    Bad(
        'diameter = "15 in"',
        'diameter = "15 mm"',
        11,
        'wheel.diameter',
        'a rim diameter of 15 mm: no road vehicle passes 203 mm to 762 mm. Check the number and its unit. Did you mean "15 in"?',
    ),
    Bad(
        'diameter = "15 in"',
        'diameter = "16 in"',
        5,
        'tire.size',
        'a tire for a 15 in rim does not go on a 16 in wheel. Correct this, or diameter in [wheel].',
    ),
    Bad(
        'diameter = "15 in"',
        'diamter = "15 in"',
        11,
        'wheel.diamter',
        'the key "diamter" is not known here. Did you mean "diameter"?',
    ),
    Bad(
        'width = "7 in"',
        'width = "7 mm"',
        12,
        'wheel.width',
        'a rim width of 7 mm: no road vehicle passes 50.8 mm to 508 mm. Check the number and its unit. Did you mean "7 in"?',
    ),
    Bad(
        'width = "7 in"\n',
        '',
        10,
        'wheel.width',
        '"width" is missing: between the flanges, where the beads sit; not over all. Write width = "7 in".',
    ),
    Bad(
        'width = "7 in"',
        'width = nan',
        12,
        'wheel.width',
        'nan is not a length. Write "120 mm" or "4 3/4 in".',
    ),
    Bad(
        'width = "7 in"',
        'width = true',
        12,
        'wheel.width',
        'true is not a length. Write "120 mm" or "4 3/4 in".',
    ),
    Bad(
        'width = "7 in"',
        'width = "7 1/0 in"',
        12,
        'wheel.width',
        "'7 1/0 in' divides by zero.",
    ),
    Bad(
        'backspace = "3 3/4 in"',
        'backspace = "3 3/4 in"\noffset = "-10 mm"',
        14,
        'wheel.offset',
        'backspace and offset disagree: a backspace of 95.2 mm (3 3/4 in) on a rim 203.2 mm (8 in) wide over all is an offset of -6.3 mm; found -10 mm. Leave one out.',
    ),
    Bad(
        'backspace = "3 3/4 in"\n',
        '',
        10,
        'wheel.backspace',
        "where the hub's face lies in the wheel is missing. Write backspace (mounting face to the inner flange edge) or offset (mounting face to the rim's centre plane, positive inset).",
    ),
    Bad(
        'backspace = "3 3/4 in"',
        'backspace = "3 3/4 m"',
        13,
        'wheel.backspace',
        'a backspace of 3 3/4 m: no road vehicle passes 0 m to 0.35 m. Check the number and its unit. Did you mean "3 3/4 in"?',
    ),
    Bad(
        'backspace = "3 3/4 in"',
        'backspace = "3 3/4 in"\nflange_thickness = "-12 mm"',
        14,
        'wheel.flange_thickness',
        '"-12 mm" must be more than zero.',
    ),
    Bad(
        'backspace = "3 3/4 in"',
        'backspace = "3 3/4 in"\nbarrel_inner_diameter = "15 in"',
        14,
        'wheel.barrel_inner_diameter',
        'a barrel 381 mm inside does not fit in a rim whose bead seats are 380.2 mm. Measure the smallest inside diameter behind the wheel face.',
    ),
    Bad(
        'bolt_circle = "5 x 4.5 in"',
        'bolt_circle = "4.5 in"',
        14,
        'wheel.bolt_circle',
        '"4.5 in" is not a bolt circle. Write "5 x 4.5 in" or "5 x 114.3 mm".',
    ),
    Bad(
        'bolt_circle = "5 x 4.5 in"',
        'bolt_circle = "5 x 40"',
        14,
        'wheel.bolt_circle',
        '\'40\' is no bolt circle in either unit. Write "4.5 in" or "114.3 mm".',
    ),
    Bad(
        'bolt_circle = "5 x 4.5 in"',
        'bolt_circle = "2 x 4.5 in"',
        14,
        'wheel.bolt_circle',
        'a bolt circle\'s count of 2: no wheel passes 3 to 12. Check the number.',
    ),
    Bad(
        'size = "235/75R15"',
        'size = "235-75-15-x"',
        5,
        'tire.size',
        '\'235-75-15\' can be read in two ways: "235/75R15", radial, or "235/75-15", bias. Write the one that you mean.',
    ),
    Bad(
        'size = "235/75R15"',
        'size = "235/75R16"',
        5,
        'tire.size',
        'a tire for a 16 in rim does not go on a 15 in wheel. Correct this, or diameter in [wheel].',
    ),
    Bad(
        'size = "235/75R15"',
        'sise = "235/75R15"',
        5,
        'tire.sise',
        'the key "sise" is not known here. Did you mean "size"?',
    ),
    Bad(
        'overall_diameter = "28 7/8 in"',
        'overall_diameter = "28 7/8 mm"',
        6,
        'tire.overall_diameter',
        'an overall diameter of 28 7/8 mm: no road vehicle passes 380 mm to 1500 mm. Check the number and its unit. Did you mean "28 7/8 in"?',
    ),
    Bad(
        'overall_diameter = "28 7/8 in"',
        'overall_diameter = "0 in"',
        6,
        'tire.overall_diameter',
        '"0 in" must be more than zero.',
    ),
    Bad(
        'section_width = "239 mm"',
        'section_width = "180 mm"',
        8,
        'tire.tread_width',
        'the tread, 188.0 mm (7 3/8 in), is not narrower than the section, 180.0 mm (7 1/16 in). Measure the tread to where the shoulders begin to fall away.',
    ),
    Bad(
        'section_width = "239 mm"',
        'section_width = "239"',
        7,
        'tire.section_width',
        '\'239\' has no unit. Write "239 mm" or "239 in".',
    ),
    Bad(
        'section_width = "239 mm"',
        'measured_on = "6.5 in"',
        7,
        'tire.measured_on',
        'measured_on says where section_width was measured: write that too.',
    ),
    Bad(
        'size = "235/75R15"\noverall_diameter = "28 7/8 in"',
        'section = "wide"',
        5,
        'tire.section',
        'the key "section" is not known here. Did you mean "section_width"?',
    ),
    Bad(
        'size = "235/75R15"\n',
        'rim_diameter = "14 in"\n',
        5,
        'tire.rim_diameter',
        'a tire for a 14 in rim does not go on a 15 in wheel. Correct this, or diameter in [wheel].',
    ),
    Bad(
        'tread_width = "188 mm"',
        'tread_width = "188 mm"\nshape = "rond"',
        9,
        'tire.shape',
        '"rond" is not a shape. Did you mean "round"?',
    ),
    Bad(
        'tread_width = "188 mm"',
        'tread_width = "188 mm"\nshape = "section.csv"',
        9,
        'tire.shape',
        '"section.csv" is not a shape. Write { file = "section.csv", unit = "mm" } for a traced section.',
    ),
    Bad(
        'tread_width = "188 mm"',
        'tread_width = "188 mm"\nshape = { file = "no-section.csv", unit = "mm" }',
        9,
        'tire.shape.file',
        'there is no file no-section.csv. Put it beside the corner file.',
    ),
    Bad(
        'tread_width = "188 mm"',
        'tread_width = "188 mm"\ngrowth = "in service"',
        9,
        'tire.growth',
        '"in service" is not a growth. Did you mean "in-service"? Or write { width = "4 mm", diameter = "8 mm" }.',
    ),
    Bad(
        'tread_width = "188 mm"',
        'tread_width = "188 mm"\ngrowth = { width = "-4 mm" }',
        9,
        'tire.growth.width',
        '"-4 mm" is below zero. "width" is a distance without a sign: added to the section width. Write "4 mm".',
    ),
    Bad(
        'tread_width = "188 mm"',
        'tread_width = "188 mm"\nchains = "X"',
        9,
        'tire.chains',
        '"X" is not a class of chain. Write "S", "U" or "W" (SAE J1232), or its room.',
    ),
    Bad(
        'tread_width = "188 mm"',
        'tread_width = "188 mm"\nchains = { tread = "20 mm" }',
        9,
        'tire.chains.side',
        '"side" is missing: room over each side wall. Write side = "120 mm".',
    ),
    Bad(
        'kind = "straight"',
        'kind = "strait"',
        17,
        'suspension.kind',
        '"strait" is not a kind of suspension. Did you mean "straight"?',
    ),
    Bad(
        'kind = "straight"\n',
        '',
        16,
        'suspension.kind',
        '"kind" is missing. Write one of straight, table, double-wishbone, strut, multi-link, trailing-arm, semi-trailing-arm, swing-axle, twin-beam, swing-arm, four-link, three-link, watts-link, torque-arm, truck-arm, de-dion, leaf-spring, leaf-arc, solid-steer-axle, track-bar, axle-by-travel, wheel-by-travel, standing.',
    ),
    Bad(
        'kind = "straight"',
        'kind = "table"',
        20,
        'suspension.camber',
        'the key "camber" is not known to suspension "table". Known here: kind, bump, droop, other_bump, other_droop, articulation, shift, rows, steer_rows.',
    ),
    Bad(
        'bump = "90 mm"\n',
        '',
        16,
        'suspension.bump',
        '"bump" is missing: ride height up to the bump stop, at the wheel. Write bump = "120 mm".',
    ),
    Bad(
        'bump = "90 mm"',
        'bump = "-90 mm"',
        18,
        'suspension.bump',
        '"-90 mm" is below zero. "bump" is a distance without a sign: ride height up to the bump stop, at the wheel. Write "90 mm".',
    ),
    Bad(
        'bump = "90 mm"',
        'bump = "90 in"',
        18,
        'suspension.bump',
        'a wheel\'s travel of 90 in: no road vehicle passes 0 in to 23.6 in. Check the number and its unit. Did you mean "90 mm"?',
    ),
    Bad(
        'bump = "90 mm"',
        'bump = "9e999 mm"',
        18,
        'suspension.bump',
        "'9e999 mm': the unit 'e999 mm' is not known for a length. Use one of cm, ft, in, m, mm.",
    ),
    Bad(
        'bump = "90 mm"',
        'bump = inf',
        18,
        'suspension.bump',
        'inf is not a length. Write "120 mm" or "4 3/4 in".',
    ),
    Bad(
        'droop = "75 mm"',
        'droop = "-75 mm"',
        19,
        'suspension.droop',
        '"-75 mm" is below zero. "droop" is a distance without a sign: ride height down to full droop, at the wheel. Write "75 mm".',
    ),
    Bad(
        'camber = "-1 deg"',
        'camber = "-1 mm"',
        20,
        'suspension.camber',
        "'-1 mm': the unit 'mm' is not known for an angle. Use one of deg, rad.",
    ),
    Bad(
        'camber = "-1 deg"',
        'cambre = "-1 deg"',
        20,
        'suspension.cambre',
        'the key "cambre" is not known to suspension "straight". Did you mean "camber"?',
    ),
    Bad(
        'camber = "-1 deg"',
        'other_bump = "60 mm"',
        20,
        'suspension.other_bump',
        'suspension "straight" is not moved by the other wheel: leave other_bump out, or name a live axle.',
    ),
    Bad(
        'shift = { inboard = "6 mm" }',
        'shift = { inbord = "6 mm" }',
        21,
        'suspension.shift.inbord',
        'the key "inbord" is not known here. Did you mean "inboard"?',
    ),
    Bad(
        'shift = { inboard = "6 mm" }',
        'shift = "6 mm"',
        21,
        'suspension.shift',
        '"6 mm" is not a table. Write { inboard = ..., outboard = ..., ahead = ... }.',
    ),
    Bad(
        'left = "33 deg"',
        'left = "-33 deg"',
        24,
        'steering.left',
        '"-33 deg" is below zero. "left" is an angle without a sign: this wheel\'s angle at full left lock, as a turn plate reads it. Write "33 deg".',
    ),
    Bad(
        'left = "33 deg"',
        'left = "133 deg"',
        24,
        'steering.left',
        'a lock angle of 133 deg: no road vehicle passes 0 deg to 65 deg. Check the number and its unit.',
    ),
    Bad(
        'left = "33 deg"',
        'left = 33',
        24,
        'steering.left',
        '33 has no unit. Write "33 deg" or "33 rad".',
    ),
    Bad(
        'left = "33 deg"',
        'lefft = "33 deg"',
        24,
        'steering.lefft',
        'the key "lefft" is not known to [steering]. Did you mean "left"?',
    ),
    Bad(
        'axis = { through',
        '# axis = { through',
        23,
        'steering.axis',
        '"axis" is missing: what the wheel steers about. Write axis = { through = ["0 mm", "-95 mm", "0 mm"], inclination = "8 deg", caster = "3 deg" }.',
    ),
    Bad(
        '"-95 mm", "0 mm"], incl',
        '"-95 mm"], incl',
        26,
        'steering.axis.through',
        'a point is [ahead, outboard, above], 3 lengths; found 2. Write ["40 mm", "-95 mm", "120 mm"].',
    ),
    Bad(
        ', caster = "3 deg"',
        '',
        26,
        'steering.axis.caster',
        '"caster" is missing: how far its top leans back, seen from the side. Write caster = "8 deg".',
    ),
    Bad(
        'name = "rail"',
        'name = "inner wall"',
        34,
        'part[2].name',
        'the name "inner wall" is taken by part[1]. Give every part a name of its own.',
    ),
    Bad(
        'name = "rail"\n',
        '',
        33,
        'part[2].name',
        '"name" is missing: what the findings call it; yours to choose. Write name = "frame rail".',
    ),
    Bad(
        'name = "rail"',
        'name = ""',
        34,
        'part[2].name',
        'the text is empty. Write something between the quotes.',
    ),
    Bad(
        'name = "rail"',
        'name = "ra\\nil"',
        34,
        'part[2].name',
        'the name has a line break, a tab or another sign that cannot be printed. Leave it out.',
    ),
    Bad(
        'kind = "wall"',
        'kind = "wal"',
        30,
        'part[1].kind',
        '"wal" is not a kind of part. Did you mean "wall"?',
    ),
    Bad(
        'kind = "wall"\n',
        '',
        28,
        'part[1].kind',
        '"kind" is missing. Write one of wall, plate, box, bar, cylinder, tub, lip, mesh.',
    ),
    Bad(
        'inboard = "165 mm"',
        'inboard = "165"',
        31,
        'part[1].inboard',
        '\'165\' has no unit. Write "165 mm" or "165 in".',
    ),
    Bad(
        'inboard = "165 mm"',
        'inboard = "-165 mm"',
        31,
        'part[1].inboard',
        '"-165 mm" is below zero. "inboard" is a distance without a sign: of the hub face, toward the middle of the car. Write "165 mm".',
    ),
    Bad(
        'inboard = "165 mm"',
        'inbord = "165 mm"',
        31,
        'part[1].inbord',
        'the key "inbord" is not known here. Did you mean "inboard"?',
    ),
    Bad(
        'inboard = "165 mm"\n',
        '',
        28,
        'part[1].inboard',
        'a wall needs its distance from the hub face: inboard (toward the middle of the car) or outboard.',
    ),
    Bad(
        'inboard = "165 mm"',
        'inboard = "165 mm"\noutboard = "20 mm"',
        31,
        'part[1].inboard',
        'a wall stands on one side of the hub face: write inboard (toward the middle of the car) or outboard, not both.',
    ),
    Bad(
        'inboard = "165 mm"',
        'inboard = "165 mm"\nabove = "-50 mm"\nbelow = "20 mm"',
        32,
        'part[1].above',
        "nothing is left between below 20 mm and above -50 mm: above must reach further than below allows. Both are measured from the hub's centre, away from each other.",
    ),
    Bad(
        'inboard = "165 mm"',
        'inboard = "165 mm"\nrequired = "-5 mm"',
        32,
        'part[1].required',
        '"-5 mm" is below zero. "required" is a distance without a sign: the gap that it must keep. Write "5 mm".',
    ),
    Bad(
        'inboard = "165 mm"',
        'inboard = "165 mm"\nrides_on = "bodi"',
        32,
        'part[1].rides_on',
        'nothing here is called "bodi" for a part to ride on. Did you mean "body"?',
    ),
    Bad(
        'inboard = "165 mm"',
        'inboard = "165 m"',
        31,
        'part[1].inboard',
        'a distance inboard of the hub face of 165 m: no road vehicle passes 0 m to 1.3 m. Check the number and its unit. Did you mean "165 mm"?',
    ),
    Bad(
        'min = ["-500 mm", "-300 mm", "100 mm"]',
        'min = ["-500 mm", "-200 mm", "100 mm"]',
        37,
        'part[2].max',
        'min is -200 mm outboard and max is -250 mm: the first must be the smaller of the two.',
    ),
    Bad(
        'min = ["-500 mm", "-300 mm", "100 mm"]',
        'min = ["-500 mm", "-300 mm"]',
        36,
        'part[2].min',
        'a point is [ahead, outboard, above], 3 lengths; found 2. Write ["40 mm", "-95 mm", "120 mm"].',
    ),
    Bad(
        'min = ["-500 mm", "-300 mm", "100 mm"]',
        'min = ["-500 mm", -300, "100 mm"]',
        36,
        'part[2].min',
        'outboard: -300 has no unit. Write "-300 mm" or "-300 in".',
    ),
    Bad(
        'about = "above"',
        'about = "up"',
        38,
        'part[2].turn.about',
        '"up" cannot be used here. Write "ahead", "outboard" or "above".',
    ),
    Bad(
        'points = [["-90 mm", "-240 mm", "-70 mm"], ',
        'points = [',
        43,
        'part[3].points',
        'a bar runs through two points or more; found 1.',
    ),
    Bad(
        'points = [["-90 mm", "-240 mm", "-70 mm"], ',
        'points = [["-200 mm", "-280 mm", "350 mm"], ',
        43,
        'part[3].points',
        'points 1 and 2 of the bar are the same point: leave one out.',
    ),
    Bad(
        'diameter = "60 mm"',
        'diameter = "0 mm"',
        44,
        'part[3].diameter',
        '"0 mm" must be more than zero.',
    ),
    Bad(
        'ends_ride_on = ["axle", "body"]',
        'ends_ride_on = ["axle", "sky"]',
        45,
        'part[3].ends_ride_on[2]',
        'nothing here is called "sky" for a part to ride on. Known here: body, axle, knuckle.',
    ),
    Bad(
        'ends_ride_on = ["axle", "body"]',
        'ends_ride_on = ["axle"]',
        45,
        'part[3].ends_ride_on',
        'the list ends too early: found 1, and one more belongs here.',
    ),
    Bad(
        'ends_ride_on = ["axle", "body"]',
        'ends_ride_on = ["axle", "body"]\nrides_on = "body"',
        46,
        'part[3].rides_on',
        'a bar with ends_ride_on says there what each end moves with: leave rides_on out.',
    ),
    Bad(
        '["100 mm", "-300 mm", "500 mm"]',
        '["0 mm", "-300 mm", "500 mm"]',
        50,
        'part[4].corners',
        'the plate has no area: its corners lie on one line, or two of them are the same point.',
    ),
    Bad(
        '["0 mm", "0 mm", "500 mm"]]',
        '["100 mm", "0 mm", "540 mm"], ["0 mm", "0 mm", "500 mm"]]',
        50,
        'part[4].corners',
        'a plate is flat, but the fourth corner stands 19.6 mm off the plane of the others. Correct it, or write two plates with three corners each.',
    ),
    Bad(
        'crown = { radius = "480 mm", centre = ["0 mm", "40 mm"] }',
        'crown = { centre = ["0 mm", "40 mm"] }',
        56,
        'part[5].crown',
        'a crown is flat at a height or rolled to a radius: write one of the two.',
    ),
    Bad(
        'crown = { radius = "480 mm", centre = ["0 mm", "40 mm"] }',
        'crown = 480',
        56,
        'part[5].crown',
        '480 cannot be used here. Write "430 mm" for a flat one, or { radius = "400 mm", centre = ["0 mm", "20 mm"] }.',
    ),
    Bad(
        'taper = { low = "-50 mm"',
        'taper = { low = "50 mm"',
        58,
        'part[5].taper.high',
        "the taper's low height (50 mm) must be below its high one (50 mm).",
    ),
    Bad(
        'outer = "130 mm"',
        'outer = "-200 mm"',
        57,
        'part[5].outer',
        'the outer edge is not outboard of the inner wall.',
    ),
    Bad(
        'outer = "130 mm"',
        'outer = "130 mm"\nfront = "600 mm"',
        58,
        'part[5].front',
        "the front stands 600 mm from the crown's centre, past its radius of 480 mm: leave front out, or make it at most 480 mm from there.",
    ),
    Bad(
        'radius = "470 mm"',
        'radius = "470 mm"\noutline = [["0 mm", "0 mm"], ["9 mm", "0 mm"]]',
        64,
        'part[6].radius',
        'an arch has a radius or an outline: write one of the two.',
    ),
    Bad(
        'radius = "470 mm"\n',
        '',
        60,
        'part[6].radius',
        'an arch has a radius or an outline: write one of the two.',
    ),
    Bad(
        'from = "-80 deg"',
        'from = "80 deg"',
        66,
        'part[6].to',
        'the arch goes from 80 deg to 80 deg: to must be the greater, by at most a whole turn. Angles are from straight up, positive ahead.',
    ),
    Bad(
        'return_depth = "20 mm"',
        'return_depth = "20 mm"\nreturn_angle = "200 deg"',
        68,
        'part[6].return_angle',
        'a return\'s angle of 200 deg: no road vehicle passes -180 deg to 180 deg. Check the number and its unit.',
    ),
    Bad(
        'file = "sheet.off"',
        'file = "sheat.off"',
        72,
        'part[7].file',
        'sheat.off: there is no such file. Name the mesh by its path, beside the corner file or from the root.',
    ),
    Bad(
        'file = "sheet.off"',
        'file = "good.toml"',
        72,
        'part[7].file',
        'good.toml: .toml is not a mesh format that is read. Export OBJ, STL, PLY, GLB, glTF, OFF or 3MF for a mesh; PLY, XYZ or CSV for points.',
    ),
    Bad(
        'unit = "mm"',
        'unit = "furlong"',
        73,
        'part[7].unit',
        '"furlong" cannot be used here. Write "mm", "cm", "m", "in" or "ft".',
    ),
    Bad(
        'unit = "mm"\n',
        '',
        69,
        'part[7].unit',
        'the unit of the scan is not stated, and a mesh file does not carry one. Its box would be:',
    ),
    Bad(
        'hub = [0, 0, 0]',
        'hub = ["0 mm", 0, 0]',
        74,
        'part[7].place.hub[1]',
        '"0 mm" is not a number. Write it without quotes and without a unit, as 0.5.',
    ),
    Bad(
        'up = "+z"',
        'up = "north"',
        74,
        'part[7].place.up',
        '"north" is not a direction of the scan. Write "+x", "-z", or three numbers.',
    ),
    Bad(
        'place = { hub',
        'place = { hubb',
        74,
        'part[7].place.hubb',
        'the key "hubb" is not known here. Did you mean "hub"?',
    ),
    Bad(
        'box = { min',
        'bocks = { min',
        75,
        'part[7].remove[1].bocks',
        'the key "bocks" is not known here. Known here: name, box, axle, piece.',
    ),
    Bad(
        'name = "dust", box',
        'name = "dust", piece = ["0 mm", "0 mm", "0 mm"], box',
        75,
        'part[7].remove[1]',
        'a region is one of box, axle or piece: write exactly one of them.',
    ),
    Bad(
        'spacer = "25 mm"',
        'spacer = 25',
        78,
        'limits.spacer',
        '25 has no unit. Write "25 mm" or "25 in".',
    ),
    Bad(
        'spacer = "25 mm"',
        'spaser = "25 mm"',
        78,
        'limits.spaser',
        'the key "spaser" is not known here. Did you mean "spacer"?',
    ),]
# fmt: on


@pytest.fixture(scope="module")
def bench(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A folder with the files that the corner file names."""
    folder: Path = tmp_path_factory.mktemp("corner")
    shutil.copy(HERE / "sheet.off", folder)
    shutil.copy(HERE / "good.toml", folder)
    return folder


def refusal(folder: Path, text: str | bytes) -> CornerFileError:
    """What is said about a file with this text."""
    path = folder / "bad.toml"
    path.write_bytes(text.encode() if isinstance(text, str) else text)
    with pytest.raises(CornerFileError) as refused:
        load(path)
    return refused.value


def test_the_file_that_every_row_changes_is_good():
    assert [part.name for part in load(HERE / "good.toml").parts] == [
        "inner wall",
        "rail",
        "shock",
        "plate",
        "well inner wall",
        "well crown",
        "lip",
        "scan",
    ]


@pytest.mark.parametrize("row", TABLE, ids=lambda row: f"{row.line}-{row.key or 'toml'}-{row.bad[:24]!r}")
def test_one_wrong_thing_gives_one_message_at_its_line(row, bench):
    assert GOOD.count(row.good) >= 1
    said = refusal(bench, GOOD.replace(row.good, row.bad, 1))
    assert (said.line, said.key) == (row.line, row.key)
    assert said.message.replace(f"{bench}/", "").splitlines()[0] == row.words
    assert str(said).startswith(f"{bench / 'bad.toml'}:{row.line}")


def test_the_table_is_long_enough_and_has_no_row_twice():
    assert len(TABLE) >= 60
    assert len({(row.good, row.bad) for row in TABLE}) == len(TABLE)


# ---- what a table of replacements cannot show


def test_a_missing_file_is_said(tmp_path):
    with pytest.raises(CornerFileError, match="there is no such file"):
        load(tmp_path / "nothing.toml")


def test_a_folder_is_said(tmp_path):
    with pytest.raises(CornerFileError, match="this is a folder"):
        load(tmp_path)


def test_a_name_that_no_file_can_have_is_said():
    with pytest.raises(CornerFileError, match="no file can have such a name"):
        load("corner\0.toml")


def test_an_empty_file_is_said(bench):
    assert "the file is empty" in refusal(bench, "\n \n").message


def test_a_file_that_is_not_utf_8_is_said_with_its_line(bench):
    said = refusal(bench, GOOD.encode().replace(b"inner wall", b"inn\xe9r wall", 1))
    assert said.line == 29
    assert "byte 0xe9" in said.message


def test_a_file_saved_as_utf_16_is_said(bench):
    assert "this is UTF-16 text. Save it as UTF-8" in refusal(bench, GOOD.encode("utf-16")).message


def test_a_byte_order_mark_and_foreign_line_ends_do_not_matter(bench):
    path = bench / "windows.toml"
    path.write_bytes(b"\xef\xbb\xbf" + GOOD.replace("\n", "\r\n").encode())
    assert load(path).title == "Plain corner"


def test_a_line_is_the_same_with_foreign_line_ends(bench):
    said = refusal(bench, GOOD.replace('"165 mm"', '"165"').replace("\n", "\r\n"))
    assert said.line == 31


def test_a_file_that_is_far_too_large_is_said_without_reading_it_all(bench):
    assert "larger than 4 MB" in refusal(bench, b"#" * 5_000_000).message


def test_brackets_without_end_are_said(bench):
    assert "far too deep" in refusal(bench, "x = " + "[" * 100_000 + "]" * 100_000).message


def test_a_number_of_four_hundred_digits_is_said(bench):
    said = refusal(bench, GOOD.replace('"90 mm"', f'"{"9" * 400} mm"'))
    assert (said.line, said.key) == (18, "suspension.bump")
    assert "too large to be a length" in said.message


@pytest.mark.parametrize(
    ("good", "bad", "key"),
    [
        ('bump = "90 mm"', "bump = {}", "suspension.bump"),
        ("hub = [0, 0, 0]", "hub = [{}, 0, 0]", "part[7].place.hub[1]"),
        ('up = "+z"', "up = [{}, 0, 0]", "part[7].place.up"),
        ('unit = "mm"', 'unit = "mm"\ndecimate_to = {}', "part[7].decimate_to"),
        ('spacer = "25 mm"', "spacer = {}", "limits.spacer"),
        ('spacer = "25 mm"', 'spacer = "{}/3 mm"', "limits.spacer"),
        ("[limits]", "[order]\nquantity = {}\n[limits]", "order.quantity"),
        ("[limits]", '[load]\ncorner = "{} kg"\n[limits]', "load.corner"),
        ("5 x 4.5 in", "{} x 4.5 in", "wheel.bolt_circle"),
    ],
)
def test_a_number_that_no_arithmetic_can_hold_is_said_wherever_it_stands(good, bad, key, bench):
    said = refusal(bench, GOOD.replace(good, bad.replace("{}", "9" * 400), 1))
    assert said.key == key
    assert len(said.message.splitlines()[0]) < 400


def test_a_bare_number_of_five_thousand_digits_is_said(bench):
    assert "cannot be read" in refusal(bench, GOOD.replace('"90 mm"', "9" * 5000)).message


def test_no_parts_at_all_is_said(bench):
    said = refusal(bench, GOOD.split("[[part]]")[0])
    assert said.key == "part"
    assert "there are no parts" in said.message


def test_an_empty_list_of_parts_is_said(bench):
    said = refusal(bench, "part = []\n" + GOOD.split("[[part]]")[0])
    assert (said.line, said.key) == (1, "part")


def test_one_pair_of_brackets_around_part_is_said(bench):
    text = GOOD.split("[[part]]")[0] + '[part]\nname = "a"\nkind = "wall"\ninboard = "9 in"\n'
    assert "Write [[part]], with two brackets" in refusal(bench, text).message


@pytest.mark.parametrize("section", ["tire", "wheel", "suspension"])
def test_a_section_that_is_missing_is_said(section, bench):
    """Everything between its header and the next one is taken out."""
    start = GOOD.index(f"[{section}]")
    end = GOOD.index("\n[", start) + 1
    said = refusal(bench, GOOD[:start] + GOOD[end:])
    assert said.key == section
    assert f"the section [{section}] is missing" in said.message


@pytest.mark.parametrize("section", ["tire", "wheel", "suspension", "steering", "limits"])
def test_a_section_that_is_no_table_is_said(section, bench):
    start = GOOD.index(f"[{section}]")
    end = GOOD.find("\n[", start) + 1 or len(GOOD)
    said = refusal(bench, f"{section} = 5\n" + GOOD[:start] + GOOD[end:])
    assert (said.line, said.key) == (1, section)
    assert "table" in said.message


def test_tire_dimensions_without_a_marking_are_all_needed(bench):
    said = refusal(bench, GOOD.replace('size = "235/75R15"\n', "").replace('section_width = "239 mm"\n', ""))
    assert said.key == "tire.section_width"
    assert "is missing" in said.message


def test_a_key_outside_its_section_is_sent_home(bench):
    said = refusal(bench, 'backspace = "4 in"\n' + GOOD.replace('backspace = "3 3/4 in"\n', ""))
    assert (said.line, said.key) == (1, "backspace")
    assert said.message == 'the key "backspace" is not known here. It belongs below [wheel].'


@pytest.mark.parametrize(
    ("name", "good", "bad", "key", "words"),
    [
        ("heron-roadster-front", 'bump = "70 mm"', 'bump = "90 mm"', "suspension.rows", "never extrapolated"),
        ("sorrel-sedan-front", "tie_outer ", "# tie_outer ", "suspension.tie_outer", "a tie rod has two ends"),
        ("sorrel-sedan-front", 'rack_left  = "', 'rack_left = "-', "steering.rack_left", "without a sign"),
    ],
)
def test_what_a_suspension_refuses_is_said_at_the_key_that_it_names(name, good, bad, key, words, bench):
    text = (HERE.parent.parent / "fixtures" / "corners" / f"{name}.toml").read_text(encoding="utf-8")
    assert good in text
    said = refusal(bench, text.replace(good, bad, 1))
    assert said.key == key
    assert words in said.message


def test_a_message_says_what_was_found_and_what_to_write(bench):
    """The whole of one, as it reaches the terminal."""
    said = refusal(bench, GOOD.replace('"165 mm"', "165"))
    assert str(said) == f'{bench / "bad.toml"}:31  part[1].inboard\n  165 has no unit. Write "165 mm" or "165 in".'
