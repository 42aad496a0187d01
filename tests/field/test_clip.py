"""A launch read from a clip on the laptop's page, frame by frame, and how far that reading can be trusted."""

from __future__ import annotations

import io
import math
import re
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from PIL import Image
from playwright.sync_api import Browser, Page, expect

from evenglide.fieldlog.bodies import Read
from evenglide.store.log import read_log
from tests.browser import watch
from tests.field.clips import FAR, NEAR, NOSE, glide, seen, webm
from tests.field.server import Server
from tests.field.studies import planned, sealed_study

WIDE = pytest.mark.parametrize("page", [{"viewport": {"width": 1280, "height": 900}}], indirect=True)
RATE = 25
TIMES = [number / RATE for number in range(50)]
PEGS = ((2.0, (90.0, 300.0)), (9.0, (560.0, 240.0)))


def place_at(time: float) -> float:
    """Place of the nose so long after its release, while it slows down evenly. [m]."""
    return 1.2 + 6.0 * time - 1.1 * time**2


@pytest.fixture(scope="module")
def server(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Server]:
    with Server(sealed_study(tmp_path_factory.mktemp("clip") / "study", blocks=2)) as running:
        yield running


def of_surface(server: Server, surface: str, place: int = 0) -> int:
    return [one.number for one in planned(server.folder)[1].launches if one.surface == surface][place]


def clip_file(folder: Path, *, released_s: float, name: str = "launch.webm") -> Path:
    frames = glide(place_at, pegs=PEGS, times_s=TIMES, released_s=released_s)
    path = folder / name
    path.write_bytes(webm(frames, TIMES, length_s=len(TIMES) / RATE))
    return path


def opened(page: Page, server: Server, path: Path, *, launch: int) -> None:
    """Open a clip, say which launch it shows, and where the pegs stand."""
    page.goto(f"{server.address}/clip")
    page.locator("#file").set_input_files(path)
    expect(page.locator("#now")).to_have_text("0.000 s into the clip")
    page.locator("#launch").select_option(str(launch))
    page.locator("#rate").fill(str(RATE))
    page.locator("#near").fill("2")
    page.locator("#far").fill("9,0")


def step(page: Page, frames: int) -> None:
    """Step so many frames by the buttons, waiting for each picture as one does."""
    for _ in range(abs(frames)):
        before = float((page.locator("#now").text_content() or "").split()[0])
        page.get_by_role("button", name="One frame on" if frames > 0 else "One frame back").click()
        after = before + math.copysign(1 / RATE, frames)
        expect(page.locator("#now")).to_contain_text(f"{after:.3f}".replace("-0.000", "0.000"))


def picture(page: Page) -> Image.Image:
    return Image.open(io.BytesIO(page.locator("#stage").screenshot()))


def click_on(page: Page, colour: tuple[int, int, int]) -> None:
    """Click where a colour is seen on the page."""
    box = page.locator("#marks").bounding_box()
    assert box is not None
    x, y = seen(picture(page), colour)
    page.mouse.click(box["x"] + x, box["y"] + y)


def found(page: Page) -> tuple[float, float]:
    return (float(page.locator("#text").input_value()), float(page.locator("#uncertainty").input_value()))


def readings(server: Server, launch: int) -> list[Read]:
    events = read_log(server.folder / "log.sqlite")
    return [event.body for event in events if isinstance(event.body, Read) and event.body.launch == launch]


# ------------------------------------------------------------------------------------- the scale alone


@pytest.fixture(scope="module")
def reckoner(chromium: Browser, server: Server) -> Iterator[Page]:
    """The page, opened once for all questions to its module."""
    context = chromium.new_context()
    seen_by = watch(context)
    opened_once = context.new_page()
    opened_once.goto(f"{server.address}/clip")
    yield opened_once
    context.close()
    assert seen_by.fetched == [] and seen_by.failed == []


def placed(page: Page, **known: Any) -> dict[str, Any]:
    """What the page's own module makes of points and places."""
    usual = {
        "near": 2.0,
        "far": 10.0,
        "rate": 25.0,
        "released": None,
        "after": None,
        "shrunk": 1.0,
        "unit": "m",
    }
    script = """async (known) => {
        const { placeAlong } = await import("/static/scale.js");
        const told = placeAlong({ ...known, after: known.after ?? NaN, near: known.near ?? NaN });
        return { ...told, place: String(told.place), uncertainty: String(told.uncertainty) };
    }"""
    told: dict[str, Any] = page.evaluate(script, {**usual, **known})
    return {**told, "place": float(told["place"]), "uncertainty": float(told["uncertainty"])}


def points(nose: tuple[float, float], *, at: float = 0.0) -> dict[str, dict[str, float]]:
    """Two pegs 100 pixels apart, and the nose."""
    return {
        "near": {"x": 100, "y": 50, "at": 0},
        "far": {"x": 160, "y": 130, "at": 0},
        "nose": {"x": nose[0], "y": nose[1], "at": at},
    }


# By hand: the line from (100, 50) to (160, 130) is 60, 80, so 100 pixels for 8 m, 0.08 m a pixel; a click is
# 2 pixels, and moves the place by 0.16 m times the root of 1 + share^2 + (1 - share)^2.
@pytest.mark.parametrize(
    ("nose", "place", "uncertainty", "word"),
    [
        ((130, 90), 6.0, 0.16 * math.sqrt(1.5), ""),
        ((100, 50), 2.0, 0.16 * math.sqrt(2), ""),
        ((160, 130), 10.0, 0.16 * math.sqrt(2), ""),
        ((190, 170), 14.0, 0.16 * math.sqrt(1 + 1.5**2 + 0.5**2), "not between the pegs"),
        ((85, 30), 0.0, 0.16 * math.sqrt(1 + 0.25**2 + 1.25**2), "not between the pegs"),
        ((138, 84), 6.0, 0.16 * math.sqrt(1.5), ""),  # 10 pixels beside the line
        ((146, 78), 6.0, 0.16 * math.sqrt(1.5), "20 pixels beside"),
    ],
)
def test_place_and_uncertainty_of_a_stop(
    reckoner: Page, nose: tuple[float, float], place: float, uncertainty: float, word: str
) -> None:
    told = placed(reckoner, points=points(nose))
    assert told["ready"] is True
    assert told["place"] == pytest.approx(place, abs=1e-12)
    assert told["uncertainty"] == pytest.approx(uncertainty, rel=1e-12)
    assert told["words"].startswith(f"{place:.3f}\u00a0m, give or take {uncertainty:.3f}\u00a0m.")
    assert (word in told["words"]) and (("pegs" in told["words"]) == bool(word))


def test_pegs_may_be_named_the_other_way_round(reckoner: Page) -> None:
    told = placed(reckoner, points=points((115, 70)), near=10.0, far=2.0)
    assert told["place"] == pytest.approx(8.0, abs=1e-12) and told["uncertainty"] > 0


def test_a_timed_mark_adds_half_a_frame_at_its_release_and_at_its_mark(reckoner: Page) -> None:
    told = placed(reckoner, points=points((130, 90), at=1.5), released=0.5, after=1.0)
    clicks = 0.16 * math.sqrt(1.5)
    # 6 m in 1 s on average; two times half a frame of 1/25 s, each spread evenly.
    frames = 6.0 * 0.02 / math.sqrt(3) * math.sqrt(2)
    assert told["uncertainty"] == pytest.approx(math.hypot(clicks, frames), rel=1e-12)
    assert "the mark is at" not in told["words"]
    late = placed(reckoner, points=points((130, 90), at=1.58), released=0.5, after=1.0)
    assert "1.080 s after the release, the mark is at 1 s" in late["words"]


def test_a_picture_that_is_shown_smaller_is_clicked_more_coarsely(reckoner: Page) -> None:
    large = placed(reckoner, points=points((130, 90)))["uncertainty"]
    assert placed(reckoner, points=points((130, 90)), shrunk=3.0)["uncertainty"] == pytest.approx(
        3 * large, rel=1e-12
    )
    assert placed(reckoner, points=points((130, 90)), shrunk=0.5)["uncertainty"] == large


@pytest.mark.parametrize(
    ("known", "word"),
    [
        ({"points": {}}, "two pegs first"),
        ({"points": points((130, 90)), "near": None}, "where the two pegs stand"),
        ({"points": points((130, 90)), "near": 10.0}, "where the two pegs stand"),
        ({"points": {name: points((0, 0))[name] for name in ("near", "far")}}, "the nose"),
        ({"points": {**points((1, 1)), "far": {"x": 105, "y": 55, "at": 0}}}, "too close together"),
        ({"points": points((130, 90), at=1.0), "after": 1.0}, "Step to the release"),
        ({"points": points((130, 90), at=1.0), "after": 1.0, "released": 1.0}, "before the release"),
    ],
)
def test_what_is_missing_is_asked_for(reckoner: Page, known: dict[str, Any], word: str) -> None:
    told = placed(reckoner, **known)
    assert told["ready"] is False and word in told["words"] and math.isnan(told["place"])


# ------------------------------------------------------------------------------------- the whole page


@WIDE
@pytest.mark.parametrize("late_s", [-0.018, 0.0, 0.018])
def test_a_timed_mark_is_right_within_what_is_told(
    server: Server, page: Page, tmp_path: Path, late_s: float
) -> None:
    launch = of_surface(server, "melt pan", {-0.018: 0, 0.0: 1, 0.018: 2}[late_s])
    path = clip_file(tmp_path, released_s=0.4 + late_s)
    opened(page, server, path, launch=launch)
    click_on(page, NEAR)
    click_on(page, FAR)
    page.get_by_role("button", name="10 on").click()
    expect(page.locator("#now")).to_contain_text("0.400 s into")
    page.get_by_role("button", name="The release is here").click()
    expect(page.locator("#now")).to_contain_text("0.000 s after the release")
    for after in ("0.400", "0.800"):
        page.get_by_role("button", name="10 on").click()
        expect(page.locator("#now")).to_contain_text(f"{after} s after")
    step(page, 5)
    click_on(page, NOSE)
    place, uncertainty = found(page)
    truth = place_at(1.0)
    assert abs(place - truth) <= 2 * uncertainty
    assert uncertainty < 0.2, "a bound that is worth something"
    if late_s == 0.0:
        assert abs(place - truth) < 0.05
    page.locator("#reader").fill("Ada")
    page.get_by_role("button", name="Keep this reading").click()
    expect(page.locator(".notice.good")).to_contain_text(f"Launch {launch}: {place:.3f} m is kept")
    (kept,) = readings(server, launch)
    assert (kept.text, kept.value, kept.unit) == (f"{place:.3f}", place, "m")
    assert (kept.method, kept.reader, kept.uncertainty) == ("clip launch.webm", "Ada", uncertainty)
    assert kept.unread is False


@WIDE
def test_a_stop_is_read_by_keyboard_alone(server: Server, page: Page, tmp_path: Path) -> None:
    launch = of_surface(server, "cold powder")
    opened(page, server, clip_file(tmp_path, released_s=0.0), launch=launch)
    page.get_by_role("button", name="10 on").press("Enter")
    expect(page.locator("#now")).to_contain_text("0.400")
    step_back = page.get_by_role("button", name="One frame back")
    step_back.press("Space")
    expect(page.locator("#now")).to_contain_text("0.360")
    box = page.locator("#marks").bounding_box()
    assert box is not None
    shrunk = 640 / box["width"]
    page.locator("#marks").focus()
    cross = (320.0, 180.0)
    for colour in (NEAR, FAR, NOSE):
        x, y = (side * shrunk for side in seen(picture(page), colour))
        for keys, way in (
            (("ArrowLeft", "ArrowRight"), x - cross[0]),
            (("ArrowUp", "ArrowDown"), y - cross[1]),
        ):
            far, near = divmod(round(abs(way)), 20)
            for _ in range(far):
                page.keyboard.press(f"Shift+{keys[way > 0]}")
            for _ in range(near):
                page.keyboard.press(keys[way > 0])
        cross = (cross[0] + round(x - cross[0]), cross[1] + round(y - cross[1]))
        page.keyboard.press("Enter")
    place, uncertainty = found(page)
    assert abs(place - place_at(0.36)) <= uncertainty
    page.get_by_role("button", name="Keep this reading").press("Enter")
    expect(page.locator(".notice.good")).to_contain_text("is kept")
    assert [one.value for one in readings(server, launch)] == [place]


@WIDE
def test_every_frame_can_be_reached_and_says_its_own_time(server: Server, page: Page, tmp_path: Path) -> None:
    opened(page, server, clip_file(tmp_path, released_s=0.0), launch=of_surface(server, "cold powder"))
    box = page.locator("#marks").bounding_box()
    assert box is not None
    for number in (1, 2, 3):
        step(page, 1)
        share = (place_at(number / RATE) - 2.0) / 7.0
        x, _ = seen(picture(page), NOSE)
        assert x * 640 / box["width"] == pytest.approx(90 + share * 470, abs=1.5), "the picture is that frame"
    step(page, -2)
    page.locator("#where").fill("1.5")
    expect(page.locator("#now")).to_contain_text("1.480 s into the clip")
    for name, time in (("10 on", "1.880"), ("10 on", "1.960"), ("10 back", "1.560"), ("10 back", "1.160")):
        page.get_by_role("button", name=name).click()
        expect(page.locator("#now")).to_contain_text(f"{time} s into the clip")
    page.locator("#where").fill("0.13")
    expect(page.locator("#now")).to_contain_text("0.120 s into the clip")
    page.get_by_role("button", name="10 back").click()
    expect(page.locator("#now")).to_contain_text("0.000 s into the clip")


@WIDE
def test_a_clip_without_its_length_is_opened_at_its_beginning(
    server: Server, page: Page, tmp_path: Path
) -> None:
    """As a browser's own recorder writes it: a canvas recorded in the page itself."""
    page.goto(f"{server.address}/clip")
    page.evaluate("""async () => {
        const canvas = document.createElement("canvas"), pen = canvas.getContext("2d");
        const recorder = new MediaRecorder(canvas.captureStream(25)), parts = [];
        recorder.ondataavailable = (event) => parts.push(event.data);
        const ended = new Promise((done) => { recorder.onstop = done; });
        recorder.start();
        for (let turn = 0; turn < 20; turn++) {
            pen.fillStyle = `rgb(${turn * 12}, 90, 120)`;
            pen.fillRect(0, 0, 300, 150);
            await new Promise((done) => setTimeout(done, 40));
        }
        recorder.stop();
        await ended;
        const given = new DataTransfer();
        given.items.add(new File(parts, "recorded.webm", { type: "video/webm" }));
        const field = document.getElementById("file");
        field.files = given.files;
        field.dispatchEvent(new Event("change"));
    }""")
    expect(page.locator("#where")).not_to_have_attribute("max", "1")
    assert 0.3 < float(page.locator("#where").get_attribute("max") or 0) < 60
    expect(page.locator("#now")).to_have_text(re.compile(r"0\.0\d\d s into the clip"))
    page.get_by_role("button", name="10 on").click()
    expect(page.locator("#now")).not_to_have_text(re.compile(r"0\.[01]\d\d s into the clip"))


@WIDE
def test_what_is_no_clip_is_told(server: Server, page: Page, tmp_path: Path) -> None:
    path = tmp_path / "no.webm"
    path.write_bytes(b"not a clip")
    page.goto(f"{server.address}/clip")
    page.locator("#file").set_input_files(path)
    expect(page.locator("#now")).to_have_text("This browser cannot play that clip.")
