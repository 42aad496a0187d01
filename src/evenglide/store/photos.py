"""Photos of set-ups: made anew without whatever else came with them, named by what they hold."""

from __future__ import annotations

import hashlib
import io
import re
import struct
import threading
import warnings
from pathlib import Path
from typing import TYPE_CHECKING

from evenglide.errors import EvenglideError, Problem
from evenglide.store.pages import write_bytes

if TYPE_CHECKING:
    from PIL import Image

MEDIA_FOLDER = "media"
MOST_PIXELS = 60_000_000
"""More than cameras of phones give in one picture; what claims more is not decoded."""
LONGEST_SIDE = 2560
"""Enough to see a tape, a level and the grain of a surface. [pixels]"""
QUALITY = 85
KINDS = ("JPEG", "PNG", "WEBP")
_ONE_AT_A_TIME = threading.Lock()
"""A decoded photo takes much room, and warnings are switched off for the whole program."""
NAME = re.compile(r"[0-9a-f]{64}\.jpg")


def keep_photo(folder: str, content: bytes) -> str:
    """Keep a photo in the study's folder of media.

    It is decoded and written anew: turned upright, no larger than needed, and without place, time and
    camera, which phones write into their pictures.

    Parameters
    ----------
    folder : str
        Of the study.
    content : bytes
        JPEG, PNG or WebP.

    Returns
    -------
    str
        Its name: SHA-256 of what is kept, and ``.jpg``.

    Raises
    ------
    EvenglideError
        ``not-a-photo``, ``photo-too-large``, or ``not-written``.
    """
    kept = made_anew(content)
    name = f"{hashlib.sha256(kept).hexdigest()}.jpg"
    place = Path(folder) / MEDIA_FOLDER
    try:
        place.mkdir(exist_ok=True)
    except OSError as error:
        raise EvenglideError([_not_kept(place, error)]) from error
    if not (place / name).exists():
        write_bytes(str(place / name), kept)
    return name


def read_photo(folder: str, name: str) -> bytes | None:
    """Return a photo that is kept; None if there is none of that name."""
    if not NAME.fullmatch(name):
        return None
    try:
        return (Path(folder) / MEDIA_FOLDER / name).read_bytes()
    except OSError:
        return None


def made_anew(content: bytes) -> bytes:
    """Decode a photo and write it anew, as JPEG without anything beside the picture.

    Raises
    ------
    EvenglideError
        ``not-a-photo`` or ``photo-too-large``.
    """
    from PIL import Image

    try:
        with _ONE_AT_A_TIME, warnings.catch_warnings():
            warnings.simplefilter("ignore")  # of large pictures: their size is checked here
            with Image.open(io.BytesIO(content), formats=KINDS) as opened:
                # Known from the head of the file, before a pixel is decoded.
                if opened.width * opened.height > MOST_PIXELS:
                    raise EvenglideError([_too_large(f"{opened.width} x {opened.height} pixels")])
                opened.draft("RGB", (LONGEST_SIDE, LONGEST_SIDE))
                upright = _upright(opened).convert("RGB")
        upright.thumbnail((LONGEST_SIDE, LONGEST_SIDE))
        plain = Image.new("RGB", upright.size)
        plain.paste(upright)
    except Image.DecompressionBombError as error:
        raise EvenglideError([_too_large("more pixels than any camera takes")]) from error
    except (OSError, ValueError, SyntaxError) as error:
        raise EvenglideError([_no_photo(error)]) from error
    written = io.BytesIO()
    plain.save(written, "JPEG", quality=QUALITY)
    return written.getvalue()


def _upright(opened: Image.Image) -> Image.Image:
    """Turn a picture as its camera was held; a damaged note of that leaves it as it is."""
    from PIL import ImageOps

    opened.load()
    try:
        opened.getexif()
        opened.info.pop("exif", None)  # what was read is known; it is not to be written again, damaged or not
        return ImageOps.exif_transpose(opened)
    except (SyntaxError, TypeError, ValueError, struct.error):
        return opened


def _too_large(found: str) -> Problem:
    return Problem(
        code="photo-too-large",
        where="the photo",
        found=found,
        expected=f"at most {MOST_PIXELS // 1_000_000} million",
        remedy="Take it with a lower resolution, or note its number instead.",
    )


def _no_photo(error: Exception) -> Problem:
    return Problem(
        code="not-a-photo",
        where="the photo",
        found=f"something that cannot be read as a picture ({type(error).__name__})",
        expected="JPEG, PNG or WebP",
        remedy="Let the camera save JPEG, or note the number of the photo instead.",
    )


def _not_kept(place: Path, error: OSError) -> Problem:
    return Problem(
        code="not-written",
        where=str(place),
        found=error.strerror or str(error),
        expected="a folder that can be made and written to",
        remedy="Make room, or let the folder be written to.",
    )
