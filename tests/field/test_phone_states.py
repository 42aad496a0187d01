"""Single states of the field page: what a press records, and what the page says."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import Browser, Page, expect

from evenglide.report.phone_page import phone_page
from tests.field.gallery import POWDER, READY, ROUND, SCREENS, Screen, launched, plan, show
from tests.field.phone import Phone

BY_NAME = {screen.name: screen for screen in SCREENS}


class Shown(Phone):
    """A phone on which a screen stands already."""

    def __init__(self, page: Page) -> None:
        self.page = page

    def bodies(self) -> list[dict[str, Any]]:
        return [
            {name: value for name, value in one["body"].items() if name != "version"}
            for one in self.page.evaluate("() => window.evenglide.records.all()")
        ]


@pytest.fixture
def shown(page: Page, tmp_path: Path) -> Any:
    def open_at(screen: Screen | list[dict[str, Any]], condition: str = "normal") -> Shown:
        made = screen if isinstance(screen, Screen) else Screen(name="x", records=screen)
        show(page, made, condition, tmp_path)
        return Shown(page)

    return open_at


def test_the_beeps_release_and_mark(shown: Any) -> None:
    phone = shown(BY_NAME["timed mark"])
    phone.page.evaluate("() => { window.evenglide.plan.surfaces[1].after_s = 0.5; window.evenglide.show(); }")
    phone.button("3 – 2 – 1").click()
    expect(phone.page.locator("#screen")).to_contain_text("Release on the long beep")
    phone.page.wait_for_function(
        "() => document.querySelector('#screen').dataset.screen === 'landed'", timeout=15_000
    )
    launched_body = phone.bodies()[-1]
    assert launched_body["kind"] == "launched" and launched_body["launch"] == 7
    assert 0.01 <= launched_body["beep_error_s"] < 0.2
    phone.record("stopped before the beep")
    assert [one["kind"] for one in phone.bodies()[-2:]] == ["landed", "stopped"]


def test_a_beep_that_was_not_released_records_nothing(shown: Any) -> None:
    phone = shown(BY_NAME["timed mark"])
    count = phone.saved()
    phone.button("3 – 2 – 1").click()
    phone.button("start over").click()
    phone.page.wait_for_timeout(4500)
    assert phone.saved() == count and phone.screen == "ready"


def test_an_odd_value_is_stored_marked_and_asked_about(shown: Any) -> None:
    phone = shown([*POWDER, {"kind": "set_up", "set_up": 2}, *launched(7, 12)])
    phone.page.evaluate(
        """async () => {
            const { records } = window.evenglide, said = { kind: "read", text: "4.1", value: 4.1, unit: "m" };
            for (const launch of [7, 8, 9, 10]) await records.save({ ...said, launch });
            await window.evenglide.refresh();
        }"""
    )
    phone.read("5", "41")
    assert phone.bodies()[-1]["value"] == 41
    expect(phone.page.locator(".odd")).to_contain_text("far from the others")
    phone.read("6", "4.2")
    expect(phone.page.locator(".odd")).to_have_count(0)


def test_a_wrong_reading_is_corrected_and_a_wrong_entry_taken_back(shown: Any) -> None:
    phone = shown(BY_NAME["wrong reading"])
    phone.page.get_by_label("It should say").fill("5,84")
    phone.record("Correct it")
    corrected = phone.bodies()[-1]
    assert corrected["kind"] == "corrected" and corrected["text"] == "5.84" and corrected["value"] == 5.84
    assert phone.page.evaluate("() => window.evenglide.day.launches.get(6).value") == 5.84
    phone.button("wrong?").click()
    phone.button("5 · slider 1 · 5.94").click()
    phone.record("Take it back")
    assert phone.bodies()[-1]["withdrawn"] is True
    assert phone.page.evaluate("() => window.evenglide.day.launches.get(5).value") is None
    phone.on("read")  # the peg that was taken back is asked for again


def test_what_is_cut_is_cut_alike(shown: Any) -> None:
    phone = shown(BY_NAME["short of time"])
    phone.record("One launch less")
    skipped = phone.bodies()[-1]
    assert skipped["kind"] == "skipped" and len(skipped["launches"]) == 4
    plan = phone.page.evaluate("() => window.evenglide.plan.launches")
    cut = [one for one in plan if one["number"] in skipped["launches"]]
    for set_up in {one["set_up"] for one in cut}:
        assert len({one["preparation"] for one in cut if one["set_up"] == set_up}) == 2
    phone.button("Not as planned").click()
    phone.record("Leave out melt pan")
    left = phone.page.evaluate(
        "() => [...window.evenglide.day.marks].filter(([, mark]) => mark === 'unmade')"
    )
    assert len(left) == 4


def test_stop_writes_an_incident_and_a_damaged_coat(shown: Any) -> None:
    phone = shown(BY_NAME["stop"])
    phone.page.get_by_label("What happened").fill("the dog ran along the lane")
    phone.record("slider 1")
    assert phone.bodies()[-1] == {
        "kind": "coat_damaged",
        "preparation": "P1",
        "words": "the dog ran along the lane",
    }
    phone.button("Stop").click()
    phone.record("Write it down and go on")
    assert phone.bodies()[-1] == {"kind": "incident", "words": "stopped"}


def test_nothing_is_pressed_by_a_drop_while_it_is_locked(shown: Any) -> None:
    phone = shown(BY_NAME["locked"])
    hold = phone.button("Hold to go on")
    hold.click()  # a drop: short
    phone.page.wait_for_timeout(1000)
    phone.on("locked")
    box = hold.bounding_box()
    assert box is not None
    phone.page.mouse.move(box["x"] + 20, box["y"] + 20)
    phone.page.mouse.down()
    phone.page.wait_for_timeout(1000)
    phone.page.mouse.up()
    phone.on("ready")


def test_guesses_and_ticks_at_the_end_of_a_coat(shown: Any) -> None:
    phone = shown(ROUND)
    guesses = phone.page.locator(".guesses fieldset")
    guesses.nth(0).get_by_role("button", name="bare").click()
    expect(guesses.nth(0).get_by_role("button", name="bare")).to_have_attribute("aria-pressed", "true")
    phone.page.get_by_label("stripped").check()
    phone.record("is over")
    kinds = [one["kind"] for one in phone.bodies()[-2:]]
    assert kinds == ["guess", "round_ended"] and phone.bodies()[-1]["ticks"] == ["stripped"]


def test_a_timer_survives_a_reload_and_is_recorded(shown: Any) -> None:
    phone = shown(BY_NAME["prepare"])
    phone.page.get_by_role("button", name="Start: Hands on it").click()
    phone.reload()
    pause = phone.page.get_by_role("button", name="Pause: Hands on it")
    expect(pause).to_be_visible()
    phone.page.wait_for_timeout(1600)
    phone.record("is ready")
    assert 1 <= phone.bodies()[-1]["hands_on_s"] <= 60


def test_the_key_is_shown_to_whoever_asks_for_it_only(shown: Any) -> None:
    phone = shown(BY_NAME["prepare"])
    assert not phone.page.get_by_text("paraffin rub", exact=True).is_visible()
    phone.button("I prepare the gear").click()
    key = phone.page.locator(".key .treatment")
    expect(key).to_be_visible()
    assert key.text_content() in ("bare", "paraffin rub")


def test_two_tabs_follow_each_other(shown: Any) -> None:
    phone = shown(READY)
    other = phone.page.context.new_page()
    other.goto(phone.page.url)
    expect(other.locator("#screen")).to_have_attribute("data-screen", "ready")
    phone.record("Launched")
    expect(other.locator("#screen")).to_have_attribute("data-screen", "landed")
    Shown(other).record("Yes, peg")
    phone.on("ready")
    sequences = [one["sequence"] for one in phone.page.evaluate("() => window.evenglide.records.all()")]
    assert sequences == list(range(1, len(sequences) + 1))


def test_a_browser_that_keeps_nothing_says_so(chromium: Browser, tmp_path: Path) -> None:
    context = chromium.new_context(viewport={"width": 390, "height": 844})
    context.add_init_script(
        "Object.defineProperty(window, 'indexedDB', { value: { open() { throw new Error('no room'); } } });"
    )
    page = context.new_page()
    file = tmp_path / "page.html"
    file.write_text(phone_page(plan()), encoding="utf-8")
    page.goto(file.as_uri())
    expect(page.get_by_role("alert")).to_contain_text("This browser keeps nothing")
    expect(page.locator(".saved")).to_have_text("not saving")
    context.close()


def test_another_cause_is_kept_in_the_words_that_were_typed(shown: Any) -> None:
    phone = shown([*READY, {"kind": "launched", "launch": 1}])
    for press in ("Set aside", "Another cause"):
        phone.press(press)
    expect(phone.page.locator("main")).to_contain_text("none of the causes stated before")
    phone.page.get_by_label("In a few words").fill("a gust took it")
    phone.press("Set it aside")
    expect(phone.page.locator("#screen")).to_have_attribute("data-screen", "ready")
    assert phone.bodies()[-1] == {
        "kind": "set_aside",
        "launch": 1,
        "cause": "a gust took it",
        "value_seen": False,
    }
