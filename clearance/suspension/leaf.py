"""Leaf springs: an axle that its own springs locate.

* eye    - where the spring's front end is hung on the car
* clamp  - the stretch that the U-bolts hold; FC and RC are its front and rear edges
* half   - from an edge of the clamp to the eye on that side, along the leaf
* arch   - how high the eye's line stands over the clamp's at ride height, seen from the clamp

A uniform-strength leaf bends to a circular arc, so its eye swings about the clamp very nearly like a rigid link of
three quarters of the half's length, pivoted a quarter of it ahead of the clamp's edge on the line of the flat leaf: the
"3/4 rule" of the SAE spring manual HS-788 (the rule from memory; derived again in docs/suspensions.md, where 600 mm
halves err by 0.01 mm at 100 mm of travel). Deflection counts from the flat spring, so an arched one first pushes its
axle back.

How far the clamp turns is found from the energy of both halves, each as stiff as the inverse cube of its length; for
a short travel that is h (1/b - 1/a), halves a ahead and b behind. A shackle's swing enters through the rear half.
Sideways the springs are taken as stiff at the middle of the axle: their flex is an allowance, `sideways_flex`, 1 to 2
mm per kN for leaf springs (from memory; one open vehicle model has 0.97).
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

import numpy as np
from numpy.polynomial import chebyshev

from clearance.errors import SuspensionError
from clearance.pose import Array
from clearance.suspension.independent import point, points_of
from clearance.suspension.linkage import ARM_MM, Fixed, Plane, Riding, Row, State, cross, rod
from clearance.suspension.links import Link, Strut
from clearance.suspension.live_axle import LiveAxle, axle_on, other_side
from clearance.suspension.position import Cycle
from clearance.suspension.soundness import refuse_slips
from clearance.suspension.steering import Kingpin

Complex = Any
"""Arrays that carry a complex step."""

ARC_RADIUS = 0.75
"""The link's length beside the half's."""
_DEGREE = 20
_BEYOND_MM = 25.0
"""How far past the hubs' travel the clamp's own travel is laid out."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Half:
    """One half of a spring as a link, in the plane (ahead, above)."""

    length_mm: float
    """Along the leaf, edge of the clamp to eye."""
    joint: Array
    """(2,): where the link is pivoted on the clamp, at ride height."""
    eye: Array
    """(2,)."""

    @property
    def link_mm(self) -> float:
        """Between the two."""
        return float(np.linalg.norm(self.eye - self.joint))


def half_from_points(edge: Array, eye: Array) -> Half:
    """The half whose clamp edge and eye are seen here at ride height; (ahead, above) of each.

    Solving (3a/4)^2 = (x - a/4)^2 + y^2 for the length a, with the eye x along the flat leaf and y over it.
    """
    side = float(np.sign(eye[0] - edge[0]))
    x, y = abs(float(eye[0] - edge[0])), float(eye[1] - edge[1])
    length = -0.5 * x + np.sqrt(0.25 * x * x + 2.0 * (x * x + y * y))
    joint = edge + np.array([side * (1.0 - ARC_RADIUS) * length, 0.0])
    return Half(length_mm=float(length), joint=joint, eye=eye)


def half_from_length(edge: Array, length_mm: float, arch_mm: float, side: float) -> Half:
    """The half of this length and arch, mm. Raises SuspensionError where the arch is too much for the length."""
    if abs(arch_mm) >= ARC_RADIUS * length_mm:
        raise SuspensionError(
            f"an arch of {arch_mm:g} mm is too much for a half of {length_mm:g} mm. Measure both again."
        )
    joint = edge + np.array([side * (1.0 - ARC_RADIUS) * length_mm, 0.0])
    reach = np.sqrt((ARC_RADIUS * length_mm) ** 2 - arch_mm**2)
    return Half(length_mm=length_mm, joint=joint, eye=joint + np.array([side * reach, arch_mm]))


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Spring:
    """A whole spring in its own plane: two halves, and the shackle behind."""

    front: Half
    rear: Half
    hanger: Array | None
    """(2,): where the shackle hangs from the car; None where the rear end slides on a level pad."""
    stiffness: tuple[float, float]
    """How stiff the front and rear link's bending is, one beside the other."""

    def clamp_turn_rad(self, rise_mm: Array) -> Array:
        """How far the clamp turns, front edge up, when its middle rises by this much (n,): the least energy."""
        turn = np.zeros(len(rise_mm))
        step = 1e-20j
        for _ in range(60):
            # a complex step gives the slope of the energy's two terms to the last digit
            bent = self._bent(rise_mm, turn + step)
            value, slope = bent.real, bent.imag / 1e-20
            change = -(self._weights @ (value * slope)) / (self._weights @ (slope * slope))
            turn = turn + change
            if np.abs(change).max(initial=0.0) < 1e-14:
                break
        return turn

    def clamp_ahead_mm(self, rise_mm: Array, turn_rad: Array) -> Array:
        """How far the clamp's middle, the origin at ride height, moves ahead (n,)."""
        return np.real(self._ahead(rise_mm, turn_rad + 0j))

    @property
    def _weights(self) -> Array:
        return np.array(self.stiffness)

    def _ahead(self, rise: Array, turn: Complex) -> Complex:
        joint = _turned(self.front.joint, turn)
        drop = self.front.eye[1] - (joint[1] + rise)
        out: Complex = self.front.eye[0] - np.sqrt(self.front.link_mm**2 - drop**2) - joint[0]
        return out

    def _bent(self, rise: Array, turn: Complex) -> Complex:
        """(2, n): how far each link has turned against the clamp, front up."""
        ahead = self._ahead(rise, turn)
        front, rear = _turned(self.front.joint, turn), _turned(self.rear.joint, turn)
        start = self.front.eye - self.front.joint
        now = np.arcsin((self.front.eye[1] - front[1] - rise) / self.front.link_mm)
        first = now - np.arcsin(start[1] / self.front.link_mm) - turn
        back = self._rear_angle(rear[0] + ahead, rear[1] + rise)
        second = back - self._rear_angle(self.rear.joint[:1] + 0j, self.rear.joint[1:] + 0j) - turn
        return np.stack([first, second])

    def _rear_angle(self, x: Complex, z: Complex) -> Complex:
        """The angle of the rear link, from joint back to eye, front up."""
        if self.hanger is None:
            return np.arcsin((z - self.rear.eye[1]) / self.rear.link_mm)
        # the eye is where the link's circle meets the shackle's
        shackle = np.linalg.norm(self.rear.eye - self.hanger)
        dx, dz = self.hanger[0] - x, self.hanger[1] - z
        apart2 = dx * dx + dz * dz
        along = (apart2 + self.rear.link_mm**2 - shackle**2) / (2.0 * apart2)
        off = np.sqrt(self.rear.link_mm**2 / apart2 - along**2) * self._side
        ez = z + along * dz + off * dx
        return np.arcsin((z - ez) / self.rear.link_mm)

    @property
    def _side(self) -> float:
        assert self.hanger is not None
        to_hanger, to_eye = self.hanger - self.rear.joint, self.rear.eye - self.rear.joint
        return float(np.sign(to_hanger[0] * to_eye[1] - to_hanger[1] * to_eye[0]))


def _turned(at: Array, turn: Complex) -> tuple[Complex, Complex]:
    """(ahead, above) of a point of the clamp after it turns front up."""
    return at[0] * np.cos(turn) - at[1] * np.sin(turn), at[0] * np.sin(turn) + at[1] * np.cos(turn)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class ClampTurn:
    """The axle turns as its two clamps would, half of each."""

    name: str
    letters: tuple[str, ...]
    clamps: tuple[Riding, Riding]
    curve: Array
    """Chebyshev coefficients of the turn, radians, over `span`."""
    span: tuple[float, float]
    stiffness: float | None = None
    count: int = 1

    def _scaled(self, state: State, clamp: Riding) -> Array:
        rise = clamp.at(state)[:, 2] - clamp.point[2]
        out: Array = (2.0 * rise - self.span[0] - self.span[1]) / (self.span[1] - self.span[0])
        return np.clip(out, -1.0, 1.0)

    def value(self, state: State) -> Array:
        """Turned too far, at the arm."""
        ahead = state.turn[:, 0, :, 0]
        turned = np.arctan2(ahead[:, 2], ahead[:, 0])
        wanted = sum(chebyshev.chebval(self._scaled(state, clamp), self.curve) for clamp in self.clamps)
        return (ARM_MM * (turned - 0.5 * wanted))[:, None]

    def slope(self, state: State, out: Array) -> None:
        """The axle turns, and each clamp rises."""
        ahead = state.turn[:, 0, :, 0]
        size = ahead[:, 0] ** 2 + ahead[:, 2] ** 2
        gradient = np.stack([-ahead[:, 2] / size, np.zeros(len(size)), ahead[:, 0] / size], axis=1)
        out[:, 0, 3:6] += cross(ahead, gradient)
        derivative = chebyshev.chebder(self.curve) * 2.0 / (self.span[1] - self.span[0])
        for clamp in self.clamps:
            up = np.zeros((len(out), 3))
            up[:, 2] = -0.5 * ARM_MM * chebyshev.chebval(self._scaled(state, clamp), derivative)
            clamp.push(state, up, out[:, 0])


@dataclass(frozen=True, slots=True, kw_only=True)
class _Seat:
    """Where the spring is clamped: across from the hub face, and (ahead, above) of the clamp's middle."""

    across_mm: float
    middle: Array = field(default_factory=lambda: np.zeros(2))

    def place(self, at: Array) -> Array:
        """A point of the spring's plane in corner axes."""
        return np.array([self.middle[0] + at[0], self.across_mm, self.middle[1] + at[1]])


def leaf_spring(
    kind: str, values: Mapping[str, Any], cycle: Cycle, title: str, *, steering_axis: Kingpin | None = None
) -> LiveAxle:
    """From the points of the spring: FE, FC, RC, RE and SH. Raises SuspensionError for points that cannot be."""
    refuse_slips(points_of(values))
    names = ("front_eye", "front_clamp", "rear_clamp", "rear_eye", "shackle_hanger")
    eye, edge, back_edge, back_eye, hanger = (point(values, name) for name in names)
    if not eye[0] > edge[0] > back_edge[0] > back_eye[0]:
        raise SuspensionError(
            f"front to rear the spring's points are front_eye, front_clamp, rear_clamp, rear_eye; they stand at"
            f" {eye[0]:g}, {edge[0]:g}, {back_edge[0]:g} and {back_eye[0]:g} mm ahead. Check them."
        )
    seat = _Seat(across_mm=float(edge[1]), middle=0.5 * (edge + back_edge)[[0, 2]])
    front = half_from_points(edge[[0, 2]] - seat.middle, eye[[0, 2]] - seat.middle)
    rear = half_from_points(back_edge[[0, 2]] - seat.middle, back_eye[[0, 2]] - seat.middle)
    spring = Spring(
        front=front,
        rear=rear,
        hanger=hanger[[0, 2]] - seat.middle,
        stiffness=(1.0 / front.length_mm, 1.0 / rear.length_mm),
    )
    return on_springs(kind, values, cycle, title, spring, seat, steering_axis)


def leaf_arc(
    kind: str, values: Mapping[str, Any], cycle: Cycle, title: str, *, steering_axis: Kingpin | None = None
) -> LiveAxle:
    """From tape numbers alone: the front half's length and arch, where the spring is clamped."""
    length = float(values["half_length"])
    back = float(values.get("rear_half_length", length))
    half_clamp = 0.5 * float(values.get("clamp_length", 0.0))
    seat = _Seat(
        across_mm=-float(values["spring_inboard"]), middle=np.array([0.0, float(values.get("spring_above", 0.0))])
    )
    arch = float(values.get("arch", 0.0))
    front = half_from_length(np.array([half_clamp, 0.0]), length, arch, 1.0)
    rear = half_from_length(np.array([-half_clamp, 0.0]), back, arch * back / length, -1.0)
    spring = Spring(front=front, rear=rear, hanger=None, stiffness=(1.0 / length, 1.0 / back))
    return on_springs(kind, values, cycle, title, spring, seat, steering_axis)


def on_springs(
    kind: str,
    values: Mapping[str, Any],
    cycle: Cycle,
    title: str,
    spring: Spring,
    seat: _Seat,
    steering_axis: Kingpin | None,
) -> LiveAxle:
    """The axle on two such springs. Raises SuspensionError where they are not between hub and middle of the car."""
    track = float(values["track"])
    if not 0.0 < -2.0 * seat.across_mm < track:
        raise SuspensionError(
            f"the springs stand {-seat.across_mm:g} mm inboard of the hub face with a track of {track:g} mm;"
            " each must be"
            f" between its hub and the middle of the car."
        )
    eye, joint, middle = seat.place(spring.front.eye), seat.place(spring.front.joint), seat.place(np.zeros(2))
    there = [other_side(p, track) for p in (eye, joint, middle)]
    span = (
        min(cycle.bump_mm[0], cycle.other_bump_mm[0]) - _BEYOND_MM,
        max(cycle.bump_mm[1], cycle.other_bump_mm[1]) + _BEYOND_MM,
    )
    centre = 0.5 * (middle + there[2])
    rows: list[Row] = [
        rod("front half of the leaf", ("FE", "FC"), Fixed(eye), Riding(joint)),
        rod("other leaf's front half", ("FE", "FC"), Fixed(there[0]), Riding(there[1])),
        Plane(
            name="springs, sideways",
            letters=("FC",),
            point=Riding(centre),
            normal=np.array([0.0, 1.0, 0.0]),
            height_mm=float(centre[1]),
        ),
        ClampTurn(
            name="clamps",
            letters=("FC", "RC"),
            clamps=(Riding(middle), Riding(there[2])),
            curve=clamp_curve(spring, span, title),
            span=span,
        ),
    ]
    links: list[Link] = [Strut(name="leaf", inner=Fixed(eye), outer=Riding(middle))]
    return axle_on(kind, values, cycle, title, rows, links, steering_axis=steering_axis)


def clamp_curve(spring: Spring, span: tuple[float, float], title: str) -> Array:
    """The clamp's turn over its travel, as a polynomial good to the last digits that matter.

    Raises SuspensionError where a half or the shackle is pulled straight inside the travel.
    """
    nodes = np.cos(np.pi * (np.arange(_DEGREE + 1) + 0.5) / (_DEGREE + 1))
    rise = 0.5 * (span[0] + span[1]) + 0.5 * (span[1] - span[0]) * nodes
    with np.errstate(invalid="ignore"):
        turn = spring.clamp_turn_rad(rise)
    if not np.isfinite(turn).all():
        bad = float(rise[~np.isfinite(turn)][np.argmin(np.abs(rise[~np.isfinite(turn)]))])
        raise SuspensionError(
            f"{title}: near {bad:.0f} mm of travel the spring's half or its shackle is pulled straight. Check"
            " front_eye,"
            f" rear_eye and shackle_hanger, or reduce the travel."
        )
    curve: Array = np.asarray(chebyshev.chebfit(nodes, turn, _DEGREE), dtype=float)
    still = -(span[0] + span[1]) / (span[1] - span[0])
    curve[0] -= chebyshev.chebval(still, curve)
    return curve
