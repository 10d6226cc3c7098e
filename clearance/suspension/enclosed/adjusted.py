"""A suspension that was adjusted: the one that it was, tilted and moved."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from clearance.suspension.adjusted import Adjusted
from clearance.suspension.enclosed import enclosed
from clearance.suspension.enclosed.pose import At, ModelPose
from clearance.suspension.position import HUB, KNUCKLE


def adjusted(suspension: Adjusted, at: At, frame: str) -> ModelPose:
    """Where a frame of it is."""
    pose = enclosed(suspension.base, at, frame)
    if suspension.camber_deg and frame in (HUB, KNUCKLE):
        tilt = suspension.tilt(frame)
        pose = ModelPose(origin=pose.carry(tilt.origin_mm), turn=pose.turn @ tilt.turn)
    return replace(pose, origin=pose.origin + np.array(suspension.axle_mm))
