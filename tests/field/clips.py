"""An invented clip: a nose that glides past two pegs, drawn frame by frame with exact times.

A lossy WebP picture holds one VP8 key frame (RFC 9649, 2.5), and a Matroska file (RFC 9559) of type WebM
carries such frames: Pillow draws, a few dozen lines wrap.
"""

from __future__ import annotations

import io
import struct
from collections.abc import Callable, Sequence

import numpy as np
from PIL import Image, ImageDraw

SIZE = (640, 360)
SNOW, NOSE, NEAR, FAR = (230, 234, 238), (214, 30, 30), (20, 60, 200), (20, 130, 40)
NEARLY = 90
Point = tuple[float, float]


def webm(frames: Sequence[Image.Image], times_s: Sequence[float], *, length_s: float) -> bytes:
    """Wrap pictures as a clip that can be searched frame by frame.

    Parameters
    ----------
    frames : sequence of Image
        All of one size.
    times_s : sequence of float
        When each is shown, to the millisecond. [s]
    length_s : float
        When the last one ends. [s]

    Returns
    -------
    bytes
    """
    clusters = [
        _element(
            "1f43b675", _number("e7", round(1000 * time)) + _element("a3", b"\x81\0\0\x80" + _vp8(frame))
        )
        for frame, time in zip(frames, times_s, strict=True)
    ]
    wide, high = frames[0].size
    track = [_number("d7", 1), _number("73c5", 1), _number("83", 1), _element("86", b"V_VP8")]
    track.append(_element("e0", _number("b0", wide) + _number("ba", high)))
    before = _element(
        "1549a966",
        _number("2ad7b1", 1_000_000)
        + _element("4489", struct.pack(">d", 1000 * length_s))
        + _element("4d80", b"tests")
        + _element("5741", b"tests"),
    ) + _element("1654ae6b", _element("ae", b"".join(track)))
    room = len(_cues(times_s, clusters, 0))
    body = before + _cues(times_s, clusters, len(before) + room) + b"".join(clusters)
    head = _number("4286", 1) + _number("42f7", 1) + _number("42f2", 4) + _number("42f3", 8)
    head += _element("4282", b"webm") + _number("4287", 2) + _number("4285", 2)
    return _element("1a45dfa3", head) + _element("18538067", body)


def _cues(times_s: Sequence[float], clusters: Sequence[bytes], start: int) -> bytes:
    """Say where each frame lies, from the beginning of the segment's content."""
    points = b""
    for time, cluster in zip(times_s, clusters, strict=True):
        place = _element("b7", _number("f7", 1) + _number("f1", start))
        points += _element("bb", _number("b3", round(1000 * time)) + place)
        start += len(cluster)
    return _element("1c53bb6b", points)


def _element(name: str, content: bytes) -> bytes:
    return bytes.fromhex(name) + struct.pack(">Q", len(content) | 1 << 56) + content


def _number(name: str, value: int) -> bytes:
    return _element(name, struct.pack(">Q", value))


def _vp8(picture: Image.Image) -> bytes:
    """Take the key frame out of a lossy WebP picture."""
    file = io.BytesIO()
    picture.save(file, "WEBP", quality=92)
    content = file.getvalue()
    start = content.index(b"VP8 ")
    (length,) = struct.unpack("<I", content[start + 4 : start + 8])
    return content[start + 8 : start + 8 + length]


def glide(
    place_at: Callable[[float], float],
    *,
    pegs: Sequence[tuple[float, Point]],
    times_s: Sequence[float],
    released_s: float,
    size: tuple[int, int] = SIZE,
) -> list[Image.Image]:
    """Draw a nose that rests until its release and glides then; a camera that stands still.

    Parameters
    ----------
    place_at : callable
        Place along the tape [m] so long after the release [s].
    pegs : sequence of (float, (float, float))
        Place of each [m], and where it stands in the picture.
    times_s : sequence of float
    released_s : float
        May lie between two frames.
    size : (int, int)
        Of the picture.
    """
    (near, at_near), (far, at_far) = pegs
    frames = []
    for time in times_s:
        share = (place_at(max(0.0, time - released_s)) - near) / (far - near)
        nose = tuple(a + share * (b - a) for a, b in zip(at_near, at_far, strict=True))
        picture = Image.new("RGB", size, SNOW)
        pen = ImageDraw.Draw(picture)
        for (x, y), colour, radius in ((at_near, NEAR, 5), (at_far, FAR, 5), (nose, NOSE, 6)):
            pen.ellipse((x - radius, y - radius, x + radius, y + radius), fill=colour)
        frames.append(picture)
    return frames


def seen(picture: Image.Image, colour: tuple[int, int, int]) -> Point:
    """Where an eye sees a colour: the middle of all pixels that are nearly it."""
    pixels = np.asarray(picture.convert("RGB"), dtype=int)
    rows, columns = np.nonzero(np.abs(pixels - np.array(colour)).sum(axis=2) < NEARLY)
    assert len(rows), f"nothing of colour {colour} in the picture"
    return float(columns.mean()) + 0.5, float(rows.mean()) + 0.5
