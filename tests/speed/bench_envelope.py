"""How fast a whole cycle's envelope is made and proven, beside a general solid library's union in the same run.

Prints figures and ratios; asserts nothing. `python tests/speed/bench_envelope.py [scene ...]`

* clearance - the envelope of the wheel as a disc at 0.5 mm of slack: held at every position of the continuous cycle,
              play and the limit on articulation among them, and the slack proven
* union     - manifold3d: the union of the same wheel at 441 positions, 21 x 21 where two numbers vary, as a mesh of
              180 turns and chords within 0.1 mm. It misses what lies between positions and says nothing of how much.
              Play is ignored, and positions that the limit on articulation forbids are left out

The union is made of the true, hollow wheel, and of the disc that the envelope holds. Fitting the path, making meshes
and posing them counts on both sides; loading the corner file on neither. Every row is a process of its own, so that
its memory is its own.

Then what a check with all its files takes over a plain one, and how long the command takes to start, in processor time
with that of its helpers. The anchors are what was measured before planes held most faces of an envelope, and what is
aimed at. `--files` prints this table alone.
"""

from __future__ import annotations

import json
import os
import resource
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable
from pathlib import Path as File

import numpy as np
import scene

from clearance.envelope.build import begin_around
from clearance.geom.limit import Limit
from clearance.geom.nearest import Nearest
from clearance.geom.path import Path
from clearance.geom.revolve import Solid, closed, lathe
from clearance.pose import turn_onto

CORNERS = File(__file__).resolve().parents[2] / "fixtures" / "corners"
SLACK_MM = 0.5
TURNS, CHORD_MM = 180, 0.1
POSITIONS = 441
SCENES = ("scene", "orchard-pickup-rear", "heron-roadster-front")
OVER = {
    "heron-roadster-front": 24.0, "sorrel-sedan-front": 14.0, "tern-coupe-rear": 14.0, "orchard-pickup-rear": 4.2,
}  # fmt: skip
"""Corners, and how many times a plain check one with its files took before."""
PICKUP = CORNERS / "orchard-pickup-rear.toml"
WAYS = ("clearance", "union of discs", "union, hollow")

Motion = Callable[[], tuple[Path, tuple[Limit, ...]]]


def given(name: str) -> tuple[Solid, Motion, float]:
    """The wheel, how to fit its path (path and limits), and by how much its motion is uncertain."""
    if name == "scene":
        return scene.tire(), lambda: (scene.path(), ()), 0.0
    from clearance.description.load import load
    from clearance.mockup.paths import hub_path

    mockup = load(CORNERS / f"{name}.toml")

    def motion() -> tuple[Path, tuple[Limit, ...]]:
        seen = hub_path(mockup.suspension, mockup.solid.reach_mm)
        return seen.path, seen.limits

    return mockup.solid, motion, mockup.suspension.uncertainty_mm


def by_clearance(solid: Solid, motion: Motion, grown_mm: float) -> dict[str, object]:
    """The proven envelope."""
    path, limits = motion()
    (envelope,) = begin_around(Nearest(path, closed(solid), limits), (grown_mm,), slack_mm=SLACK_MM)(None)
    a, b, c = (envelope.vertices_mm[envelope.faces[:, i]] for i in range(3))
    return {
        "triangles": len(envelope.faces),
        "litres": float(np.einsum("ij,ij->i", a, np.cross(b, c)).sum()) / 6e6,
        "said": f"slack {envelope.slack_mm:.3f} mm, proven",
    }


def by_union(solid: Solid, motion: Motion) -> dict[str, object]:
    """The union of the wheel at positions over the cycle, play at its middle."""
    from manifold3d import Manifold, Mesh, OpType

    path, limits = motion()
    smooth = len(path.sizes)
    each = round(POSITIONS ** (1 / smooth))
    lines = [np.linspace(*path.box[i], each) for i in range(smooth)]
    settings = np.array(np.meshgrid(*lines, indexing="ij")).reshape(smooth, -1).T
    if path.slide is not None:
        settings = np.column_stack([settings, np.repeat(path.box[-2:].mean(axis=1)[None], len(settings), axis=0)])
    for limit in limits:
        settings = settings[limit.allows(settings)]
    centre, axis = path.at(settings)
    places, faces = lathe(solid.profile.outline(CHORD_MM), TURNS)
    corners = faces.astype(np.uint32)
    posed = [
        Manifold(Mesh((places @ turn_onto(u).T + c).astype(np.float32), corners))
        for c, u in zip(centre, axis, strict=True)
    ]
    whole = Manifold.batch_boolean(posed, OpType.Add)
    return {
        "triangles": whole.num_tri(),
        "litres": whole.volume() / 1e6,
        "said": f"{len(settings)} positions of {len(faces)} triangles",
    }


def row(name: str, way: str) -> dict[str, object]:
    """One scene one way: what came of it, seconds and peak memory of this process."""
    solid, motion, grown_mm = given(name)
    if way == "union of discs":
        solid = closed(solid)
    start, busy = time.perf_counter(), time.process_time()
    found = by_clearance(solid, motion, grown_mm) if way == "clearance" else by_union(solid, motion)
    found["seconds"], found["processor"] = time.perf_counter() - start, time.process_time() - busy
    found["megabytes"] = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    return found


def took(*words: str, bytecode: str) -> float:
    """Processor seconds of the command with these words, its helpers among them; compiled modules lie in `bytecode`."""
    given = {name: value for name, value in os.environ.items() if name != "PYTHONDONTWRITEBYTECODE"}
    before = resource.getrusage(resource.RUSAGE_CHILDREN)
    # exit code 1 says that a part is too close, which is an answer too
    subprocess.run(
        [sys.executable, "-m", "clearance_cli.main", *words],
        capture_output=True,
        check=False,
        env={**given, "PYTHONPYCACHEPREFIX": bytecode},
    )
    after = resource.getrusage(resource.RUSAGE_CHILDREN)
    return after.ru_utime + after.ru_stime - before.ru_utime - before.ru_stime


def files() -> None:
    """Print what all files of a check take over the check, and the start."""
    with tempfile.TemporaryDirectory() as folder:
        _files(folder)


def _files(folder: str) -> None:
    # as on any machine after the first time: no module is compiled in front of an answer
    kept = f"{folder}/bytecode"
    took("check", str(PICKUP), "--out", f"{folder}/first", bytecode=kept)
    print("corner                  plain s   with its files s    ratio   before     aim   (processor time)")
    for name, before in OVER.items():
        corner = str(CORNERS / f"{name}.toml")
        plain = took("check", corner, bytecode=kept)
        whole = took("check", corner, "--out", f"{folder}/{name}", bytecode=kept)
        print(f"{name:<22} {plain:8.2f}   {whole:16.2f}   {whole / plain:4.1f} x   {before:4.1f} x    4 x", flush=True)
    print(f"--help: {min(took('--help', bytecode=kept) for _ in range(3)):.2f} s (aim 0.10 s)")
    print(f"check of the pickup: {min(took('check', str(PICKUP), bytecode=kept) for _ in range(3)):.2f} s (aim 0.5 s)")


def main() -> None:
    """Print the tables."""
    if sys.argv[1:2] == ["--row"]:
        print(json.dumps(row(*sys.argv[2:4])))
        return
    if sys.argv[1:2] != ["--files"]:
        envelopes()
    if not sys.argv[1:] or sys.argv[1:2] == ["--files"]:
        files()


def envelopes() -> None:
    """Print the table of envelopes and unions."""
    print("scene                  way               triangles    litres   seconds   processor s   ratio   peak MB")
    for name in sys.argv[1:] or SCENES:
        ours = 0.0
        for way in WAYS:
            asked = [sys.executable, __file__, "--row", name, way]
            done = subprocess.run(asked, capture_output=True, text=True, check=False)
            if done.returncode != 0:
                said = done.stderr.strip().splitlines() or [f"ended by {done.returncode}"]
                print(f"{name:<22} {way:<16} {said[-1]}")
                continue
            found = json.loads(done.stdout.splitlines()[-1])
            ours = found["processor"] if way == "clearance" else ours or np.nan
            print(
                f"{name:<22} {way:<16} {found['triangles']:10}   {found['litres']:7.2f}   {found['seconds']:7.1f}"
                f"   {found['processor']:11.1f}   {found['processor'] / ours:4.1f} x   {found['megabytes']:7.0f}"
                f"   {found['said']}",
                flush=True,
            )


if __name__ == "__main__":
    main()
