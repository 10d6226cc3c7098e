"""Rows that were measured with the spring out."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import numpy as np

from clearance.ends import families as ends
from clearance.suspension.kinds.key import Column, Key
from clearance.suspension.kinds.kind import Kind, Steer
from clearance.suspension.position import Cycle, Suspension
from clearance.suspension.table import Table


def _table(values: Mapping[str, Any], cycle: Cycle, steer: Steer) -> Suspension:
    steer_rows = values.get("steer_rows")
    return Table(
        cycle=cycle,
        rows=np.asarray(values["rows"], dtype=float),
        steer_rows=None if steer_rows is None else np.asarray(steer_rows, dtype=float),
        kingpin=steer.kingpin,
    )


TABLE = Kind(
    name="table",
    help="measured rows: jack the hub in 25 mm steps with the spring out and read tape and angle finder",
    keys=(
        Key(
            name="rows",
            dimension="rows",
            required=True,
            help="bump, across, along, camber and toe at five heights or more, ride height among them",
            columns=(
                Column("bump", "length", ends.ROW_BUMP),
                Column("across", "length", ends.ROW_ACROSS),
                Column("along", "length", ends.ROW_ALONG),
                Column("camber", "angle", ends.ROW_CAMBER),
                Column("toe", "angle", ends.ROW_TOE),
            ),
        ),
        Key(
            name="steer_rows",
            dimension="rows",
            help=(
                "the same at left lock, straight and right lock, at three heights: nine rows; steer is"
                " positive to the left"
            ),
            columns=(
                Column("bump", "length", ends.ROW_BUMP),
                Column("steer", "angle", ends.ROW_STEER),
                Column("across", "length", ends.ROW_ACROSS),
                Column("along", "length", ends.ROW_ALONG),
                Column("camber", "angle", ends.ROW_CAMBER),
            ),
        ),
    ),
    build=_table,
)
