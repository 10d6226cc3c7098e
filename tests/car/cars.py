"""Cars between plain walls, whose gaps, heights and tracks are sums."""

from __future__ import annotations

import re
from dataclasses import replace

from clearance.mockup.car import Car
from clearance.mockup.mockup import CORNERS

WALLS = """
title = "Four walls"
[car]
wheelbase = "2400 mm"
track_front = "1400 mm"
track_rear = "1420 mm"
[now]
size = "195/60R15 88H"
overall_diameter = "615 mm"
section_width = "201 mm"
width = "6 in"
offset = "38 mm"
[suspension]
kind = "straight"
bump = "60 mm"
droop = "50 mm"
[load]
corner = "500 kg"
speed = "200 km/h"
[corner.front-left]
[corner.front-left.tire]
size = "205/60R15 91V"
overall_diameter = "627 mm"
section_width = "209 mm"
[corner.front-left.wheel]
diameter = "15 in"
width = "6 1/2 in"
offset = "30 mm"
bolt_circle = "5 x 108 mm"
[[corner.front-left.part]]
name = "inner wall"
kind = "wall"
inboard = "170 mm"
required = "20 mm"
[corner.front-right]
like = "front-left"
[corner.rear-left]
[corner.rear-left.tire]
size = "225/60R15 96H"
overall_diameter = "651 mm"
section_width = "223 mm"
[corner.rear-left.wheel]
diameter = "15 in"
width = "7 in"
offset = "20 mm"
bolt_circle = "5 x 108 mm"
[[corner.rear-left.part]]
name = "inner wall"
kind = "wall"
inboard = "160 mm"
required = "20 mm"
[corner.rear-right]
like = "rear-left"
"""
NOW = WALLS[WALLS.index("[now]") : WALLS.index("[suspension]")]
SPARE = '[spare]\nsize = "T125/70R15 95M"\nwidth = "4 in"\noffset = "25 mm"\n'
ACROSS = {"left": "right", "right": "left"}


def across(name: str) -> str:
    """The corner on the other side."""
    axle, side = name.split("-")
    return f"{axle}-{ACROSS[side]}"


def mirrored(car: Car) -> Car:
    """The same car with its left and right sides changed over: inside, every corner is a left one."""
    other = {across(name): replace(corner, corner=across(name)) for name, corner in car.corners.items()}
    return replace(car, corners={name: other[name] for name in CORNERS if name in other})


def renamed(value: object) -> object:
    """Facts with left and right changed over, lists of corners in their usual order."""
    if isinstance(value, dict):
        return {key: renamed(inner) for key, inner in value.items()}
    if isinstance(value, list):
        found = [renamed(inner) for inner in value]
        return sorted(found, key=repr)
    if not isinstance(value, str):
        return value
    # a clock on the other side of the car is the same one seen in a mirror
    turned = re.sub(r"(\d+) o'clock", lambda at: f"{(11 - int(at[1])) % 12 + 1} o'clock", value)
    return across(value) if value in CORNERS else turned


def in_order(value: object) -> object:
    """Facts with their lists in the order that `renamed` gives them."""
    if isinstance(value, dict):
        return {key: in_order(inner) for key, inner in value.items()}
    return sorted((in_order(inner) for inner in value), key=repr) if isinstance(value, list) else value
