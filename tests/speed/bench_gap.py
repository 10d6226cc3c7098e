"""How fast a whole continuous cycle is certified, beside general libraries in the same run.

Prints figures and ratios; asserts nothing. `python tests/speed/bench_gap.py [triangles ...]`

* steered   - a corner that travels and steers
* tilting   - the end of a rigid axle: travel of both ends, as far apart as its articulation allows
* fcl       - python-fcl: distance of a 180-segment tire mesh to the well at 21 x 21 positions, less those that the
              articulation forbids; answers 0 when surfaces cross and misses what lies between positions
* clearance - at_least and at_most over the whole continuous cycle, 0.05 mm apart

Processor time. Tree building counts on both sides. The tire, path and tree of each run are made anew; the median of
three runs is printed.
"""

from __future__ import annotations

import resource
import statistics
import sys
import time
from collections.abc import Callable

import numpy as np
import scene

from clearance.geom.bracket import bracket
from clearance.geom.field import least_over_path
from clearance.geom.limit import Limit
from clearance.geom.path import Path
from clearance.geom.tree import Tree
from clearance.steady import steady

Motion = Callable[[], tuple[Path, tuple[Limit, ...]]]

SCENES: dict[str, Motion] = {"steered": lambda: (scene.path(), ()), "tilting": scene.tilting}
SIZES = (5_000, 50_000, 500_000, 1_000_000)
LIFT_MM = 80.0


def timed(work: Callable[[], object], runs: int = 3) -> tuple[float, object]:
    """Median seconds and the last result."""
    seconds, result = [], None
    for _ in range(runs):
        start = time.process_time()
        result = work()
        seconds.append(time.process_time() - start)
    return statistics.median(seconds), result


def by_fcl(triangles: np.ndarray, motion: Motion) -> tuple[float, float, float]:
    """Seconds of tree, seconds of queries, least distance."""
    import fcl

    start = time.process_time()
    corners = triangles.reshape(-1, 3)
    model = fcl.BVHModel()
    model.beginModel(len(corners), len(triangles))
    model.addSubModel(corners, np.arange(len(corners)).reshape(-1, 3))
    model.endModel()
    ring = scene.tire().profile.outline(0.35)
    vertices, faces = _lathed(ring, 180)
    tire = fcl.BVHModel()
    tire.beginModel(len(vertices), len(faces))
    tire.addSubModel(vertices, faces)
    tire.endModel()
    built = time.process_time()
    still = fcl.CollisionObject(model, fcl.Transform())
    path, limits = motion()
    from clearance.pose import turn_onto

    lines = [np.linspace(low, high, 21) for low, high in path.box]
    grid = np.array(np.meshgrid(*lines, indexing="ij")).reshape(2, -1).T
    for limit in limits:
        grid = grid[limit.allows(grid)]
    centre, axis = path.at(grid)
    least = np.inf
    request, moving = fcl.DistanceRequest(), fcl.CollisionObject(tire, fcl.Transform())
    for c, u in zip(centre, axis, strict=True):
        moving.setTransform(fcl.Transform(turn_onto(u), c))
        least = min(least, fcl.distance(moving, still, request, fcl.DistanceResult()))
    return built - start, time.process_time() - built, float(least)


def _lathed(ring: np.ndarray, turns: int) -> tuple[np.ndarray, np.ndarray]:
    from clearance.geom.revolve import lathe

    return lathe(ring, turns)


def by_clearance(triangles: np.ndarray, motion: Motion) -> tuple[float, float, object]:
    """Seconds of tree, seconds of everything else, the bracket."""
    start = time.process_time()
    tree = Tree(triangles)
    built = time.process_time()
    path, limits = motion()
    # sums by one thread, as a check makes them
    found = steady(bracket)(triangles, path, scene.tire(), limits=limits, tree=tree)
    return built - start, time.process_time() - built, found


def row(name: str, motion: Motion, size: int) -> str:
    """One scene with so many triangles, both ways."""
    triangles = scene.well(size, lift_mm=LIFT_MM)
    ours = sorted((by_clearance(triangles, motion) for _ in range(3)), key=lambda r: r[0] + r[1])[1]
    found = ours[2]
    try:
        theirs = sorted((by_fcl(triangles, motion) for _ in range(3)), key=lambda r: r[0] + r[1])[1]
        ratio = f"{(theirs[0] + theirs[1]) / (ours[0] + ours[1]):5.1f} x"
        fcl_words, least = f"{theirs[0]:6.2f} + {theirs[1]:5.2f} s", f"{theirs[2]:8.3f}"
    except ImportError:
        ratio, fcl_words, least = "      -", "   not installed ", "       -"
    low, high = found.at_least_mm, found.at_most_mm  # type: ignore[attr-defined]
    return (
        f"{name}   {len(triangles):9}   {fcl_words:>17}     {ours[0]:6.2f} + {ours[1]:5.2f} s   {ratio}   {least}"
        f"   {low:.3f} .. {high:.3f} mm"
    )


def main() -> None:
    """Print the table."""
    sizes = [int(word) for word in sys.argv[1:]] or SIZES
    print("scene     triangles   fcl tree + queries    clearance tree + cycle   ratio   fcl least   certified")
    for name, motion in SCENES.items():
        for size in sizes:
            print(row(name, motion, size), flush=True)
    print(f"peak memory of the whole run: {resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024:.0f} MB")
    corners = scene.well(sizes[-1], lift_mm=LIFT_MM)
    vertices = np.unique(corners.reshape(-1, 3).round(1), axis=0)[: len(corners) // 2 + 1000]
    seconds, _ = timed(lambda: steady(least_over_path)(vertices, scene.path(), scene.tire()), runs=1)
    print(f"least gap over the cycle of {len(vertices)} vertices ({len(corners)} triangles): {seconds:.1f} s")


if __name__ == "__main__":
    main()
