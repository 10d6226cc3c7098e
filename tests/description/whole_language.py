"""A table of every section with every key that it takes, each number a usual one, so that a test can try each in turn.

None of these is a corner that could be built: kinds that exclude one another stand side by side. They are read key by
key, which is where the ends of a number are looked at.
"""

from __future__ import annotations

import json
from typing import Any

from clearance.ends.ends import Ends, Point
from clearance.suspension.kinds import AXIS_KEYS, KINDS, STEERING_KEYS, Key

TIRE = {
    "size": "235/75R15",
    "overall_diameter": "733 mm",
    "section_width": "239 mm",
    "measured": True,
    "measured_on": "7 in",
    "tread_width": "188 mm",
    "rim_diameter": "15 in",
    "growth": {"width": "4 mm", "diameter": "8 mm"},
    "chains": {"tread": "37 mm", "side": "15 mm"},
}
WHEEL = {
    "diameter": "15 in",
    "width": "7 in",
    "backspace": "95 mm",
    "offset": "-6 mm",
    "flange_thickness": "12.7 mm",
    "flange_height": "17.5 mm",
    "barrel_inner_diameter": "330 mm",
    "face": "100 mm",
    "bolt_circle": "5 x 114.3 mm",
    "center_bore": "83 mm",
}
COMMON = {"required": "25 mm", "thickness": "1 mm", "uncertainty": "2 mm"}
POINT = ["40 mm", "-95 mm", "120 mm"]
REGIONS = {
    "box": {"min": ["-50 mm", "-50 mm", "-50 mm"], "max": ["50 mm", "50 mm", "50 mm"]},
    "axle": {"radius": "150 mm", "from": "-20 mm", "to": "-4 mm"},
    "piece": POINT,
}
PARTS: dict[str, dict[str, Any]] = {
    "wall": {
        "inboard": "165 mm",
        "outboard": "100 mm",
        **dict.fromkeys(("ahead", "behind", "above", "below"), "400 mm"),
    },
    "plate": {"corners": [POINT, POINT, POINT]},
    "box": {
        "min": ["-400 mm", "-300 mm", "100 mm"],
        "max": ["400 mm", "-250 mm", "200 mm"],
        "turn": {"about": "above", "angle": "5 deg", "through": POINT},
    },
    "cylinder": {"ends": [POINT, POINT], "diameter": "60 mm"},
    "bar": {"points": [POINT, POINT], "diameter": "60 mm"},
    "tub": {
        "inner": "190 mm",
        "crown": {"height": "430 mm", "radius": "480 mm", "centre": ["10 mm", "40 mm"]},
        "outer": "130 mm",
        "front": "400 mm",
        "rear": "400 mm",
        "bottom": "120 mm",
        "outer_panel": "100 mm",
        "taper": {"low": "60 mm", "high": "240 mm", "inner": "180 mm"},
    },
    "lip": {
        "outboard": "140 mm",
        "radius": "430 mm",
        "centre": ["10 mm", "40 mm"],
        "outline": [["-300 mm", "100 mm"], ["300 mm", "100 mm"]],
        "from": "-75 deg",
        "to": "75 deg",
        "return_depth": "18 mm",
        "return_angle": "10 deg",
        "trim_thickness": "2 mm",
    },
    "mesh": {
        "file": "scan.ply",
        "unit": "m",
        "scale": {"from": [1, 2, 3], "to": [4, 5, 6], "distance": "500 mm", "within": "1 mm"},
        "place": {
            "hub": [1, 2, 3],
            "face": [[1, 2, 3], [4, 5, 6], [7, 8, 10]],
            "bolt_holes": [[1, 2, 3], [4, 5, 6], [7, 8, 10]],
            "ground": [[1, 2, 3], [4, 5, 6]],
            "bolt_circle": "5 x 114.3 mm",
            "diameter": "280 mm",
            "face_outboard": "12 mm",
            "within": "1 mm",
            "level_within": "0.5 deg",
            "up": "+z",
            "ahead": "+x",
        },
        "remove": [{"name": "rotor", **REGIONS}],
        "split": [{"name": "rail", **REGIONS, "required": "20 mm", "thickness": "1 mm"}],
        "stray": "15 mm",
        "decimate_to": 20000,
        "radius": "3 mm",
        "holes_open": [POINT],
        "holes_closed": [POINT],
    },
}
TRAVEL = {
    "bump": "80 mm",
    "droop": "70 mm",
    "shift": dict.fromkeys(("inboard", "outboard", "ahead", "behind"), "5 mm"),
}
LIVE = {"other_bump": "80 mm", "other_droop": "70 mm", "articulation": "130 mm"}
SECTIONS: dict[str, dict[str, Any]] = {
    "load_states": {"laden": "-35 mm"},
    "limits": {
        "spacer": "25 mm",
        "backspace": {"least": "80 mm", "most": "150 mm"},
        "bump_stop": "40 mm",
        "steering_stop": "8 deg",
        "rack_per_deg": "1.4 mm",
        "ride_height": "30 mm",
        "camber": {"least": "-2 deg", "most": "1 deg"},
        "lip_roll": "13 mm",
        "lip_trim": "19 mm",
        "axle_across": "12 mm",
        "rim_widths": ["7 in", "7.5 in"],
    },
    "sold": {
        "spacer": ["3 mm", "5 mm"],
        **dict.fromkeys(("bump_stop", "backspace", "ride_height"), "6 mm"),
        **dict.fromkeys(("steering_stop", "camber"), "0.5 deg"),
        "lip_roll": "1 mm",
        "rack_washer": "1 mm",
        "axle_across": "1 mm",
    },
    "cost": {
        **{
            key: {"hours": 2, "money": 120.5, "reversible": True}
            for key in ("spacer", "backspace", "bump_stop", "ride_height", "steering_stop", "camber", "lip_roll")
        },
        "lip_trim": {"hours": 4, "money": 200, "reversible": False},
        "axle_across": {"hours": 3, "money": 20, "reversible": True},
        "per_hour": 90,
        "irreversible": 2,
        "given_up": 10,
    },
    "now": {
        "size": "215/75R15",
        "overall_diameter": "704 mm",
        "section_width": "216 mm",
        "diameter": "15 in",
        "width": "7 in",
        "backspace": "95 mm",
        "offset": "-6 mm",
    },
    "spare": {
        "size": "T135/70R16",
        "overall_diameter": "596 mm",
        "section_width": "138 mm",
        "diameter": "16 in",
        "width": "4 in",
        "backspace": "90 mm",
        "offset": "26 mm",
        "speed": "80 km/h",
    },
    "uncertainty": {
        **dict.fromkeys(("backspace", "overall_diameter", "section_width", "axle_sideways"), "3 mm"),
        **dict.fromkeys(("axle_lengthways", "ride_height", "bump_travel", "parts"), "3 mm"),
        **dict.fromkeys(("camber", "steer"), "0.5 deg"),
        "part": {"inner wall": "1.5 mm"},
    },
    "load": {"corner": "520 kg", "speed": "180 km/h"},
    "order": {
        "quantity": 4,
        "stud_length": "38 mm",
        "seat_depth": "12 mm",
        **{f"{of}_tolerance": "1.5 mm" for of in ("width", "diameter", "backspace", "bolt_circle", "center_bore")},
    },
    "spare_well": {"diameter": "690 mm", "depth": "205 mm", "stand": "12 mm", "off_centre": "5 mm", "required": "6 mm"},
    "duals": {"spacing": "292 mm", "bulge": "6 %", "required": "19 mm"},
    "chains": {"tread": "37 mm", "side": "15 mm"},
    "coverage": {"ahead": "30 deg", "behind": "50 deg", "protrude": "5 mm"},
    "tape": {"hub_to_spring": "149 mm", "hub_to_lip": "156 mm"},
    "opposite": {"hub_to_spring": "149 mm", "hub_to_lip": "156 mm"},
}


def tables(kind: str = "straight", **changed: Any) -> dict[str, Any]:
    """A whole file of these, with a suspension of this kind."""
    parts = [{"name": name, "kind": name, **COMMON, **keys} for name, keys in PARTS.items()]
    described = KINDS[kind]
    suspension = {
        "kind": kind,
        **(TRAVEL if described.moves else {}),
        **(LIVE if described.live_axle else {}),
        **_values(described.keys),
    }
    steering = _values(STEERING_KEYS)
    if not described.own_axis:
        steering["axis"] = _values(AXIS_KEYS)
    whole = {
        "corner": "rear-left",
        "tire": TIRE,
        "wheel": WHEEL,
        "suspension": suspension,
        "steering": steering,
        "part": parts,
        **SECTIONS,
    }
    # through JSON and back, so that no two keys share a list
    return dict(json.loads(json.dumps({**whole, **changed})))


def _values(keys: tuple[Key, ...]) -> dict[str, Any]:
    return {key.name: _value(key) for key in keys}


def _value(key: Key) -> Any:
    if key.columns:
        return [[usual(column.ends) for column in key.columns] for _ in range(2)]
    if isinstance(key.ends, Point):
        return [usual(ends) for ends in key.ends.axes.values()]
    return key.choices[0] if key.ends is None else usual(key.ends)


def usual(ends: Ends) -> str:
    """A number well within what is usual: a third of the way."""
    low, high = ends.usual
    return f"{low + (high - low) / 3:.4f} {ends.unit}"
