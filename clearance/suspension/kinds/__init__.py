"""The kinds of suspension that a corner file can name, the keys that each takes, and how each is built.

`KINDS` says what to ask of a user; `build` takes the answers, already in millimetres and degrees, in corner axes of a
left corner: points are [ahead, outboard, above] from the centre of the hub's mounting face at ride height.

A family of kinds is a file here that gives its `Kind`s as plain values; `every.py` lists them.
"""

from clearance.suspension.kinds.built import build
from clearance.suspension.kinds.every import KINDS
from clearance.suspension.kinds.key import Column, Key
from clearance.suspension.kinds.kind import Kind, Steer
from clearance.suspension.kinds.steered import AXIS_KEYS, STEERING_KEYS

__all__ = ["AXIS_KEYS", "KINDS", "STEERING_KEYS", "Column", "Key", "Kind", "Steer", "build"]
