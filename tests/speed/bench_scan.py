"""How long a scan of two million triangles takes, and how much memory: `python tests/speed/bench_scan.py [million]`.

Each row is a process of its own, so that its memory is its own. The scan is made by fixtures/scans/make_scan.py. The
aim is a minute and 4 GB on two cores; the figures are printed, nothing is asserted. Then a corner whose part is a scan
of half as many, through `check` and `check --out`: how many seconds of the processor, and how much memory at most; of
a million triangles the aim is 600 MB.
"""

from __future__ import annotations

import resource
import subprocess
import sys
import tempfile
import time
from collections.abc import Sequence
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
sys.path.insert(0, str(ROOT / "fixtures" / "scans"))
sys.path.insert(0, str(ROOT))


def make(folder: Path, million: float) -> int:
    """Writes the scan as PLY, STL and OBJ; how many triangles it has."""
    import make_scan
    import numpy as np

    scan = make_scan.scanned(
        np.random.default_rng(7), pitch_mm=1.46 / million**0.5, holes=40, hole_mm=20.0, strays=int(2000 * million)
    )
    for ending, write in (("ply", make_scan.ply_bytes), ("stl", make_scan.stl_bytes), ("obj", make_scan.obj_bytes)):
        (folder / f"big.{ending}").write_bytes(write(scan.vertices, scan.faces))
    return len(scan.faces)


def look(file: str) -> None:
    """The whole scan verb, with its picture."""
    from clearance_cli.main import run

    run(["scan", file, "--unit", "m", "--place", "corner axes", "--picture", f"{file}.png", "--json"])


def place(file: str) -> None:
    """Read, cleaned, cut and made a part."""
    from clearance.well.scan import AxleRegion, Cleaning, Removal, scan_parts

    rotor = Removal(name="rotor", region=AxleRegion(radius_mm=160.0, from_mm=-40.0, to_mm=10.0))
    scan_parts(file, name="big", unit="m", remove=[rotor], cleaning=Cleaning(stray_below_mm=20.0))


def decimate(file: str) -> None:
    """The same, to a tenth of the triangles with a proven bound."""
    from clearance.well.scan import Cleaning, scan_parts
    from clearance.well.scan_read import read_mesh

    raw = read_mesh(file)
    (part,) = scan_parts(
        raw, name="big", unit="m", cleaning=Cleaning(stray_below_mm=20.0, decimate_to=len(raw.faces) // 10)
    )
    sys.stderr.write(f"{part.notes[-2]}\n")


CORNER = """
corner = "rear-left"
tire = { size = "205/55R16" }
wheel = { diameter = "16 in", width = "6.5 in", offset = "45 mm" }
suspension = { kind = "straight", bump = "68 mm", droop = "80 mm", camber = "-1 deg", camber_per_100mm = "-1.8 deg" }

[[part]]
name = "scanned well"
kind = "mesh"
file = "FILE"
unit = "m"
place = "corner axes"
remove = [{ name = "rotor", axle = { radius = "160 mm", from = "-40 mm", to = "10 mm" } }]
stray = "20 mm"
uncertainty = "2 mm"
required = "25 mm"
"""


def check(file: str, *more: str) -> None:
    """The whole check of a corner whose part is this scan."""
    from clearance_cli.main import run

    corner = Path(file).with_suffix(".toml")
    corner.write_text(CORNER.replace("FILE", Path(file).name), encoding="utf-8")
    run(["check", str(corner), *more])


def check_out(file: str) -> None:
    """The same with every file of it written."""
    check(file, "--out", f"{file}-files")


VERBS = {"look": look, "place": place, "decimate": decimate, "check": check, "check-out": check_out}


def told(verb: str, file: str) -> None:
    """Does it, and says how long it took and how much memory at most, its own and that of processes it started."""
    start = time.perf_counter()
    VERBS[verb](file)
    own, others = resource.getrusage(resource.RUSAGE_SELF), resource.getrusage(resource.RUSAGE_CHILDREN)
    used = own.ru_utime + own.ru_stime + others.ru_utime + others.ru_stime
    beside = f" and {others.ru_maxrss / 1024:.0f} MB beside it" if others.ru_maxrss else ""
    sys.stderr.write(
        f"\n{time.perf_counter() - start:.1f} s ({used:.1f} s of processor), {own.ru_maxrss / 1024:.0f} MB{beside}\n"
    )


def main() -> None:
    """Prints a row for each question and format."""
    if len(sys.argv) == 3:
        told(*sys.argv[1:])
        return
    million = float(sys.argv[1]) if len(sys.argv) > 1 else 2.0
    rows(million, (("look", "ply"), ("look", "stl"), ("look", "obj"), ("place", "ply"), ("decimate", "ply")))
    rows(million / 2.0, (("check", "ply"), ("check", "stl"), ("check-out", "ply"), ("check-out", "stl")))


def rows(million: float, asked: Sequence[tuple[str, str]]) -> None:
    """A row for each verb and format, of one scan."""
    with tempfile.TemporaryDirectory() as folder:
        count = make(Path(folder), million)
        sys.stdout.write(f"{count:,} triangles\n")
        for verb, ending in asked:
            command = [sys.executable, __file__, verb, f"{folder}/big.{ending}"]
            done = subprocess.run(command, capture_output=True, text=True, check=True)
            lines = [line for line in done.stderr.splitlines() if line][-2 if verb == "decimate" else -1 :]
            sys.stdout.write(f"  {verb:<9} {ending}   {' | '.join(lines)}\n")


if __name__ == "__main__":
    main()
