"""Certificates: what they prove is true, what is tampered with proves less or nothing, and the checker is alone."""

from __future__ import annotations

import ast
import io
import json
import math
import zipfile
from dataclasses import replace
from functools import lru_cache
from pathlib import Path as FilePath

import numpy as np
import pytest
from clearance_cli.main import run
from few import FEW

from clearance.certificate.claims import certificate_of, checked, overall
from clearance.certificate.file import unpacked
from clearance.certificate.interval import Interval, dot, exactly, within
from clearance.certificate.made import made
from clearance.certificate.subject import COVER_MM, motion_of, outline_of
from clearance.certificate.tree import GROUP, LEAF, Subject, Tree, Unproven
from clearance.certificate.verify import proven_mm
from clearance.description.load import load
from clearance.errors import InputError
from clearance.gap.cycle import over_cycle
from clearance.geom.bracket import bracket
from tests.oracles import random_scene, sampled_least

ROOT = FilePath(__file__).parents[2]
CORNERS = ROOT / "fixtures" / "corners"
ALONE = ("interval", "motion", "outline", "tree", "verify", "slack")
"""The modules that a certificate is checked by."""


@pytest.mark.parametrize("name", ALONE)
def test_the_checker_knows_nothing_of_the_search(name):
    tree = ast.parse((ROOT / "clearance" / "certificate" / f"{name}.py").read_text(encoding="utf-8"))
    for node in ast.walk(tree):
        if isinstance(node, ast.ImportFrom) and (node.module or "").startswith("clearance"):
            assert node.module.split(".")[1] == "certificate"
            assert node.module.split(".")[2] in ALONE


# ---- intervals


def test_an_interval_holds_what_exact_arithmetic_gives():
    """Fractions of the standard library are exact: sums, products and scalar products of random doubles."""
    from fractions import Fraction

    rng = np.random.default_rng(1)
    one, other = (rng.normal(size=(200, 3)) * 10.0 ** rng.integers(-8, 8, (200, 3)) for _ in range(2))
    total = dot(exactly(one), exactly(other))
    for row in range(200):
        exact = sum(Fraction(a) * Fraction(b) for a, b in zip(one[row], other[row], strict=True))
        assert Fraction(total.low[row]) <= exact <= Fraction(total.high[row])
    wide = within(one[:, 0], 1e-3) * within(other[:, 0], 1e-3)
    for a, b, low, high in zip(one[:, 0], other[:, 0], wide.low, wide.high, strict=True):
        for da in (-1e-3, 1e-3):
            for db in (-1e-3, 1e-3):
                exact = (Fraction(a) + Fraction(da)) * (Fraction(b) + Fraction(db))
                assert Fraction(low) <= exact <= Fraction(high)
    assert isinstance(wide, Interval)


# ---- random scenes


def subject_of_scene(scene) -> Subject:
    share = np.zeros(scene.triangles.shape[:2]) if scene.share is None else scene.share
    return Subject(
        triangles=scene.triangles,
        share=share,
        skin=np.zeros(len(scene.triangles)),
        motion=motion_of(scene.path, (), scene.solid.reach_mm),
        outline=outline_of(scene.solid.profile),
        cover=tuple(outline_of(piece) for piece in scene.solid.pieces),
        cover_mm=COVER_MM,
    )


@lru_cache(maxsize=8)
def searched(number):
    """A random scene, and what the search says of it."""
    scene = random_scene(number)
    return scene, bracket(scene.triangles, scene.path, scene.solid, share=scene.share)


@pytest.mark.parametrize("number", [*range(3), *(pytest.param(n, marks=pytest.mark.slow) for n in range(3, 150))])
def test_what_is_proven_of_a_random_scene_is_true_and_as_much_as_the_search_found(number):
    scene, found = searched(number)
    if found.at_most_mm < 0.05:
        pytest.skip("it hits: of a depth nothing is certified")
    subject = subject_of_scene(scene)
    tree = made(subject, scene.path, scene.solid, found.at_least_mm - 1e-4)
    proven = proven_mm(subject, tree)
    assert proven >= found.at_least_mm - 1e-4 - 1e-6
    assert proven <= found.at_most_mm
    assert proven <= sampled_least(scene, number, near=found.setting)


@pytest.mark.parametrize("number", range(4))
def test_no_tampering_proves_more_than_is_true(number):
    """Planes turned, steps changed, groups cut elsewhere, the order mixed: what still fits together is still true."""
    scene, found = searched(number)
    if found.at_most_mm < 0.05:
        pytest.skip("it hits")
    subject = subject_of_scene(scene)
    tree = made(subject, scene.path, scene.solid, found.at_least_mm - 0.5)
    rng = np.random.default_rng(number)
    for _ in range(40):
        steps, cuts, planes, order = tree.steps.copy(), tree.cuts.copy(), tree.planes.copy(), tree.order.copy()
        kind = rng.integers(5)
        if kind == 0:
            planes[rng.integers(len(planes))] += rng.normal(size=6)
        elif kind == 1:
            steps[rng.integers(len(steps))] = rng.choice([0, 1, GROUP, 101, 102, 103, LEAF, 111, 112, 5])
        elif kind == 2 and len(cuts):
            cuts[rng.integers(len(cuts))] += rng.integers(-2, 3)
        elif kind == 3:
            rng.shuffle(order)
        else:
            steps = steps[: rng.integers(len(steps))]
        try:
            proven = proven_mm(subject, Tree(order=order, steps=steps, cuts=cuts, planes=planes))
        except Unproven:
            continue
        assert proven <= found.at_most_mm


# ---- corners, as a user runs it


def test_a_corner_is_certified_and_verified(tmp_path, capsys):
    file = tmp_path / "few.toml"
    file.write_text(FEW, encoding="utf-8")
    certified_and_verified(file, tmp_path, capsys)


@pytest.mark.slow
@pytest.mark.parametrize(
    "name",
    ["orchard-pickup-rear", "tern-coupe-rear", "sorrel-sedan-front", "heron-roadster-front", "scanned-well-rear"],
)
def test_a_shipped_corner_is_certified_and_verified(name, tmp_path, capsys):
    certified_and_verified(CORNERS / f"{name}.toml", tmp_path, capsys)


def certified_and_verified(file, folder, capsys):
    certificate = folder / "proof.zip"
    code = run(["check", str(file), "--certificate", str(certificate), "--json"])
    findings = json.loads(capsys.readouterr().out)
    assert run(["verify", str(file), str(certificate), "--json"]) == code
    shown = {row["name"]: row for row in json.loads(capsys.readouterr().out)["parts"]}
    for part in findings["parts"]:
        row = shown[part["name"]]
        assert row["verdict"] == part["verdict"]
        assert row["at_most"] == pytest.approx(part["gap"]["at_most"], abs=2e-4)
        if part["verdict"] in ("clears", "tight"):
            assert row["at_least"] >= part["gap"]["at_least"] - 4e-4
    assert run(["verify", str(file), str(certificate)]) == code
    assert "The certificate holds" in capsys.readouterr().out


@pytest.fixture(scope="module")
def pickup():
    mockup = load(CORNERS / "orchard-pickup-rear.toml")
    few = ("inner wall", "frame rail", "leaf pack", "tailpipe")
    mockup = replace(mockup, parts=tuple(part for part in mockup.parts if part.name in few))
    gaps = over_cycle(mockup)
    return mockup, certificate_of(mockup, gaps), {gap.part: gap.at_most_mm for gap in gaps}


def test_the_same_corner_has_the_same_certificate(pickup):
    mockup, content, _ = pickup
    assert certificate_of(mockup, over_cycle(mockup)) == content


def test_a_certificate_of_another_wheel_does_not_hold(pickup):
    """The wheel drilled 3 mm further in: the planes no longer prove what is claimed."""
    from clearance.answers.changed import with_offset

    mockup, content, _ = pickup
    with pytest.raises(InputError, match="Make it again"):
        checked(with_offset(mockup, mockup.wheel.offset_mm + 3.0), content)


def test_a_wall_that_was_moved_nearer_since_is_noticed(pickup):
    from clearance.answers.changed import with_part_moved

    mockup, content, _ = pickup
    with pytest.raises(InputError, match="Make it again"):
        checked(with_part_moved(mockup, "inner wall", [0.0, 0.5, 0.0]), content)


def repacked(content: bytes, change) -> bytes:
    """The certificate with its files changed."""
    with zipfile.ZipFile(io.BytesIO(content)) as book:
        files = {entry.filename: book.read(entry) for entry in book.infolist()}
    change(files)
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w") as book:
        for name, raw in files.items():
            book.writestr(name, raw)
    return out.getvalue()


def claimed(files, change):
    page = json.loads(files["claims.json"])
    change(page)
    files["claims.json"] = json.dumps(page).encode()


LIES = {
    "a larger gap": lambda files: claimed(files, lambda p: p["parts"][0].update(at_least=40.0, at_most=40.0)),
    "a nearer witness": lambda files: claimed(files, lambda p: p["parts"][0].update(at_most=1.0)),
    "a witness off its part": lambda files: claimed(files, lambda p: p["parts"][0].update(point=[0.0, 0.0, 0.0])),
    "a witness outside the cycle": lambda files: claimed(
        files, lambda p: p["parts"][0]["position"].update(bump=-200.0)
    ),
    "a part less": lambda files: claimed(files, lambda p: p["parts"].pop()),
    "a name that is no part's": lambda files: claimed(files, lambda p: p["parts"][0].update(name="bulkhead")),
    "no planes": lambda files: files.update({"0000.planes": b""}),
    "half a number": lambda files: files.update({"0000.planes": files["0000.planes"][:-1]}),
    "no steps": lambda files: files.pop("0000.steps"),
    "another format": lambda files: claimed(files, lambda p: p.update(format="clearance-certificate/9")),
    "a word for a number": lambda files: claimed(files, lambda p: p["parts"][0].update(at_least="much")),
    "no claims": lambda files: files.pop("claims.json"),
    "a list": lambda files: files.update({"claims.json": b"[1, 2]"}),
}


@pytest.mark.parametrize("lie", LIES)
def test_a_certificate_that_lies_is_refused_in_words(pickup, lie):
    mockup, content, _ = pickup
    with pytest.raises(InputError):
        checked(mockup, repacked(content, LIES[lie]))


@pytest.mark.parametrize("content", [b"", b"PK\x03\x04 no zip", b"{}", bytes(1000)])
def test_what_is_no_certificate_is_refused(content):
    with pytest.raises(InputError, match="no certificate"):
        unpacked(content)


def test_damaged_bytes_are_refused_or_prove_no_more(pickup):
    """A thousand copies with a byte changed anywhere: refused, or what is left is true."""
    mockup, content, truth = pickup
    rng = np.random.default_rng(2)
    for _ in range(40):
        changed = bytearray(content)
        changed[rng.integers(len(changed))] ^= int(rng.integers(1, 256))
        try:
            parts, _ = checked(mockup, bytes(changed))
        except InputError:
            continue
        for part in parts:
            assert part.at_least_mm is None or part.at_least_mm <= truth[part.name] + 1e-6
        assert overall(parts) in ("clears", "undecided")


def test_a_cloud_or_a_swallowed_wheel_is_certified_as_no_more_than_it_is(pickup):
    """Of what nothing is known from below, no planes are written; of a hit, the witness alone."""
    from clearance.answers.changed import with_part_moved

    mockup, _, _ = pickup
    near = with_part_moved(mockup, "inner wall", [0.0, 60.0, 0.0])
    content = certificate_of(near, over_cycle(near))
    parts, _ = checked(near, content)
    wall = next(part for part in parts if part.name == "inner wall")
    assert wall.verdict == "hits"
    assert wall.at_least_mm is None
    assert wall.at_most_mm == pytest.approx(28.47 - 60.0, abs=0.1)
    assert math.isfinite(wall.at_most_mm)


@pytest.mark.slow
def test_an_envelope_is_certified_and_one_that_was_dented_is_not(tmp_path, capsys):
    """Pickup: both envelopes, with 1 mm of slack. Then the highest vertex is pushed down by 1.2 mm, into the tread."""
    file, certificate = CORNERS / "orchard-pickup-rear.toml", tmp_path / "proof.zip"
    out = ["--out", str(tmp_path / "out"), "--slack", "1 mm"]
    assert run(["check", str(file), *out, "--certificate", str(certificate)]) == 0
    capsys.readouterr()
    assert run(["verify", str(file), str(certificate)]) == 0
    assert capsys.readouterr().out.count("holds the wheel at every position") == 2

    def dent(files):
        name = next(name for name in files if name.endswith(".vertices"))
        places = np.frombuffer(files[name], dtype="<f8").reshape(-1, 3).copy()
        places[np.argmax(places[:, 2]), 2] -= 1.2
        files[name] = places.tobytes()

    with pytest.raises(InputError, match="envelope"):
        checked(load(file), repacked(certificate.read_bytes(), dent))


@pytest.mark.slow
def test_a_slack_is_certified_where_the_nearest_station_stands_in_the_wrong_valley(tmp_path, capsys):
    """The scanned well's wheel shifts aside with its travel: beside its way, two stretches come near one place."""
    file, certificate = CORNERS / "scanned-well-rear.toml", tmp_path / "proof.zip"
    assert run(["check", str(file), "--out", str(tmp_path / "out"), "--certificate", str(certificate)]) == 1
    capsys.readouterr()
    assert run(["verify", str(file), str(certificate)]) == 1
    assert capsys.readouterr().out.count("lies nowhere more than 0.50 mm outside") == 2
