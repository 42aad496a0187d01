"""What happens outside that nobody plans: spray, a reload, a wrong button, news in the middle of typing."""

from __future__ import annotations

import re
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import Page, expect

from tests.field.gallery import MORNING, POWDER, READY, SCREENS, Screen, launched, show
from tests.field.test_phone_states import Shown

BY_NAME = {screen.name: screen for screen in SCREENS}
NEWS = """async () => {
    window.evenglide.trouble = "The laptop does not know this phone.";
    await window.evenglide.refresh();
}"""
NO_ROOM = """() => {
    window.evenglide.records.save = async () => { throw new Error("no room"); };
}"""

PUT_ASIDE = """async (launches) => {
    await window.evenglide.record(
        ...launches.map((launch) => ({ kind: "set_aside", launch, cause: "a dog on the lane" })));
}"""


@pytest.fixture(scope="module")
def written(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Where the page is written once for all of them; each opens it in a browser that holds nothing yet."""
    return tmp_path_factory.mktemp("phone")


@pytest.fixture
def opened(page: Page, written: Path) -> Any:
    def at(records: list[dict[str, Any]] | Screen) -> Shown:
        made = records if isinstance(records, Screen) else Screen(name="x", records=records)
        show(page, made, "normal", written)
        return Shown(page)

    return at


def fill_preparation(phone: Shown) -> None:
    phone.page.get_by_label("Grams used").fill("2.4")
    phone.page.get_by_label("Batch or tin").fill("blue tin")
    phone.page.get_by_label("scraped").check()


def filled_preparation(phone: Shown) -> tuple[str, str, bool]:
    return (
        phone.page.get_by_label("Grams used").input_value(),
        phone.page.get_by_label("Batch or tin").input_value(),
        phone.page.get_by_label("scraped").is_checked(),
    )


def test_news_and_a_reload_leave_a_half_filled_form_alone(opened: Any) -> None:
    phone = opened(MORNING)
    fill_preparation(phone)
    phone.page.evaluate(NEWS)
    expect(phone.page.get_by_role("alert")).to_contain_text("does not know this phone")
    assert filled_preparation(phone) == ("2.4", "blue tin", True)
    phone.reload()
    phone.on("prepare")
    assert filled_preparation(phone) == ("2.4", "blue tin", True)
    phone.record("is ready")
    assert phone.bodies()[-1]["grams"] == 2.4
    phone.on("prepare")  # of the other piece: nothing is carried over
    assert filled_preparation(phone) == ("", "", False)


def test_what_could_not_be_saved_stands_there_still(opened: Any) -> None:
    phone = opened([*READY, *launched(1, 6)])
    phone.page.evaluate(NO_ROOM)
    phone.page.locator("main .pegs").get_by_role("button", name="3", exact=True).click()
    for key in "5.91":
        phone.page.locator(".pad").get_by_role("button", name=key, exact=True).click()
    phone.button("Save peg").click()
    expect(phone.page.get_by_role("alert")).to_contain_text("no room")
    expect(phone.page.locator(".value")).to_contain_text("5.91")
    phone.reload()
    expect(phone.page.locator(".value")).to_contain_text("5.91")
    phone.record("Save peg 3")
    assert phone.bodies()[-1]["launch"] == 3 and phone.bodies()[-1]["value"] == 5.91


def test_news_does_not_stop_a_countdown_nor_does_spray(opened: Any) -> None:
    phone = opened(BY_NAME["timed mark"])
    phone.page.evaluate("() => { window.evenglide.plan.surfaces[1].after_s = 0.3; window.evenglide.show(); }")
    phone.button("3 – 2 – 1").click()
    phone.page.evaluate(NEWS)
    expect(phone.page.locator("#screen")).to_contain_text("Release on the long beep")
    for spot in (phone.page.locator("footer button"), phone.page.locator(".saved")):
        box = spot.bounding_box()
        phone.page.mouse.click(box["x"] + box["width"] / 2, box["y"] + box["height"] / 2)
    phone.page.go_back()
    phone.on("landed")
    assert phone.bodies()[-1]["kind"] == "launched"


def test_no_drop_presses_anything_on_the_locked_screen(opened: Any) -> None:
    phone = opened(BY_NAME["locked"])
    for spot in (phone.page.locator("footer button"), phone.page.locator(".saved")):
        box = spot.bounding_box()
        phone.page.mouse.click(box["x"] + box["width"] / 2, box["y"] + box["height"] / 2)
        phone.on("locked")


def test_the_back_button_leads_back_to_the_launches(opened: Any) -> None:
    phone = opened(READY)
    phone.button("Not as planned").click()
    phone.on("short")
    phone.page.go_back()
    phone.on("ready")
    phone.record("Launched")
    phone.button("Set aside").click()
    expect(phone.page.locator("h1")).to_have_text("Set aside, because")
    phone.page.go_back()
    expect(phone.page.locator("h1")).to_have_text("Clean launch?")


def test_a_launch_set_aside_after_its_distance_was_read_says_so(opened: Any) -> None:
    phone = opened(POWDER)
    for entry in ("5.94", "peg 6"):
        phone.button("wrong?").click()
        phone.page.get_by_role("button", name=re.compile(f"^6 · .*{entry}")).click()
        phone.record("Take it back")
    phone.on("landed")
    phone.button("Set aside").click()
    phone.record("nose under the snow")
    assert phone.bodies()[-1] == {
        "kind": "set_aside", "launch": 6, "cause": "nose under the snow", "value_seen": True
    }  # fmt: skip


def test_taken_back_by_mistake_is_put_back(opened: Any) -> None:
    phone = opened(READY)
    phone.button("wrong?").click()
    phone.button("rig set-up 1 stands").click()
    phone.record("Take it back")
    phone.on("set up")
    phone.button("wrong?").click()
    phone.button("rig set-up 1 stands (taken back)").click()
    phone.record("Put it back")
    phone.on("ready")


def test_what_was_typed_wrong_is_put_right_however_long_ago(opened: Any) -> None:
    prepared = {"kind": "prepared", "preparation": "P1", "grams": 22, "batch": "tin 4"}
    phone = opened([*MORNING, prepared, *POWDER[2:]])
    phone.button("wrong?").click()
    phone.button("Earlier entries").click()
    phone.button("slider 1 (•• heron) ready").click()
    assert phone.page.get_by_label("batch").input_value() == "tin 4"
    phone.page.get_by_label("grams").fill("2,2")
    phone.record("Correct it")
    assert phone.page.evaluate("() => window.evenglide.day.preparations.get('P1').grams") == 2.2
    assert phone.page.evaluate("() => window.evenglide.day.preparations.get('P1').batch") == "tin 4"


def test_what_is_no_number_is_kept_as_it_was_typed(opened: Any) -> None:
    phone = opened(MORNING)
    phone.page.get_by_label("Grams used").fill("about 2")
    phone.record("is ready")
    said = phone.bodies()[-2:]
    assert said[0]["kind"] == "prepared" and "grams" not in said[0]
    assert said[1]["kind"] == "noted" and "about 2" in said[1]["words"]
    phone.page.get_by_label("Grams used").fill("2,5 g")
    phone.record("is ready")
    assert phone.bodies()[-1]["grams"] == 2.5


def test_one_piece_waits_while_the_other_is_prepared_and_its_alarm_is_heard(opened: Any) -> None:
    phone = opened(MORNING)
    phone.page.evaluate(
        "() => { window.evenglide.plan.treatments[1].waiting_s = 2; window.evenglide.show(); }"
    )
    name = phone.page.text_content("h1")
    phone.page.get_by_role("button", name="Start: Waiting").click()
    phone.button("Meanwhile: slider").click()
    assert phone.page.text_content("h1") != name
    expect(phone.page.locator("header")).to_contain_text(f"{name}", timeout=6_000)
    expect(phone.page.locator("header")).to_contain_text("waiting is over")
    phone.reload()
    expect(phone.page.locator("header")).to_contain_text("waiting is over")
    phone.page.get_by_role("button", name="Pause: Waiting").wait_for()  # the one that waited first
    phone.record("is ready")
    assert phone.bodies()[-1]["cure_s"] >= 2 and phone.bodies()[-1]["preparation"] == "P1"
    expect(phone.page.locator("header")).not_to_contain_text("waiting is over")


def test_enter_goes_to_the_next_field_and_records_nothing(opened: Any) -> None:
    phone = opened([])
    phone.page.get_by_label("Place").fill("hut")
    phone.page.keyboard.press("Enter")
    expect(phone.page.get_by_label("Who is here")).to_be_focused()
    assert phone.saved() == 0


def test_a_clip_is_read_later_and_holds_nobody_up(opened: Any) -> None:
    phone = opened([*BY_NAME["timed mark"].records, *launched(7, 11), {"kind": "launched", "launch": 12}])
    phone.button("Other peg or clip").click()
    phone.page.get_by_label("Clip that shows it").fill("film 12")
    phone.record("Read it from the clip later")
    assert phone.bodies()[-1]["clip"] == "film 12"
    phone.on("read")
    for peg in "12345":
        phone.read(peg, "4.2")
    phone.on("end of coat")


def test_what_is_left_out_takes_its_practice_and_checks_with_it(opened: Any) -> None:
    phone = opened(READY)
    phone.page.evaluate(
        """() => {
            for (const one of window.evenglide.plan.launches) if (one.number === 7) one.kind = "practice";
            window.evenglide.ask("short");
        }"""
    )
    phone.record("Leave out melt pan")
    assert 7 in phone.bodies()[-1]["launches"]


def test_what_left_the_lane_before_the_beep_is_a_lower_bound(opened: Any) -> None:
    phone = opened(BY_NAME["at the beep"])
    phone.record("Ran out of lane")
    assert [one["kind"] for one in phone.bodies()[-2:]] == ["landed", "at_least"]
    phone.on("ready")


def test_a_launch_left_out_and_put_back_says_where_the_rig_has_to_stand(opened: Any) -> None:
    skipped = {"kind": "skipped", "launches": [5, 6], "why": "short of time"}
    phone = opened([*READY, *launched(1, 4, read=True), skipped, {"kind": "set_up", "set_up": 2}])
    phone.on("ready")
    expect(phone.page.locator("#screen")).not_to_contain_text("has to stand")
    phone.button("wrong?").click()
    phone.button("left out").click()
    phone.record("Take it back")
    expect(phone.page.locator("#screen")).to_contain_text("The rig has to stand on cold powder again.")


def test_a_second_phone_goes_on_where_the_first_one_stopped(opened: Any) -> None:
    phone = opened([])
    phone.button("Not as planned").click()
    phone.button("another phone").click()
    phone.page.get_by_label("goes on with launch").fill("1")
    phone.button("All before it").click()
    expect(phone.page.locator("#screen")).to_contain_text("none of the launches after 1")
    phone.page.get_by_label("goes on with launch").fill("9")
    phone.record("All before it")
    assert phone.bodies() == [{"kind": "elsewhere", "launches": [*range(1, 9)], "how": "another phone"}]
    phone.on("ready")
    assert phone.next_launch() == 9
    expect(phone.page.locator("#screen")).not_to_contain_text("again")
    expect(phone.page.get_by_role("progressbar", name="8 of 12 launches")).to_be_visible()
    phone.page.evaluate(PUT_ASIDE, [9, 10, 11, 12])
    phone.on("end of coat")  # the coats are with this phone, wherever they were prepared
    expect(phone.page.locator("#screen")).to_contain_text("slider 1 (•• heron)")
    phone.record("Round 1 is over")
    expect(phone.page.locator("h1")).to_have_text("Nothing is left to launch with this phone")


def test_a_round_that_goes_on_on_paper_is_not_asked_for_and_can_be_taken_back(opened: Any) -> None:
    phone = opened([*READY, *launched(1, 3, read=True)])
    phone.button("Not as planned").click()
    expect(phone.button("The rest of this rig set-up is recorded elsewhere: launches 4 to 6")).to_be_visible()
    phone.button("paper").click()
    phone.record("The rest of round 1 is recorded elsewhere: launches 4 to 12")
    assert phone.bodies()[-1] == {"kind": "elsewhere", "launches": [*range(4, 13)], "how": "paper"}
    phone.on("done")
    phone.button("wrong?").click()
    phone.button("launches 4 to 12 recorded elsewhere").click()
    phone.record("Take it back")
    phone.on("ready")
    assert phone.next_launch() == 4


@pytest.mark.parametrize(
    ("records", "screen"), [([], "morning"), (MORNING, "prepare"), (READY[:-1], "set up"), (READY, "ready")]
)
def test_what_is_recorded_elsewhere_can_be_said_before_every_launch(
    opened: Any, records: list[dict[str, Any]], screen: str
) -> None:
    phone = opened(records)
    phone.on(screen)
    phone.button("Not as planned").click()
    phone.record("This rig set-up is recorded elsewhere: launches 1 to 6")
    phone.on("set up")
    expect(phone.page.locator("h1")).to_have_text("melt pan")


def test_one_launch_less_is_said_to_be_of_this_round_only(opened: Any) -> None:
    phone = opened(BY_NAME["short of time"])
    expect(phone.button("One launch less")).to_have_text(re.compile("on each set-up left in this round: "))


def test_a_saved_file_is_told_by_its_name(opened: Any) -> None:
    phone = opened(POWDER)
    phone.page.locator(".saved").click()
    with phone.page.expect_download() as waiting:
        phone.button("Save the records to a file").click()
    name, count = waiting.value.suggested_filename, phone.saved()
    expect(phone.page.get_by_role("status").filter(has_text="Saved as")).to_have_text(
        re.compile(rf"Saved as {re.escape(name)} \({count}\srecords, \d+\skB\): send it to the laptop\.")
    )


def test_the_time_left_stands_on_every_screen(opened: Any) -> None:
    phone = opened(MORNING)
    phone.page.evaluate(
        """() => {
            const now = new Date(Date.now() - new Date().getTimezoneOffset() * 60000);
            const day = now.toISOString().slice(0, 10);
            window.evenglide.plan.outings = [{ day, from: "00:00", to: "23:59" }];
            window.evenglide.show();
        }"""
    )
    expect(phone.page.locator("header")).to_contain_text(re.compile("(left|over)"))
    phone.button("wrong?").click()
    expect(phone.page.locator("header")).to_contain_text(re.compile("(left|over)"))


def test_a_walk_along_the_tape_goes_on_to_its_last_peg(opened: Any) -> None:
    """Also where launches are left on the same set-up, so that five pegs alone would not call for a walk."""
    phone = opened([*READY, *launched(1, 6)])
    phone.page.evaluate(
        """async () => {
            for (const one of window.evenglide.plan.launches) one.set_up = 1;
            await window.evenglide.refresh();
        }"""
    )
    for peg in "654":
        phone.read(peg, "5.9")
        phone.on("read")
    phone.button("wrong?").click()
    phone.button("Nothing is wrong").click()
    phone.on("read")
    phone.page.locator("main .pegs").get_by_role("button", name="3", exact=True).click()
    phone.record("Lost")
    phone.on("read")
    phone.button("Read the others later").click()
    phone.on("ready")
    phone.button("Read now").click()
    for peg in "21":
        phone.read(peg, "5.9")
    phone.on("ready")


def test_what_was_recorded_does_not_stand_in_the_form_again(opened: Any) -> None:
    phone = opened(READY)
    phone.button("Stop").click()
    phone.page.get_by_label("What happened").fill("a dog")
    phone.reload()
    phone.button("Stop").click()
    assert phone.page.get_by_label("What happened").input_value() == "a dog"
    phone.record("Write it down")
    phone.button("Stop").click()
    assert phone.page.get_by_label("What happened").input_value() == ""
