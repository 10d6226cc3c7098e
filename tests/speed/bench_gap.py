"""How fast a whole continuous cycle is certified, beside general libraries in the same run.

Prints figures and ratios; asserts nothing. `python tests/speed/bench_gap.py [triangles ...]`

* fcl       - python-fcl: distance of a 180-segment tire mesh to the well at 21 x 21 positions; answers 0 when
              surfaces cross and misses what lies between positions
* clearance - at_least and at_most over the whole continuous cycle, 0.05 mm apart

Tree building counts on both sides. The tire, path and tree of each run are made anew; the median of three runs is
printed.
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
from clearance.geom.tree import Tree

SIZES = (5_000, 50_000, 500_000, 1_000_000)
LIFT_MM = 80.0


def timed(work: Callable[[], object], runs: int = 3) -> tuple[float, object]:
    """Median seconds and the last result."""
    seconds, result = [], None
    for _ in range(runs):
        start = time.perf_counter()
        result = work()
        seconds.append(time.perf_counter() - start)
    return statistics.median(seconds), result


def by_fcl(triangles: np.ndarray) -> tuple[float, float, float]:
    """Seconds of tree, seconds of queries, least distance."""
    import fcl

    start = time.perf_counter()
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
    built = time.perf_counter()
    still = fcl.CollisionObject(model, fcl.Transform())
    path = scene.path()
    from clearance.pose import turn_onto

    grid = np.array(np.meshgrid(np.linspace(-100, 100, 21), np.linspace(-35, 35, 21), indexing="ij")).reshape(2, -1).T
    centre, axis = path.at(grid)
    least = np.inf
    request, moving = fcl.DistanceRequest(), fcl.CollisionObject(tire, fcl.Transform())
    for c, u in zip(centre, axis, strict=True):
        moving.setTransform(fcl.Transform(turn_onto(u), c))
        least = min(least, fcl.distance(moving, still, request, fcl.DistanceResult()))
    return built - start, time.perf_counter() - built, float(least)


def _lathed(ring: np.ndarray, turns: int) -> tuple[np.ndarray, np.ndarray]:
    from clearance.geom.revolve import lathe

    return lathe(ring, turns)


def by_clearance(triangles: np.ndarray) -> tuple[float, float, object]:
    """Seconds of tree, seconds of everything else, the bracket."""
    start = time.perf_counter()
    tree = Tree(triangles)
    built = time.perf_counter()
    found = bracket(triangles, scene.path(), scene.tire(), tree=tree)
    return built - start, time.perf_counter() - built, found


def main() -> None:
    """Print the table."""
    sizes = [int(word) for word in sys.argv[1:]] or SIZES
    print("triangles   fcl tree + queries    clearance tree + cycle   ratio   fcl least   certified")
    for size in sizes:
        triangles = scene.well(size, lift_mm=LIFT_MM)
        ours = sorted((by_clearance(triangles) for _ in range(3)), key=lambda r: r[0] + r[1])[1]
        found = ours[2]
        try:
            theirs = sorted((by_fcl(triangles) for _ in range(3)), key=lambda r: r[0] + r[1])[1]
            ratio = f"{(theirs[0] + theirs[1]) / (ours[0] + ours[1]):5.1f} x"
            fcl_words, least = f"{theirs[0]:6.2f} + {theirs[1]:5.2f} s", f"{theirs[2]:8.3f}"
        except ImportError:
            ratio, fcl_words, least = "      -", "   not installed ", "       -"
        low, high = found.at_least_mm, found.at_most_mm  # type: ignore[attr-defined]
        print(
            f"{len(triangles):9}   {fcl_words:>17}     {ours[0]:6.2f} + {ours[1]:5.2f} s   {ratio}   {least}"
            f"   {low:.3f} .. {high:.3f} mm"
        )
    print(f"peak memory of the whole run: {resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024:.0f} MB")
    corners = scene.well(sizes[-1], lift_mm=LIFT_MM)
    vertices = np.unique(corners.reshape(-1, 3).round(1), axis=0)[: len(corners) // 2 + 1000]
    seconds, _ = timed(lambda: least_over_path(vertices, scene.path(), scene.tire()), runs=1)
    print(f"least gap over the cycle of {len(vertices)} vertices ({len(corners)} triangles): {seconds:.1f} s")


if __name__ == "__main__":
    main()
