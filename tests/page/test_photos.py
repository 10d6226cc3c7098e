"""Photos beside a letter: the picture and nothing else of the file, and only what is one."""

from __future__ import annotations

import io

import pytest
from clearance_cli.page.photos import LONGEST, written_anew
from page.conftest import served
from PIL import Image

import clearance

pytestmark = pytest.mark.filterwarnings("ignore::ResourceWarning")


def photo(kind: str = "JPEG", size: tuple[int, int] = (300, 200), **more) -> bytes:
    image = Image.new("RGB", size, (200, 30, 30))
    image.paste((20, 20, 220), (0, 0, size[0] // 2, size[1]))
    kept = io.BytesIO()
    image.save(kept, kind, **more)
    return kept.getvalue()


def with_place() -> bytes:
    """As a phone makes it: where, when and with what, lying on its side."""
    about = Image.Exif()
    about[0x0112] = 6
    about[0x010F] = "SECRETMAKER"
    where = about.get_ifd(0x8825)
    where[1], where[2] = "N", (52.0, 30.0, 12.0)
    return photo(exif=about.tobytes(), comment=b"SECRETREMARK")


def test_where_it_was_taken_is_not_kept():
    given = with_place()
    assert b"SECRETMAKER" in given
    assert b"SECRETREMARK" in given
    kept = written_anew(given)
    assert b"SECRET" not in kept
    with Image.open(io.BytesIO(kept)) as image:
        assert dict(image.getexif()) == {}
        assert not {"exif", "comment", "icc_profile"} & set(image.info)
        # it stands upright, as the camera said: what was its left half is on top
        assert image.size == (200, 300)
        assert image.getpixel((100, 40))[2] > 180
        assert image.getpixel((100, 260))[0] > 160


@pytest.mark.parametrize("kind", ["JPEG", "PNG"])
def test_a_large_one_is_made_smaller(kind):
    with Image.open(io.BytesIO(written_anew(photo(kind, (4000, 3000))))) as image:
        assert image.size == (LONGEST, LONGEST * 3 // 4)
        assert image.format == "JPEG"


def a_bomb() -> bytes:
    """A few bytes that say they are 60,000 pixels wide and high."""
    import struct
    import zlib

    def chunk(name: bytes, body: bytes) -> bytes:
        return struct.pack(">I", len(body)) + name + body + struct.pack(">I", zlib.crc32(name + body))

    head = struct.pack(">IIBBBBB", 60_000, 60_000, 8, 2, 0, 0, 0)
    return (
        b"\x89PNG\r\n\x1a\n" + chunk(b"IHDR", head) + chunk(b"IDAT", zlib.compress(b"\0" * 1000)) + chunk(b"IEND", b"")
    )


NONE = {
    "nothing": b"",
    "text": b"not a photo",
    "half": photo()[:500],
    "svg": b"<svg xmlns='http://www.w3.org/2000/svg'/>",
    "gif": photo("GIF"),
    "bmp": photo("BMP"),
    "tiff": photo("TIFF"),
    "bomb": a_bomb(),
    "head": b"\xff\xd8\xff" + b"\0" * 100,
    "page": b"<html><script>alert(1)</script>",
}


@pytest.mark.parametrize("name", NONE)
def test_what_is_no_photo_is_refused(name):
    with pytest.raises(clearance.InputError):
        written_anew(NONE[name])


def test_a_photo_lies_beside_the_answers_and_is_shown_again(tmp_path):
    found = served(tmp_path)
    found.come_in()
    begun = {
        "carrier": "rear-leaf",
        "depth": "travel",
        "unit": "in",
        "corner": "rear-left",
        "title": "x",
        "name": "barn",
    }
    assert found.post("/ask/sheet", begun).status == 200

    def send(content: bytes, letter: str = "G", **more):
        words = {"origin": f"http://{found.host}", "x_name": letter, **more}
        return found.ask("/photo", method="POST", body=content, **words)

    assert send(with_place()).status == 200
    kept = (tmp_path / "barn.photo-G-1.jpg").read_bytes()
    assert b"SECRET" not in kept
    shown = found.ask("/photo/barn.photo-G-1.jpg")
    assert (shown.status, shown.body, shown.headers["content-type"]) == (200, kept, "image/jpeg")
    assert found.post("/ask/letter", {"letter": "G"}).json["photos"] == ["barn.photo-G-1.jpg"]
    before = sorted(p.name for p in tmp_path.iterdir())
    # nobody else, nothing else, nowhere else
    assert send(with_place(), origin="http://evil.example").status == 403
    for letter in ("../G", "G/../../x", "", "%2e%2e", "no", "G\x00"[:1] + "%00"):
        assert send(with_place(), letter).status in (400, 422), letter
    for content in NONE.values():
        assert send(content).status == 422
    assert send(b"x" * 24_000_001).status == 413
    for name in ("barn.answers.csv", "..%2fx.jpg", "%2e%2e", "nothing.jpg"):
        assert found.ask(f"/photo/{name}").status == 404
    assert found.ask("/photo/barn.photo-G-1.jpg", cookie=False).status == 403
    assert sorted(p.name for p in tmp_path.iterdir()) == before
    for _ in range(3):
        assert send(photo()).status == 200
    assert send(photo()).status == 422
    found.end()
    found.process.stderr.close()
    found.process.stdout.close()
