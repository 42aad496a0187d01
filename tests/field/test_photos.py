"""Photos of a set-up: what is kept of them, what is refused, and where they show."""

from __future__ import annotations

import io
import random
import struct
import zlib
from pathlib import Path

import pytest
from PIL import Image
from PIL.ExifTags import GPS, IFD, Base
from playwright.sync_api import Page, expect

from evenglide.errors import EvenglideError
from evenglide.fieldlog.bodies import SetUp
from evenglide.store.photos import LONGEST_SIDE, keep_photo, made_anew
from tests.field.phone import Phone
from tests.field.served import ELSEWHERE, Served, served
from tests.field.server import Server
from tests.field.studies import sealed_study

__all__ = ["served"]
TURNED = 6
"""Camera held upright: the picture is to be turned a quarter to the right (Exif 2.3, tag Orientation)."""


def photo(width: int = 80, height: int = 40, *, kind: str = "JPEG", exif: Image.Exif | None = None) -> bytes:
    """A picture, red on its left half, blue on its right."""
    made = Image.new("RGB", (width, height), "blue")
    made.paste("red", (0, 0, width // 2, height))
    written = io.BytesIO()
    made.save(written, kind, **({"exif": exif} if exif is not None else {}))
    return written.getvalue()


def with_place() -> bytes:
    """A photo as a phone takes it: turned, with place, time and camera."""
    exif = Image.Exif()
    exif[Base.Orientation] = TURNED
    exif[Base.Make] = "A camera (invented)"
    exif[Base.DateTime] = "2026:01:17 10:00:00"
    exif.get_ifd(IFD.GPSInfo).update({GPS.GPSLatitudeRef: "N", GPS.GPSLatitude: (47.0, 30.0, 0.0)})
    return photo(exif=exif)


def bomb(side: int = 60_000) -> bytes:
    """A PNG of few bytes whose head claims so many pixels a side."""

    def chunk(name: bytes, content: bytes) -> bytes:
        told = name + content
        return struct.pack(">I", len(content)) + told + struct.pack(">I", zlib.crc32(told))

    head = struct.pack(">IIBBBBB", side, side, 8, 2, 0, 0, 0)
    data = zlib.compress(b"\0" * 1_000_000, 9)
    return b"\x89PNG\r\n\x1a\n" + chunk(b"IHDR", head) + chunk(b"IDAT", data) + chunk(b"IEND", b"")


def test_place_time_and_camera_are_dropped_and_it_stands_upright() -> None:
    given = with_place()
    assert b"A camera" in given and Image.open(io.BytesIO(given)).getexif().get_ifd(IFD.GPSInfo)
    kept = made_anew(given)
    shown = Image.open(io.BytesIO(kept))
    assert not shown.getexif() and b"Exif" not in kept and b"A camera" not in kept
    assert set(shown.info) <= {"jfif", "jfif_version", "jfif_unit", "jfif_density"}
    assert shown.size == (40, 80)
    red, _, blue = shown.getpixel((20, 10))  # type: ignore[misc]
    assert red > 200 and blue < 60  # what was on the left is on top


def test_a_damaged_note_of_the_camera_does_not_cost_the_picture() -> None:
    """It is not written again, so nothing in it can go wrong."""
    given, chance = with_place(), random.Random(5)
    begin, end = given.index(b"Exif") + 6, given.index(b"\xff\xdb")
    for _ in range(1500):
        damaged = bytearray(given)
        for _ in range(chance.choice([1, 3, 9])):
            damaged[chance.randrange(begin, end)] = chance.choice([0, 1, 255, chance.randrange(256)])
        assert max(Image.open(io.BytesIO(made_anew(bytes(damaged)))).size) == 80


@pytest.mark.parametrize("kind", ["PNG", "WEBP"])
def test_other_kinds_become_jpeg(kind: str) -> None:
    assert Image.open(io.BytesIO(made_anew(photo(kind=kind)))).format == "JPEG"


def test_it_is_made_no_larger_than_needed() -> None:
    assert Image.open(io.BytesIO(made_anew(photo(5000, 1000)))).size == (LONGEST_SIDE, LONGEST_SIDE // 5)


def test_see_through_and_grey_pictures_are_kept_too() -> None:
    for mode in ("RGBA", "L", "P"):
        written = io.BytesIO()
        Image.new(mode, (9, 9)).save(written, "PNG")
        assert Image.open(io.BytesIO(made_anew(written.getvalue()))).size == (9, 9)


@pytest.mark.parametrize(
    ("given", "code"),
    [
        (b"", "not-a-photo"),
        (b"<svg onload='alert(1)'></svg>", "not-a-photo"),
        (photo()[:200], "not-a-photo"),
        (photo(kind="GIF"), "not-a-photo"),
        (photo(kind="TIFF"), "not-a-photo"),
        (bomb(), "photo-too-large"),
        (bomb(side=9_000), "photo-too-large"),
    ],
    ids=["nothing", "markup", "cut", "gif", "tiff", "bomb", "many pixels"],
)
def test_what_is_refused_leaves_nothing(tmp_path: Path, given: bytes, code: str) -> None:
    with pytest.raises(EvenglideError) as raised:
        keep_photo(str(tmp_path), given)
    assert raised.value.problems[0].code == code
    assert [path for path in tmp_path.rglob("*") if path.is_file()] == []


def test_the_same_photo_is_kept_once_by_its_name(tmp_path: Path) -> None:
    names = {keep_photo(str(tmp_path), with_place()) for _ in range(2)}
    assert [path.name for path in (tmp_path / "media").iterdir()] == list(names)


def test_a_phone_hands_in_a_photo_and_nobody_else(served: Served) -> None:
    paired = served.paired()
    answer = served.post("/field/photos", content=with_place(), headers=paired)
    assert answer.status_code == 200
    name = answer.json()["photo"]
    for content, sent, status in (
        (photo(), {"Authorization": "Bearer x"}, 401),
        (photo(), {}, 401),
        (b"no photo", paired, 409),
        (b"0" * (9 * 2**20), paired, 413),
    ):
        assert served.post("/field/photos", content=content, headers=sent).status_code == status
    kept = Path(served.desk.folder) / "media"
    assert [path.name for path in kept.iterdir()] == [name]
    assert served.get(f"/media/{name}").content == (kept / name).read_bytes()
    assert served.get(f"/media/{name}", headers=paired, source=ELSEWHERE).status_code == 403


def test_the_phone_takes_one_and_the_laptop_shows_it(tmp_path: Path, page: Page) -> None:
    with Server(sealed_study(tmp_path / "study", blocks=2)) as server:
        phone = Phone(page, server.pair())
        phone.record("Read it, begin")
        while phone.screen == "prepare":
            phone.record("is ready")
        picture = {"name": "IMG_1.jpg", "mimeType": "image/jpeg", "buffer": with_place()}
        page.locator("input[type=file]").set_input_files(picture)  # type: ignore[arg-type]
        expect(page.get_by_text("The photo is at the laptop.")).to_be_visible(timeout=20_000)
        phone.record("The rig stands")
        expect(page.locator(".saved")).to_have_text("here 4 · laptop 4", timeout=20_000)
        page.goto(f"{server.address}/events")
        shown = page.get_by_alt_text("Photo of this rig set-up")
        expect(shown).to_be_visible()
        assert shown.evaluate("async (img) => { await img.decode(); return img.naturalHeight; }") == 80


def test_without_an_answer_the_number_is_noted(tmp_path: Path, page: Page) -> None:
    with Server(sealed_study(tmp_path / "study", blocks=2)) as server:
        phone = Phone(page, server.pair())
        phone.record("Read it, begin")
        while phone.screen == "prepare":
            phone.record("is ready")
        server.kill()
        picture = {"name": "IMG_1.jpg", "mimeType": "image/jpeg", "buffer": photo()}
        page.locator("input[type=file]").set_input_files(picture)  # type: ignore[arg-type]
        expect(page.get_by_text("The photo did not arrive")).to_be_visible(timeout=20_000)
        page.get_by_label("Photo", exact=True).fill("17")
        phone.record("The rig stands")
        kept = page.evaluate("() => window.evenglide.records.all()")
        assert SetUp.model_validate(kept[-1]["body"]).photo == "17"
