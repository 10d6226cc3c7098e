"""What a certificate claims of a mock-up, written from its gaps and envelopes, and checked against the corner file.

* part     - no place of it comes nearer than so much, by a tree of planes; and one place at one position does come as
             near as so much, the witness
* hits     - the witness alone: how deep is not certified, that it hits is
* envelope - no face of it is ever reached, it is closed round the wheel, and it lies no further out than so much

The lower end is claimed 0.0001 mm below the one that was found: a certificate stands on its own planes.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from clearance.certificate.file import Packed, packed, unpacked
from clearance.certificate.interval import Array
from clearance.certificate.made import made
from clearance.certificate.motion import Motion
from clearance.certificate.slack import Slack, distance_at_most, furthest_mm, refuse_open, refuse_outside
from clearance.certificate.subject import disc_outline, motion_of, subject_of, subject_of_faces
from clearance.certificate.tree import Tree, Unproven
from clearance.certificate.verify import proven_mm
from clearance.defaults import TOLERANCE_MM
from clearance.errors import InputError
from clearance.gap.found import CLEARS, HITS, UNDECIDED, Gap, verdict_of
from clearance.mockup.mockup import MockUp
from clearance.mockup.paths import carried, seen_by
from clearance.pose import turn_onto
from clearance.suspension.position import HUB, Position

_BELOW_MM = 1e-4
_HOLDS_MM = 1e-6
"""A claim may be rounded by this."""

Progress = Callable[[int, int, str], None]
Told = Callable[[int, int], None] | None
Row = tuple[dict[str, Any], dict[str, Any]]
"""What is said of one thing, and its arrays by name."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Checked:
    """What of one claim holds."""

    name: str
    verdict: str
    at_least_mm: float | None
    """Proven by the planes; None of a part that hits."""
    at_most_mm: float
    """Measured again at the witness."""
    required_mm: float
    leaves: int


@dataclass(frozen=True, slots=True, kw_only=True)
class CheckedEnvelope:
    """What of an envelope holds."""

    name: str
    standoff_mm: float
    slack_mm: float
    grown_mm: float
    leaves: int


def certificate_of(
    mockup: MockUp,
    gaps: Sequence[Gap],
    *,
    envelopes: Sequence[tuple[str, Any]] = (),
    progress: Progress | None = None,
) -> bytes:
    """The certificate of a mock-up's gaps, and of envelopes by name.

    Raises OutputError where it would be too large, InputError for a corner whose motion was not measured.
    """
    if mockup.unmeasured is not None:
        raise InputError(
            "a certificate proves the gaps of a motion that is given, and this corner's links were not measured. Give"
            " its hardpoints or a measured table."
        )
    rows: list[dict[str, Any]] = []
    arrays: dict[str, Any] = {}
    total = len(gaps) + len(envelopes)
    for number, gap in enumerate(gaps):
        told = _told(progress, number, total, gap.part)
        row, own = _part(mockup, gap, told)
        rows.append(row)
        arrays |= {f"{number:04d}.{name}": values for name, values in own.items()}
    shells = []
    for number, (name, envelope) in enumerate(envelopes, start=len(gaps)):
        told = _told(progress, number, total, name)
        row, own = _envelope(mockup, name, envelope, told)
        shells.append(row)
        arrays |= {f"{number:04d}.{key}": values for key, values in own.items()}
    return packed({"title": mockup.title, "corner": mockup.corner, "parts": rows, "envelopes": shells}, arrays)


def _told(progress: Progress | None, number: int, total: int, name: str) -> Told:
    if progress is None:
        return None

    def tell(nodes: int, left: int) -> None:
        progress(number, total, f"certifying {name}: {nodes:,} boxes, {left:,} open")

    return tell


def _part(
    mockup: MockUp, gap: Gap, progress: Callable[[int, int], None] | None
) -> tuple[dict[str, Any], dict[str, Any]]:
    part = mockup.part(gap.part)
    position = gap.position
    row: dict[str, Any] = {
        "name": gap.part,
        "required": gap.required_mm,
        "at_least": None,
        "at_most": gap.at_most_mm,
        "tolerance": gap.tolerance_mm,
        "position": {"bump": position.bump_mm, "other_bump": position.other_bump_mm, "steer": position.steer_deg},
        "shift": list(gap.shift_mm),
        "point": [float(v) for v in gap.at_rest_mm],
        "share": gap.share,
    }
    if not math.isfinite(gap.at_least_mm) or gap.at_most_mm < 0:
        return row, {}
    wanted = math.floor((gap.at_least_mm - _BELOW_MM) * 1e4) / 1e4
    seen = seen_by(mockup, part)
    tree = made(subject_of(mockup, part), seen.path, mockup.solid, wanted, progress=progress)
    return {**row, "at_least": wanted}, _arrays(tree)


def _arrays(tree: Tree) -> dict[str, Any]:
    return {"order": tree.order, "steps": tree.steps, "cuts": tree.cuts, "planes": tree.planes}


def _envelope(mockup: MockUp, name: str, envelope: Any, progress: Told) -> Row:
    from clearance.certificate.slacken import slackened
    from clearance.envelope.build import swept_disc

    disc = swept_disc(mockup.solid, mockup.suspension)
    corners = envelope.vertices_mm[envelope.faces]
    subject = subject_of_faces(corners, disc.path, disc.solid, disc.limits)
    tree = made(subject, disc.path, disc.solid, envelope.grown_mm, progress=progress)
    slack = slackened(disc, corners, envelope.grown_mm + envelope.slack_mm)
    row = {"name": name, "grown": envelope.grown_mm, "slack": envelope.slack_mm}
    own = {
        "vertices": envelope.vertices_mm,
        "faces": envelope.faces,
        "quarters": slack.steps,
        "settings": slack.settings,
    }
    return row, {**_arrays(tree), **own}


# ---- checked


def checked(
    mockup: MockUp, content: bytes, *, progress: Progress | None = None
) -> tuple[list[Checked], list[CheckedEnvelope]]:
    """Every claim of a certificate held against the mock-up that it is about.

    Raises InputError where it is none, is of another corner, or does not prove what it says.
    """
    book = unpacked(content)
    try:
        return _all_checked(mockup, book, progress)
    except (KeyError, TypeError, ValueError, IndexError, AttributeError) as wrong:
        raise InputError(f"this certificate is damaged: {type(wrong).__name__} in its claims or arrays.") from None


def _all_checked(
    mockup: MockUp, book: Packed, progress: Progress | None
) -> tuple[list[Checked], list[CheckedEnvelope]]:
    rows, shells = list(book.claims["parts"]), list(book.claims["envelopes"])
    names = [row["name"] for row in rows]
    if sorted(names) != sorted(part.name for part in mockup.parts):
        raise InputError("this certificate is of other parts than the corner file has. Make it again.")
    total = len(rows) + len(shells)
    parts, envelopes = [], []
    for number, row in enumerate(rows):
        if progress is not None:
            progress(number, total, f"checking {row['name']}")
        parts.append(_checked_part(mockup, row, book, f"{number:04d}"))
    for number, row in enumerate(shells, start=len(rows)):
        if progress is not None:
            progress(number, total, f"checking {row['name']}")
        envelopes.append(_checked_envelope(mockup, row, book, f"{number:04d}"))
    return parts, envelopes


def _checked_part(mockup: MockUp, row: Mapping[str, Any], book: Packed, key: str) -> Checked:
    part = mockup.part(row["name"])
    at_most = _at_witness(mockup, row)
    if at_most > float(row["at_most"]) + 1e-3:
        raise InputError(
            f"{part.name}: the witness is {at_most:.3f} mm from the wheel and not {row['at_most']:.3f}: the corner file"
            " has changed since this was made, or the certificate has. Make it again."
        )
    least, leaves = None, 0
    if row["at_least"] is not None:
        tree = _tree(book, key)
        try:
            proven = proven_mm(subject_of(mockup, part), tree)
        except Unproven as wrong:
            raise InputError(f"{part.name}: the certificate does not hold: {wrong}.") from None
        if proven < float(row["at_least"]) - _HOLDS_MM:
            raise InputError(
                f"{part.name}: the certificate says at least {row['at_least']:.4f} mm and proves {proven:.4f}. Make it"
                " again from the corner file as it is now."
            )
        least, leaves = min(proven, at_most), len(tree.planes)
    verdict = verdict_of(-math.inf if least is None else least, at_most, part.required_mm, TOLERANCE_MM)
    if part.unseen and verdict in (CLEARS, "tight"):
        verdict = UNDECIDED
    return Checked(
        name=part.name,
        verdict=verdict if least is not None or at_most < 0 else UNDECIDED,
        at_least_mm=least,
        at_most_mm=at_most,
        required_mm=part.required_mm,
        leaves=leaves,
    )


def _tree(book: Packed, key: str) -> Tree:
    return Tree(
        order=np.asarray(book.arrays[f"{key}.order"], dtype=np.int64),
        steps=np.asarray(book.arrays[f"{key}.steps"], dtype=np.int64),
        cuts=np.asarray(book.arrays[f"{key}.cuts"], dtype=np.int64),
        planes=np.asarray(book.arrays[f"{key}.planes"], dtype=float).reshape(-1, 6),
    )


def _at_witness(mockup: MockUp, row: Mapping[str, Any]) -> float:
    """The gap at the witness: the suspension's own pose, the nearest of lines and arcs, inside told by crossings."""
    part = mockup.part(row["name"])
    at = row["position"]
    position = Position(bump_mm=at["bump"], other_bump_mm=at["other_bump"], steer_deg=at["steer"])
    shift = (float(row["shift"][0]), float(row["shift"][1]))
    _refuse_outside_cycle(mockup, position, shift)
    point = _onto(part.triangles_mm, np.array(row["point"], dtype=float))
    share = float(row["share"]) if part.far_end is not None else 0.0
    place = carried(mockup.suspension, part, point, share, position, shift)
    hub = mockup.suspension.pose(position.row()[None], HUB)
    local = turn_onto(hub.axis[0]).T @ (place - hub.origin_mm[0] - np.array([*shift, 0.0]))
    along, radial = float(local[1]), float(np.hypot(local[0], local[2]))
    distance = _to_outline(mockup, along, radial)
    inside = _is_inside(mockup.solid.profile.outline(1e-5), along, radial)
    return (-distance if inside else distance) - part.skin_mm


def _refuse_outside_cycle(mockup: MockUp, position: Position, shift: tuple[float, float]) -> None:
    cycle = mockup.suspension.cycle
    row = position.row()
    play = cycle.shift
    held = bool(np.all(row >= cycle.box[:, 0] - 1e-6) and np.all(row <= cycle.box[:, 1] + 1e-6))
    if cycle.articulation_mm is not None:
        held = held and bool(abs(row[0] - row[1]) <= cycle.articulation_mm + 1e-6)
    held = held and -play.behind_mm - 1e-9 <= shift[0] <= play.ahead_mm + 1e-9
    held = held and -play.inboard_mm - 1e-9 <= shift[1] <= play.outboard_mm + 1e-9
    if not held:
        raise InputError("the certificate has a witness outside the cycle of the corner file. Make it again.")


def _onto(triangles: Array, point: Array) -> Array:
    """The place of some triangles (n, 3, 3) that is nearest to a point; refused where none is near."""
    a, ab, ac = triangles[:, 0], triangles[:, 1] - triangles[:, 0], triangles[:, 2] - triangles[:, 0]
    best, place = np.inf, point
    weights = np.array([[i, j, 4 - i - j] for i in range(5) for j in range(5 - i)]) / 4
    near = np.argsort(np.linalg.norm(triangles.mean(axis=1) - point, axis=1))[:200]
    for i in near:
        system = np.stack([ab[i], ac[i]], axis=1)
        share = np.linalg.lstsq(system, point - a[i], rcond=None)[0]
        tried = [np.clip(share, 0.0, 1.0)] if share.sum() <= 1.0 + 1e-9 else []
        for uv in [*tried, *(w[1:] for w in weights)]:
            spot = a[i] + system @ uv
            apart = float(np.linalg.norm(spot - point))
            if apart < best:
                best, place = apart, spot
    if best > 1e-3:
        raise InputError("the certificate has a witness that is no place of its part. Make it again.")
    return place


def _to_outline(mockup: MockUp, along: float, radial: float) -> float:
    """How far a place of the half plane is from the solid's outline."""
    still = np.array([[0.0, 0, 0, 0, 1, 0, 0, 0, 0]])
    motion = Motion(box=np.zeros((0, 2)), table=still[0], slide=np.zeros((0, 9)), error_mm=0.0, reach_mm=1.0)
    place = np.array([[radial, along, 0.0]])
    return float(distance_at_most(place, np.zeros((1, 0)), motion, disc_outline(mockup.solid))[0])


def _is_inside(ring: Array, along: float, radial: float) -> bool:
    """By crossings of a ray towards larger radii."""
    y, r = ring[:, 0], ring[:, 1]
    y2, r2 = np.roll(y, -1), np.roll(r, -1)
    spans = (y > along) != (y2 > along)
    crossed = r + (along - y) * (r2 - r) / np.where(y2 == y, 1.0, y2 - y)
    return bool(np.count_nonzero(spans & (crossed > radial)) % 2)


def _checked_envelope(mockup: MockUp, row: Mapping[str, Any], book: Packed, key: str) -> CheckedEnvelope:
    from clearance.envelope.build import swept_disc

    disc = swept_disc(mockup.solid, mockup.suspension)
    vertices = np.asarray(book.arrays[f"{key}.vertices"], dtype=float).reshape(-1, 3)
    faces = np.asarray(book.arrays[f"{key}.faces"], dtype=np.int64).reshape(-1, 3)
    slack = Slack(
        steps=np.asarray(book.arrays[f"{key}.quarters"], dtype=np.int64),
        settings=np.asarray(book.arrays[f"{key}.settings"], dtype=float).reshape(-1, disc.path.numbers),
    )
    subject = subject_of_faces(vertices[faces], disc.path, disc.solid, disc.limits)
    motion = motion_of(disc.path, disc.limits, disc.solid.reach_mm)
    tree = _tree(book, key)
    grown, claimed = float(row["grown"]), float(row["slack"])
    try:
        refuse_open(vertices, faces)
        centre, axis = disc.path.at(disc.path.box.mean(axis=1)[None])
        low, high, _, _ = disc.solid.profile.bounds
        refuse_outside(vertices, faces, centre[0] + (low + high) / 2 * axis[0])
        standoff = proven_mm(subject, tree) - grown
        furthest = furthest_mm(vertices, faces, motion, subject.outline, slack) - grown
    except Unproven as wrong:
        raise InputError(f"{row['name']}: the certificate does not hold: {wrong}.") from None
    if standoff < -_HOLDS_MM or furthest > claimed + 1e-4:
        raise InputError(
            f"{row['name']}: the certificate claims to hold the wheel within {claimed:.3f} mm, and proves a standoff of"
            f" {standoff:.4f} mm and a slack of {furthest:.3f} mm. Make it again."
        )
    return CheckedEnvelope(
        name=row["name"], standoff_mm=standoff, slack_mm=furthest, grown_mm=grown, leaves=len(tree.planes)
    )


def overall(parts: Sequence[Checked]) -> str:
    """The worst verdict of all."""
    order = (HITS, UNDECIDED, "tight", CLEARS)
    return min((part.verdict for part in parts), key=order.index, default=UNDECIDED)
