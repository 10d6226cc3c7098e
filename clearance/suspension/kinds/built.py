"""A suspension from the answers of a user."""

from __future__ import annotations

import difflib
from collections.abc import Mapping
from dataclasses import replace
from typing import Any

from clearance.errors import SuspensionError
from clearance.suspension.kinds.every import KINDS
from clearance.suspension.kinds.kind import Kind
from clearance.suspension.kinds.steered import steered
from clearance.suspension.position import Cycle, Suspension


def build(
    kind: str,
    values: Mapping[str, Any],
    cycle: Cycle,
    steering: Mapping[str, Any] | None = None,
    *,
    title: str = "this corner",
) -> Suspension:
    """The suspension of this kind.

    `values` are the keys of `KINDS[kind]` with numbers in mm and deg, points as (3,), rows as (n, columns).
    `steering` holds `left`, `right` and, where the kind has no axis of its own, `axis` with `through`, `inclination`
    and `caster`; the cycle's steer range is set from it: right lock is the negative end.

    Raises SuspensionError for a kind or key that does not exist, a key that is missing, hardpoints that cannot be,
    and travel that the linkage cannot reach; `title` names the corner in that message.
    """
    described = _known(kind)
    given = {name: value for name, value in values.items() if value is not None}
    for name in given:
        described.key(name)
    for key in described.keys:
        if key.required and key.name not in given:
            raise SuspensionError(f'suspension "{kind}" needs "{key.name}": {key.help}.')
    steer, cycle = steered(described, steering, cycle, measured="steer_rows" in given, racks=_racks)
    return described.build(given, cycle, replace(steer, title=title))


def _racks() -> tuple[str, ...]:
    return tuple(name for name, kind in KINDS.items() if kind.rack)


def _known(kind: str) -> Kind:
    if kind not in KINDS:
        near = difflib.get_close_matches(kind, list(KINDS), n=1)
        hint = f'Did you mean "{near[0]}"?' if near else f"Write one of {', '.join(KINDS)}."
        raise SuspensionError(f'there is no suspension kind "{kind}". {hint}')
    return KINDS[kind]
