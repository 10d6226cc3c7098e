"""A certificate as a file: a zip of one page of claims, and the arrays of every tree as plain little-endian numbers.

claims.json            what is claimed of each part, and where it is nearest
0007.order             whole numbers of 4 bytes: the triangles of part 7 in the order of its groups
0007.steps, .cuts      whole numbers of 4 bytes
0007.planes            real numbers of 4 bytes, six to a plane: any plane proves what it proves, rounded or not
0007.settings          real numbers of 8 bytes, of an envelope's slack
"""

from __future__ import annotations

import io
import zipfile
import zlib
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np

from clearance import opener, plain
from clearance.certificate.interval import Array, Ints
from clearance.errors import InputError

FORMAT = "clearance-certificate/1"
MOST_BYTES = 2_000_000_000
"""Unpacked. A steered corner with its envelopes takes some 100 MB."""
_WHOLE, _REAL, _FINE = "<i4", "<f4", "<f8"
_DATE = (1980, 1, 1, 0, 0, 0)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Packed:
    """Claims, and arrays by name."""

    claims: Mapping[str, Any]
    arrays: Mapping[str, Array | Ints]


def packed(claims: Mapping[str, Any], arrays: Mapping[str, Array | Ints]) -> bytes:
    """The bytes of a certificate: the same claims and arrays, the same bytes."""
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED, compresslevel=6) as book:
        page = {"format": FORMAT, **claims}
        _put(book, "claims.json", (plain.json_text(page, indent=1) + "\n").encode())
        for name in sorted(arrays):
            _put(book, name, np.ascontiguousarray(arrays[name]).astype(_kind(name)).tobytes())
    return out.getvalue()


def _put(book: zipfile.ZipFile, name: str, content: bytes) -> None:
    entry = zipfile.ZipInfo(name, date_time=_DATE)
    entry.compress_type = zipfile.ZIP_DEFLATED
    book.writestr(entry, content)


def _kind(name: str) -> str:
    return {"planes": _REAL, "settings": _FINE, "vertices": _FINE}.get(name.rpartition(".")[2], _WHOLE)


def unpacked(content: bytes) -> Packed:
    """A certificate from its bytes. Raises InputError for what is none, is damaged, or is far too large."""
    try:
        with zipfile.ZipFile(io.BytesIO(content)) as book:
            if sum(entry.file_size for entry in book.infolist()) > MOST_BYTES:
                raise InputError("this certificate unpacks to more than 2 GB: it is none of ours.")
            files = {entry.filename: book.read(entry) for entry in book.infolist()}
    except (zipfile.BadZipFile, EOFError, OSError, ValueError, NotImplementedError, RuntimeError, zlib.error) as wrong:
        raise InputError(f"this is no certificate, or it is damaged: {_first_line(wrong)}.") from None
    try:
        claims = opener.json_value(files.pop("claims.json"))
    except (KeyError, opener.NotJson):
        raise InputError("this is no certificate: it has no page of claims.") from None
    if not isinstance(claims, dict) or claims.get("format") != FORMAT:
        raise InputError(f'this is no certificate that can be read here: its format is not "{FORMAT}".')
    return Packed(claims=claims, arrays={name: _array(name, raw) for name, raw in files.items()})


def _array(name: str, raw: bytes) -> Array | Ints:
    kind = np.dtype(_kind(name))
    if len(raw) % kind.itemsize:
        raise InputError(f"this certificate is damaged: {name} ends in the middle of a number.")
    values = np.frombuffer(raw, dtype=kind)
    return values.astype(np.int64) if kind.kind == "i" else values.astype(np.float64)


def _first_line(wrong: Exception) -> str:
    return (str(wrong).splitlines() or ["it cannot be read"])[0][:80].rstrip(".")
