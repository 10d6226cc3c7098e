"""The same hardpoints in two general multibody libraries, which know nothing of rods that stand for arms.

Here the arms are bodies with a hinge and a ball joint each, so that agreement checks that a wishbone is two rods and
not only the algebra. Skipped, with the reason, where a library is not installed (pip install exudyn mujoco).

* exudyn - static solutions of its own redundant coordinates and hard constraints
* MuJoCo - used for its geometry and constraint Jacobians; its own time stepping has soft constraints and is no oracle
"""

from __future__ import annotations

import importlib

import numpy as np
import pytest

from clearance.suspension.kinds import build
from clearance.suspension.position import Cycle

BUMPS = (-100.0, -40.0, 60.0, 100.0)
AGREE_MM = 1e-6
"""Both solvers stop at residuals of 1e-10 m or less."""


def ours(points, bumps=BUMPS):
    suspension = build(points.kind, points.values, Cycle(bump_mm=(min(bumps), max(bumps))))
    knuckle = suspension.pose([[bump, 0.0, 0.0] for bump in bumps], "knuckle")
    return knuckle.origin_mm, knuckle.turn


def library(name):
    # their own imports may warn of what they deprecate; that is not ours to fail on
    import warnings

    pytest.importorskip(name, reason=f"{name} is not installed: pip install {name}")
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        return importlib.import_module(name)


@pytest.mark.filterwarnings("ignore")
def test_exudyn_puts_the_double_wishbone_where_we_do(hardpoints, capfd):
    exudyn = library("exudyn")
    library("exudyn.utilities")
    points = hardpoints("heavy-off-road-front")
    origin, turn = ours(points)
    for index, bump in enumerate(BUMPS):
        found_origin, found_turn = by_exudyn(exudyn, points.values, bump)
        assert found_origin == pytest.approx(origin[index], abs=AGREE_MM)
        assert found_turn == pytest.approx(turn[index], abs=1e-9)
    capfd.readouterr()


def by_exudyn(exudyn, points, bump_mm):
    """Upright, two hinged arms, a tie rod, and the hub's height raised in ten load steps; metres inside."""
    from exudyn.rigidBodyUtilities import InertiaCuboid

    p = {name: value / 1000.0 for name, value in points.items()}
    system = exudyn.SystemContainer().AddSystem()
    ground = system.CreateGround()

    def body(at):
        return system.CreateRigidBody(
            referencePosition=list(at), inertia=InertiaCuboid(1000.0, [0.1, 0.1, 0.1]), gravity=[0.0, 0.0, 0.0]
        )

    upright = body(np.zeros(3))
    for which in ("upper", "lower"):
        front, rear, ball = (p[f"{which}_{name}"] for name in ("front", "rear", "ball"))
        arm = body(front)
        axis = (rear - front) / np.linalg.norm(rear - front)
        system.CreateRevoluteJoint(bodyNumbers=[ground, arm], position=list(front), axis=list(axis))
        system.CreateSphericalJoint(bodyNumbers=[arm, upright], position=list(ball))
    system.CreateDistanceConstraint(
        bodyNumbers=[ground, upright],
        localPosition0=list(p["tie_inner"]),
        localPosition1=list(p["tie_outer"]),
    )
    rise = bump_mm / 1000.0

    def raised(_system, t, _item, _parameters):
        return [0.0, 0.0, rise * t, 0.0, 0.0, 0.0]

    system.CreateGenericJoint(
        bodyNumbers=[ground, upright],
        position=[0.0, 0.0, 0.0],
        constrainedAxes=[0, 0, 1, 0, 0, 0],
        offsetUserFunction=raised,
    )
    system.Assemble()
    settings = exudyn.SimulationSettings()
    settings.staticSolver.numberOfLoadSteps = 10
    settings.staticSolver.stabilizerODE2term = 1
    settings.staticSolver.newton.relativeTolerance = 1e-13
    settings.staticSolver.newton.absoluteTolerance = 1e-12
    settings.linearSolverSettings.ignoreSingularJacobian = True
    settings.linearSolverType = exudyn.LinearSolverType.EigenDense
    settings.staticSolver.verboseMode = 0
    settings.displayComputationTime = False
    settings.solutionSettings.writeSolutionToFile = False
    exudyn.SolveStatic(system, settings)
    read = exudyn.OutputVariableType
    origin = np.array(system.GetObjectOutputBody(upright, read.Position, [0.0, 0.0, 0.0])) * 1000.0
    turn = np.array(system.GetObjectOutputBody(upright, read.RotationMatrix, [0.0, 0.0, 0.0])).reshape(3, 3)
    return origin, turn


WISHBONE_XML = """
<mujoco>
  <option jacobian="dense"/>
  <worldbody>
    <site name="tie inner" pos="{tie_inner}"/>
    <body name="upright"><freejoint/><geom size="0.01" mass="1"/>
      <site name="upper" pos="{upper_ball}"/><site name="lower" pos="{lower_ball}"/>
      <site name="tie outer" pos="{tie_outer}"/>
    </body>
    <body name="upper arm" pos="{upper_front}"><joint type="hinge" axis="{upper_axis}"/><geom size="0.01" mass="1"/>
      <site name="upper end" pos="{upper_arm}"/>
    </body>
    <body name="lower arm" pos="{lower_front}"><joint type="hinge" axis="{lower_axis}"/><geom size="0.01" mass="1"/>
      <site name="lower end" pos="{lower_arm}"/>
    </body>
    <body name="tie rod" pos="{tie_inner}"><joint type="ball"/><geom size="0.01" mass="1"/>
      <site name="tie end" pos="{tie_rod}"/>
    </body>
  </worldbody>
  <equality>
    <connect site1="upper" site2="upper end"/>
    <connect site1="lower" site2="lower end"/>
    <connect site1="tie outer" site2="tie end"/>
  </equality>
</mujoco>
"""


@pytest.mark.filterwarnings("ignore")
def test_mujoco_puts_the_double_wishbone_where_we_do(hardpoints):
    mujoco = library("mujoco")
    points = hardpoints("heavy-off-road-front")
    origin, turn = ours(points)
    for index, bump in enumerate(BUMPS):
        found_origin, found_turn = by_mujoco(mujoco, points.values, bump)
        assert found_origin == pytest.approx(origin[index], abs=AGREE_MM)
        assert found_turn == pytest.approx(turn[index], abs=1e-9)


def by_mujoco(mujoco, points, bump_mm):
    """Newton on MuJoCo's own constraint residuals and Jacobian, with the hub's height as one more row."""
    p = {name: value / 1000.0 for name, value in points.items()}
    arms = {
        "upper_axis": p["upper_rear"] - p["upper_front"],
        "lower_axis": p["lower_rear"] - p["lower_front"],
        "upper_arm": p["upper_ball"] - p["upper_front"],
        "lower_arm": p["lower_ball"] - p["lower_front"],
        "tie_rod": p["tie_outer"] - p["tie_inner"],
    }
    text = {name: " ".join(f"{v:.17g}" for v in value) for name, value in (p | arms).items()}
    xml = WISHBONE_XML.format(**text)
    model = mujoco.MjModel.from_xml_string(xml)
    data = mujoco.MjData(model)
    upright = model.body("upright").id
    for part in np.linspace(0.1, 1.0, 10):
        for _ in range(12):
            mujoco.mj_fwdPosition(model, data)
            jacobian = data.efc_J.reshape(data.nefc, model.nv)[: data.ne]
            rise = np.zeros((3, model.nv))
            mujoco.mj_jacBody(model, data, rise, None, upright)
            left = np.append(data.efc_pos[: data.ne], data.xpos[upright, 2] - part * bump_mm / 1000.0)
            step = np.linalg.lstsq(np.vstack([jacobian, rise[2]]), -left, rcond=None)[0]
            mujoco.mj_integratePos(model, data.qpos, step, 1.0)
            if np.abs(left).max() < 1e-14:
                break
    mujoco.mj_fwdPosition(model, data)
    return data.xpos[upright] * 1000.0, data.xmat[upright].reshape(3, 3)


def rods_by_mujoco(mujoco, rods, hubs, rises_mm):
    """An axle as a free body on rods of their own; ball joints at the car, connected at the axle."""
    rows = []
    sites = []
    for index, (car, axle) in enumerate(rods):
        arm = " ".join(f"{v:.17g}" for v in axle - car)
        at = " ".join(f"{v:.17g}" for v in car)
        sites.append(f'<site name="a{index}" pos="{" ".join(f"{v:.17g}" for v in axle)}"/>')
        rows.append(
            f'<body pos="{at}"><joint type="ball"/><geom size="0.01" mass="1"/>'
            f'<site name="r{index}" pos="{arm}"/></body>'
        )
    xml = (
        '<mujoco><option jacobian="dense"/><worldbody><body name="axle"><freejoint/><geom size="0.01" mass="1"/>'
        + "".join(sites)
        + "</body>"
        + "".join(rows)
        + "</worldbody><equality>"
        + "".join(f'<connect site1="a{i}" site2="r{i}"/>' for i in range(len(rods)))
        + "</equality></mujoco>"
    )
    model = mujoco.MjModel.from_xml_string(xml)
    data = mujoco.MjData(model)
    axle = model.body("axle").id
    for part in np.linspace(0.1, 1.0, 10):
        for _ in range(15):
            mujoco.mj_fwdPosition(model, data)
            jacobian = [data.efc_J.reshape(data.nefc, model.nv)[: data.ne]]
            left = [data.efc_pos[: data.ne]]
            for hub, rise in zip(hubs, rises_mm, strict=True):
                place = data.xpos[axle] + data.xmat[axle].reshape(3, 3) @ hub
                row = np.zeros((3, model.nv))
                mujoco.mj_jac(model, data, row, None, place, axle)
                jacobian.append(row[2:])
                left.append(np.array([place[2] - hub[2] - part * rise / 1000.0]))
            residual = np.concatenate(left)
            step = np.linalg.lstsq(np.vstack(jacobian), -residual, rcond=None)[0]
            mujoco.mj_integratePos(model, data.qpos, step, 1.0)
            if np.abs(residual).max() < 1e-14:
                break
    mujoco.mj_fwdPosition(model, data)
    turn = data.xmat[axle].reshape(3, 3)
    return [(data.xpos[axle] + turn @ hub) * 1000.0 for hub in hubs]


@pytest.mark.filterwarnings("ignore")
@pytest.mark.parametrize("rises", [(80.0, -80.0), (50.0, 0.0), (-60.0, -75.0)])
def test_mujoco_puts_the_four_link_axle_where_we_do(hardpoints, rises):
    mujoco = library("mujoco")
    points = hardpoints("generic-four-link")
    track = points.values["track"]
    suspension = build(points.kind, points.values, Cycle(bump_mm=(-80, 80), other_bump_mm=(-80, 80)))
    axle = suspension.pose([[*rises, 0.0]], "axle")
    mirror = np.array([0.0, -track, 0.0])
    rods = []
    for which in ("upper", "lower"):
        on_axle, on_car = points.values[f"{which}_axle"] / 1000.0, points.values[f"{which}_body"] / 1000.0
        flip = np.array([1.0, -1.0, 1.0])
        rods += [(on_car, on_axle), (on_car * flip + mirror / 1000.0, on_axle * flip + mirror / 1000.0)]
    here, there = rods_by_mujoco(mujoco, rods, [np.zeros(3), mirror / 1000.0], rises)
    assert here == pytest.approx(axle.origin_mm[0], abs=AGREE_MM)
    assert there == pytest.approx(axle.carry(mirror)[0], abs=AGREE_MM)
