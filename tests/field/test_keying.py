"""A list on paper typed in on the laptop's page: Enter, the second look, and the same answer as by CSV."""

from __future__ import annotations

import csv
import json
from collections import Counter
from collections.abc import Iterable, Iterator, Mapping
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import Page, expect

from evenglide.fieldlog.bodies import Landed, Launched, Read
from evenglide.fieldlog.events import Event
from evenglide.steps import laptop
from evenglide.steps.desk import Desk
from evenglide.store.log import Log, read_log
from tests.field.phone import Phone, play_day
from tests.field.server import Server
from tests.field.studies import copied, invented_readings, planned, sealed_study
from tests.walks.command import run

WIDE = pytest.mark.parametrize("page", [{"viewport": {"width": 1280, "height": 800}}], indirect=True)
WITHOUT_SCRIPT = pytest.mark.parametrize("page", [{"java_script_enabled": False}], indirect=True)


@pytest.fixture
def server(tmp_path: Path) -> Iterator[Server]:
    with Server(sealed_study(tmp_path / "study", blocks=2)) as running:
        yield running


def opened(page: Page, server: Server) -> Page:
    page.goto(f"{server.address}/keying")
    return page


def sampled(page: Page) -> list[int]:
    text = page.locator("#keying").get_attribute("data-sample") or ""
    return [int(number) for number in text.split(",")]


def type_down(page: Page, texts: Mapping[int, str]) -> None:
    """Type readings from the first row on, as somebody does who looks at the paper."""
    page.locator(f"[name=reading-{min(texts)}]").focus()
    for number in sorted(texts):
        assert page.evaluate("document.activeElement.name") == f"reading-{number}"
        page.keyboard.type(texts[number])
        page.keyboard.press("Enter")


def second_look(page: Page, texts: Mapping[int, str]) -> None:
    """Type the sampled rows once more, and send."""
    numbers = [number for number in sampled(page) if number in texts]
    for number in numbers:
        expect(page.locator(f"[name=again-{number}]")).to_be_focused()
        page.keyboard.type(texts[number])
        page.keyboard.press("Enter")


def take_in(page: Page, texts: Mapping[int, str]) -> None:
    page.get_by_role("button", name="Take it in").click()
    second_look(page, texts)
    page.get_by_role("button", name="Take it in").click()
    expect(page.get_by_role("status")).to_contain_text("What was typed")


def events_of(folder: Path) -> tuple[Event, ...]:
    return read_log(folder / "log.sqlite")


def taken_in(folder: Path) -> dict[str, dict[str, Any]]:
    """Bodies by id of what came after the seal."""
    return {
        event.id: event.body.to_dict()
        for event in events_of(folder)
        if event.body.kind not in ("sealed", "posted")
    }


def write_list(path: Path, rows: Iterable[Mapping[str, object]]) -> Path:
    names = ["launch", "distance", "set aside", "at least", "stopped", "peg lost", "note", "reader"]
    with path.open("w", encoding="utf-8", newline="") as file:
        writer = csv.DictWriter(file, names, restval="")
        writer.writeheader()
        writer.writerows(rows)
    return path


@WIDE
def test_enter_goes_down_the_rows_from_the_launch_that_was_named(server: Server, page: Page) -> None:
    opened(page, server)
    page.locator("#from").fill("5")
    page.keyboard.press("Enter")
    expect(page.locator("[name=reading-5]")).to_be_focused()
    page.keyboard.type("5.31")
    page.keyboard.press("Enter")
    expect(page.locator("[name=reading-6]")).to_be_focused()
    page.locator("[name=note-7]").focus()
    page.keyboard.press("Enter")
    expect(page.locator("[name=reading-8]")).to_be_focused()
    page.locator("[name=reading-16]").focus()
    page.keyboard.press("Enter")
    expect(page.get_by_role("button", name="Take it in")).to_be_focused()
    assert taken_in(server.folder) == {}, "Enter sends nothing"


@WIDE
def test_a_whole_list_is_typed_by_keyboard_alone_and_equals_the_same_list_by_csv(
    server: Server, page: Page
) -> None:
    by_csv = copied(server.folder, "by-csv")
    texts = invented_readings(planned(server.folder)[1])
    opened(page, server)
    page.locator("#reader").fill("Ada")
    page.locator("[name=cause-3]").select_option("nose under the snow")
    page.locator("[name=at_least-4]").check()
    page.locator("[name=stopped-6]").check()
    page.locator("[name=note-9]").fill("a gust")
    type_down(page, texts)
    page.keyboard.press("Enter")  # on the button
    second_look(page, texts)
    page.keyboard.press("Enter")
    expect(page.get_by_role("status")).to_contain_text("16 readings")
    more: dict[int, dict[str, str]] = {
        3: {"set aside": "nose under the snow"},
        4: {"at least": "yes"},
        6: {"stopped": "yes"},
        9: {"note": "a gust"},
    }
    rows = [
        {"launch": number, "distance": text, "reader": "Ada", **more.get(number, {})}
        for number, text in texts.items()
    ]
    listed = write_list(server.folder / "same.csv", rows)
    assert run("take-in", listed, "--study", by_csv).exit_code == 0
    assert taken_in(server.folder) == taken_in(by_csv)
    server.kill()
    assert "nothing new" in run("take-in", listed, "--study", server.folder).output


@WIDE
def test_a_difference_is_shown_and_nothing_is_sent_until_it_is_mended(server: Server, page: Page) -> None:
    texts = invented_readings(planned(server.folder)[1])
    opened(page, server)
    number = sampled(page)[0]
    type_down(page, {**texts, number: "51.3"})
    page.get_by_role("button", name="Take it in").click()
    assert (
        texts[number] not in page.locator("#second").inner_text()
        and "51.3" not in page.locator("#second").inner_text()
    ), "the first is not shown before the second is typed"
    second_look(page, texts)
    page.get_by_role("button", name="Take it in").click()
    alert = page.get_by_role("alert")
    expect(alert).to_contain_text(f"launch {number}: first 51.3, then {texts[number]}")
    expect(page.locator(f"[name=reading-{number}]")).to_be_focused()
    assert taken_in(server.folder) == {}
    page.keyboard.press("Control+A")
    page.keyboard.type(texts[number])
    page.get_by_role("button", name="Take it in").click()
    expect(page.get_by_role("status")).to_contain_text("16 readings")
    told = [body for body in taken_in(server.folder).values() if body["kind"] == "read"]
    assert {body["launch"]: body["text"] for body in told} == texts


@WIDE
def test_another_way_of_writing_the_same_number_is_no_difference(server: Server, page: Page) -> None:
    opened(page, server)
    number = sampled(page)[0]
    page.locator(f"[name=reading-{number}]").fill("5,30")
    page.get_by_role("button", name="Take it in").click()
    page.locator(f"[name=again-{number}]").fill("5.3")
    page.get_by_role("button", name="Take it in").click()
    expect(page.get_by_role("status")).to_contain_text("1 reading")
    (body,) = taken_in(server.folder).values()
    assert (body["text"], body["value"]) == ("5,30", 5.3)


@WIDE
def test_a_row_that_was_added_after_the_second_look_is_asked_for_too(server: Server, page: Page) -> None:
    opened(page, server)
    first, other = sampled(page)[:2]
    page.locator(f"[name=reading-{first}]").fill("5.3")
    page.get_by_role("button", name="Take it in").click()
    page.locator(f"[name=again-{first}]").fill("5.3")
    page.locator(f"[name=reading-{other}]").fill("6.3")
    page.get_by_role("button", name="Take it in").click()
    expect(page.locator(f"[name=again-{other}]")).to_be_focused()
    expect(page.locator(f"[name=again-{first}]")).to_have_value("5.3")
    assert taken_in(server.folder) == {}


@WIDE
def test_a_cell_that_cannot_be_understood_writes_nothing_and_loses_nothing(
    server: Server, page: Page
) -> None:
    opened(page, server)
    free = [number for number in range(1, 17) if number not in sampled(page)]
    page.locator(f"[name=reading-{free[0]}]").fill("5.3")
    page.locator(f"[name=reading-{free[1]}]").fill("five")
    page.locator(f"[name=at_least-{free[2]}]").check()
    page.locator(f"[name=cause-{free[3]}]").select_option("nose under the snow")
    page.locator(f"[name=note-{free[0]}]").fill('<b>"a gust"</b>')
    page.locator("#reader").fill("Ada")
    page.get_by_role("button", name="Take it in").click()
    alert = page.get_by_role("alert")
    expect(alert).to_contain_text("Nothing was written")
    expect(alert).to_contain_text(f'launch {free[1]} (distance): found "five"; expected a plain number')
    expect(alert).to_contain_text(f"launch {free[2]} (at least)")
    assert "--" not in alert.inner_text(), "no option of a command line on a page"
    assert taken_in(server.folder) == {}
    expect(page.locator(f"[name=reading-{free[0]}]")).to_have_value("5.3")
    expect(page.locator(f"[name=reading-{free[1]}]")).to_have_value("five")
    expect(page.locator(f"[name=reading-{free[1]}]")).to_have_attribute("aria-invalid", "true")
    expect(page.locator(f"[name=at_least-{free[2]}]")).to_be_checked()
    expect(page.locator(f"[name=cause-{free[3]}]")).to_have_value("nose under the snow")
    expect(page.locator(f"[name=note-{free[0]}]")).to_have_value('<b>"a gust"</b>')
    expect(page.locator("#reader")).to_have_value("Ada")
    alert.get_by_role("link").first.click()
    page.locator(f"[name=reading-{free[1]}]").fill("5.5")
    page.locator(f"[name=reading-{free[2]}]").fill("7.5")
    page.get_by_role("button", name="Take it in").click()
    expect(page.get_by_role("status")).to_contain_text("3 readings")
    expect(page.locator(f"[name=reading-{free[0]}]")).to_have_value("")
    expect(page.locator(f"tr[data-launch='{free[0]}']")).to_contain_text("recorded: read")


@WITHOUT_SCRIPT
def test_it_works_without_script(server: Server, page: Page) -> None:
    opened(page, server)
    page.locator("[name=reading-1]").fill("x")
    page.locator("[name=reading-2]").fill("5.31")
    page.get_by_role("button", name="Take it in").click()
    expect(page.get_by_role("alert")).to_contain_text("launch 1 (distance)")
    expect(page.locator("[name=reading-2]")).to_have_value("5.31")
    page.locator("[name=reading-1]").fill("5.30")
    page.get_by_role("button", name="Take it in").click()
    expect(page.get_by_role("status")).to_contain_text("2 readings")
    assert sorted(body["text"] for body in taken_in(server.folder).values()) == ["5.30", "5.31"]


@WIDE
def test_a_value_far_from_the_others_is_asked_about_and_may_be_sent(server: Server, page: Page) -> None:
    texts = invented_readings(planned(server.folder)[1])
    opened(page, server)
    number = next(one for one in texts if one not in sampled(page))
    for launch, text in {**texts, number: "99999"}.items():
        page.locator(f"[name=reading-{launch}]").fill(text)
    page.get_by_role("button", name="Take it in").click()
    second_look(page, texts)
    page.get_by_role("button", name="Take it in").click()
    alert = page.get_by_role("alert")
    expect(alert).to_contain_text("Far from the others: look once more")
    expect(alert.get_by_role("listitem")).to_have_count(1)
    expect(alert).to_contain_text(f"launch {number}: 99999; the others on")
    assert taken_in(server.folder) == {}, "nothing was sent yet"
    page.get_by_role("button", name="Take it in").click()
    expect(page.get_by_role("status")).to_contain_text("16 readings")
    page.goto(f"{server.address}/day")
    (link,) = page.get_by_role("link", name="Its record").all()
    expect(page.locator(".notice")).to_contain_text(f"Launch {number} on")
    expect(page.locator(".notice")).to_contain_text("99999\u00a0m, far from the others there (about ")
    link.click()
    expect(page.locator(":target")).to_contain_text(f"Launch {number} went 99999 m")


@WIDE
def test_a_second_look_is_kept_over_a_refusal_and_the_row_says_what_is_wrong(
    server: Server, page: Page
) -> None:
    opened(page, server)
    first, *_ = sampled(page)
    wrong = next(number for number in range(1, 17) if number not in sampled(page))
    page.locator(f"[name=reading-{first}]").fill("5.3")
    page.locator(f"[name=reading-{wrong}]").fill("five")
    page.get_by_role("button", name="Take it in").click()
    page.locator(f"[name=again-{first}]").fill("5.3")
    page.get_by_role("button", name="Take it in").click()
    expect(page.locator(f"tr[data-launch='{wrong}']")).to_contain_text(
        'found "five"; expected a plain number'
    )
    expect(page.locator(f"[name=reading-{wrong}]")).to_be_focused()
    expect(page.locator(f"[name=again-{first}]")).to_have_value("5.3")
    page.keyboard.press("Control+A")
    page.keyboard.type("5.5")
    page.get_by_role("button", name="Take it in").click()
    expect(page.get_by_role("status")).to_contain_text("2 readings")


@WIDE
def test_the_list_begins_where_somebody_has_to_go_on(server: Server, page: Page) -> None:
    with Log(server.folder / "log.sqlite") as log:
        log.record([(None, Read(launch=number, text="6", value=6.0)) for number in (1, 2, 3)])
        log.record([(None, Launched(launch=4)), (None, Landed(launch=4))])
    opened(page, server)
    expect(page.locator("#from")).to_have_value("4")
    expect(page.get_by_text("Launches 1 to 3 are recorded")).to_be_visible()
    expect(page.locator("[name=reading-3]")).not_to_be_visible()
    expect(page.locator("[name=reading-4]")).to_be_visible()
    page.locator("#from").fill("3")
    page.keyboard.press("Enter")
    expect(page.locator("[name=reading-3]")).to_be_focused()
    page.keyboard.press("Enter")
    expect(page.locator("[name=reading-4]")).to_be_focused()


def test_whether_a_distance_was_known_is_typed_as_the_list_says_it(tmp_path: Path) -> None:
    cause = "nose under the snow"
    typed = {"cause-3": cause, "seen-3": "no", "cause-4": cause, "seen-4": "yes", "cause-5": cause}
    by_csv = sealed_study(tmp_path / "study", blocks=2)
    desk = Desk(str(copied(by_csv, "typed")))
    laptop.take_typed(desk, {**typed, "seen-6": "no"})
    desk.close()
    told = taken_in(tmp_path / "typed")
    said = {body["launch"]: body.get("value_seen") for body in told.values()}
    assert said == {3: False, 4: True, 5: None}
    listed = tmp_path / "list.csv"
    listed.write_text(f"launch,set aside,value seen\n3,{cause},no\n4,{cause},yes\n5,{cause},\n")
    assert run("take-in", listed, "--study", by_csv).exit_code == 0
    assert taken_in(by_csv) == told


def test_nothing_typed_is_told_and_writes_nothing(tmp_path: Path) -> None:
    desk = Desk(str(sealed_study(tmp_path / "study", blocks=2)))
    before = desk.catch_up()
    assert laptop.take_typed(desk, {"reading-1": "  ", "reader": "Ada"}).startswith("Nothing was typed")
    assert desk.catch_up() == before
    desk.close()


def test_the_sample_follows_from_the_seal_and_holds_some_rows_of_each_round(tmp_path: Path) -> None:
    folder = sealed_study(tmp_path / "study", blocks=4, launches=6)
    block_of = {one.number: one.block for one in planned(folder)[1].launches}
    first = Desk(str(folder))
    shown = laptop.keying(first)
    assert len(shown["rows"]) == 96 and shown["earlier"] == []
    assert Counter(block_of[number] for number in shown["sample"]) == dict.fromkeys(block_of.values(), 3)
    assert laptop.keying(first)["sample"] == shown["sample"]
    first.close()
    again = Desk(str(tmp_path / "study"))
    assert laptop.keying(again)["sample"] == shown["sample"]
    again.close()


def verdict(folder: Path) -> dict[str, Any]:
    """What is answered, without where it came from."""
    result = run("answer", folder, "--json")
    assert result.exit_code == 0, result.output
    document: dict[str, Any] = json.loads(result.stdout)
    del document["provenance"]
    return document


@pytest.mark.parametrize("on_paper", ["the first round", "the last round"])
def test_one_round_on_paper_and_the_rest_on_the_phone_answers_as_all_by_csv(
    server: Server, page: Page, on_paper: str
) -> None:
    by_csv = copied(server.folder, "by-csv")
    _, schedule = planned(server.folder)
    texts = invented_readings(schedule)
    rounds = list(dict.fromkeys(one.block for one in schedule.launches))
    chosen = rounds[0] if on_paper == "the first round" else rounds[-1]
    paper = {one.number: texts[one.number] for one in schedule.launches if one.block == chosen}
    if chosen == rounds[0]:
        typed_in(page, server, paper)
        play_day(Phone(page, server.pair()), texts)
    else:
        play_day(Phone(page, server.pair()), texts, until=len(texts) - len(paper))
        typed_in(page, server, paper)
    expected = texts.keys()
    assert {body["launch"] for body in readings(server.folder)} == expected
    server.kill()
    assert any(event.device.startswith("phone-") for event in events_of(server.folder))
    rows = [{"launch": number, "distance": text} for number, text in texts.items()]
    assert run("take-in", write_list(by_csv / "all.csv", rows), "--study", by_csv).exit_code == 0
    mixed, plain = verdict(server.folder), verdict(by_csv)
    assert mixed["surfaces"] == plain["surfaces"]
    assert mixed["between_surfaces"] == plain["between_surfaces"]


def typed_in(page: Page, server: Server, paper: Mapping[int, str]) -> None:
    """Type rows in, in a tab of their own."""
    laptop_page = page.context.new_page()
    opened(laptop_page, server)
    for number, text in paper.items():
        laptop_page.locator(f"[name=reading-{number}]").fill(text)
    take_in(laptop_page, paper)
    laptop_page.close()


def readings(folder: Path) -> list[dict[str, Any]]:
    return [event.body.to_dict() for event in events_of(folder) if event.body.kind == "read"]
