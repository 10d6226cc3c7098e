"""How long a scan of two million triangles takes, and how much memory: `python tests/speed/bench_scan.py [million]`.

Each row is a process of its own, so that its memory is its own. The scan is made by fixtures/scans/make_scan.py. The
aim is a minute and 4 GB on two cores; the figures are printed, nothing is asserted.
"""

from __future__ import annotations

import resource
import subprocess
import sys
import tempfile
import time
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


def main() -> None:
    """Prints a row for each question and format."""
    if len(sys.argv) == 3 and sys.argv[1] in ("look", "place", "decimate"):
        start = time.perf_counter()
        {"look": look, "place": place, "decimate": decimate}[sys.argv[1]](sys.argv[2])
        peak_mb = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
        sys.stderr.write(f"{time.perf_counter() - start:.1f} s, {peak_mb:.0f} MB\n")
        return
    million = float(sys.argv[1]) if len(sys.argv) > 1 else 2.0
    with tempfile.TemporaryDirectory() as folder:
        count = make(Path(folder), million)
        sys.stdout.write(f"{count:,} triangles\n")
        for verb, ending in (("look", "ply"), ("look", "stl"), ("look", "obj"), ("place", "ply"), ("decimate", "ply")):
            asked = [sys.executable, __file__, verb, f"{folder}/big.{ending}"]
            done = subprocess.run(asked, capture_output=True, text=True, check=True)
            sys.stdout.write(f"  {verb:<9} {ending}   {' | '.join(done.stderr.strip().splitlines()[-2:])}\n")


if __name__ == "__main__":
    main()
