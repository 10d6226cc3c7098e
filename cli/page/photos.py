"""Photos beside a letter of the sheet: what the tape was held to, kept beside the answers.

A photo is opened as one and written anew: its pixels upright, at most so many, and nothing else of it. So what stood in
the file beside the picture (the place where it was taken, the time, the camera, a smaller copy) is not kept, and what
is no picture never stands in the folder.
"""

from __future__ import annotations

import io

import clearance

LONGEST = 2000
"""Pixels along the longer side of what is kept: a tape's sixteenths can be read across half a metre."""
MOST_PIXELS = 120_000_000
MOST_OF_A_LETTER = 4
_QUALITY = 85
_KINDS = ("JPEG", "PNG")


def name_of(draft: str, letter: str, number: int) -> str:
    """Beside the answers: `barn.photo-G-1.jpg` for `barn.answers.csv`."""
    return f"{draft.removesuffix('.answers.csv')}.photo-{letter}-{number}.jpg"


def written_anew(content: bytes) -> bytes:
    """The picture alone, as JPEG. Raises InputError for what is no JPEG or PNG, or too large to be a photo."""
    try:
        from PIL import Image, ImageOps
    except ImportError:
        raise clearance.InputError("photos need pillow: pip install 'wheelwell-clearance[page]'.") from None
    import warnings

    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")
            with Image.open(io.BytesIO(content), formats=_KINDS) as photo:
                if photo.width * photo.height > MOST_PIXELS:
                    raise clearance.InputError("the photo has more than 120 million pixels. Take a smaller one.")
                photo.draft("RGB", (LONGEST, LONGEST))
                upright = ImageOps.exif_transpose(photo).convert("RGB")
        upright.thumbnail((LONGEST, LONGEST))
        # pixels alone: a remark in a file would else go along into the new one
        bare = Image.new("RGB", upright.size)
        bare.paste(upright)
    except (OSError, ValueError, SyntaxError, MemoryError, Image.DecompressionBombError):
        raise clearance.InputError("this is no whole JPEG or PNG. Take the photo again.") from None
    kept = io.BytesIO()
    bare.save(kept, "JPEG", quality=_QUALITY)
    return kept.getvalue()
