"""A pipe, a device, a folder or a file without end as any input is refused at once; nothing waits or traces."""

from __future__ import annotations

import os
import sys
from pathlib import Path

import pytest
from hostile.commands import clearance, copied, traced

PICKUP = "orchard-pickup-rear.toml"
pytestmark = pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="this system has no named pipes")

KINDS = ("pipe", "link to a pipe", "device", "link to a device", "folder", "link without end", "socket")
SAMPLE = ("pipe", "link to a device", "folder")
_WORDS = {
    "pipe": "pipe", "link to a pipe": "pipe", "device": "device", "link to a device": "device", "folder": "folder",
    "link without end": "leads back to itself", "socket": "socket",
}  # fmt: skip


def made(folder: Path, kind: str, name: str) -> Path:
    place = folder / name
    if kind == "pipe":
        os.mkfifo(place)
    elif kind == "link to a pipe":
        os.mkfifo(folder / "pipe")
        place.symlink_to(folder / "pipe")
    elif kind == "device":
        return Path("/dev/zero")
    elif kind == "link to a device":
        place.symlink_to("/dev/zero")
    elif kind == "folder":
        place.mkdir()
    elif kind == "link without end":
        place.symlink_to(name)
    else:
        import socket

        held = socket.socket(socket.AF_UNIX)
        here = os.getcwd()
        os.chdir(folder)  # a socket's name must be short
        try:
            held.bind(name)
        finally:
            os.chdir(here)
            held.close()
    return place


def corner_with(folder: Path, text: str) -> Path:
    place = folder / "named.toml"
    place.write_text((folder / PICKUP).read_text() + text)
    return place


INPUTS = {
    "corner": ("c.toml", lambda f, p: ["check", p]),
    "findings": ("f.json", lambda f, p: ["compare", p, PICKUP]),
    "mesh": ("m.stl", lambda f, p: ["scan", p]),
    "points": ("m.csv", lambda f, p: ["scan", p]),
    "mesh of a corner": (
        "m.obj",
        lambda f, p: ["check", corner_with(f, f'\n[[part]]\nname = "s"\nkind = "mesh"\nunit = "mm"\nfile = "{p}"\n')],
    ),
    "traced section": (
        "t.csv",
        lambda f, p: ["check", section_corner(f, p)],
    ),
    "sizes": ("s.csv", lambda f, p: ["largest", PICKUP, "--sizes", p]),
    "measured wheels": ("w.csv", lambda f, p: ["inspect", PICKUP, "--measured", p]),
    "measured wheels, TOML": ("w.toml", lambda f, p: ["inspect", PICKUP, "--measured", p]),
    "answers": ("a.csv", lambda f, p: ["new", "--answers", p, "--no-ask", "--out", "x.toml"]),
    "an example": ("e.csv", lambda f, p: ["new", "--from", p, "--no-ask", "--out", "x.toml"]),
    "an earlier sitting": ("x.answers.csv", lambda f, p: ["new", "--no-ask", "--out", "x.toml"]),
    "a glTF's buffer": ("b.bin", lambda f, p: ["scan", gltf_beside(f, p)]),
}


def section_corner(folder: Path, place: Path) -> Path:
    text = (folder / PICKUP).read_text()
    named = folder / "section.toml"
    named.write_text(text.replace("[wheel]", f'shape = {{ file = "{place}", unit = "mm" }}\n\n[wheel]', 1))
    return named


def gltf_beside(folder: Path, place: Path) -> Path:
    scene = folder / "scene.gltf"
    scene.write_text(
        '{"asset": {"version": "2.0"}, "scene": 0, "scenes": [{"nodes": [0]}], "nodes": [{"mesh": 0}],'
        '"meshes": [{"primitives": [{"attributes": {"POSITION": 0}}]}],'
        f'"buffers": [{{"byteLength": 36, "uri": "{place.name}"}}],'
        '"bufferViews": [{"buffer": 0, "byteLength": 36}],'
        '"accessors": [{"bufferView": 0, "componentType": 5126, "count": 3, "type": "VEC3"}]}'
    )
    return scene


@pytest.mark.parametrize("what", INPUTS)
@pytest.mark.parametrize("kind", [k if k in SAMPLE else pytest.param(k, marks=pytest.mark.slow) for k in KINDS])
def test_what_is_no_file_is_refused_at_once(what, kind, tmp_path, monkeypatch):
    """In this process, since nothing may wait: an alarm ends what does."""
    import signal

    name, words = INPUTS[what]
    if kind == "device" and what in ("an earlier sitting", "a glTF's buffer"):
        pytest.skip("the name is not the person's to choose")
    folder = copied(tmp_path / "f", [PICKUP])
    place = made(folder, kind, name)
    monkeypatch.chdir(folder)
    signal.alarm(60)
    try:
        code, err = refused([str(word) for word in words(folder, place)])
    finally:
        signal.alarm(0)
    assert code == 2, err
    assert _WORDS[kind] in err or "ending" in err or "not a mesh format" in err
    assert len(err.splitlines()) < 6
    assert not (folder / "x.toml").exists()


def refused(words: list[str]) -> tuple[int, str]:
    import contextlib
    import io

    from clearance_cli.main import run

    err = io.StringIO()
    with contextlib.redirect_stderr(err), contextlib.redirect_stdout(io.StringIO()):
        code = run(words)
    return code, err.getvalue()


def test_a_pipe_does_not_hold_the_command(tmp_path):
    """Once through the installed command too: opening a pipe that nobody writes to would wait for ever."""
    os.mkfifo(tmp_path / "corner.toml")
    said = clearance("check", tmp_path / "corner.toml")
    assert said.code == 2
    assert b"pipe" in said.err
    assert not traced(said)


@pytest.mark.skipif(not sys.platform.startswith("linux"), reason="a file of the system that never ends")
def test_a_file_that_says_it_is_empty_and_never_ends_is_refused():
    from clearance.errors import FileError
    from clearance.opener import bytes_of

    with pytest.raises(FileError):
        bytes_of("/proc/kmsg")


def test_a_file_of_a_terabyte_is_refused_before_it_is_read(tmp_path):
    """Sparse: it takes no room on the disk, and would fill any memory."""
    place = tmp_path / "huge.toml"
    with open(place, "wb") as stream:
        stream.truncate(2**40)
    said = clearance("check", place)
    assert said.code == 2
    assert b"larger than 4 MB" in said.err
