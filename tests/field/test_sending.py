"""How records travel when the laptop sleeps, moves, or has something else; how its page hears."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Browser, Page, expect

from evenglide.fieldlog.bodies import Noted
from evenglide.fieldlog.events import Draft
from evenglide.store.log import Log, read_log
from tests.conftest import PHONE
from tests.field.phone import Phone
from tests.field.server import Server
from tests.field.studies import sealed_study
from tests.walks.command import run
from tools.chromium import find_chromium, launch_arguments

WAIT_MS = 30_000


@pytest.fixture
def server(tmp_path: Path) -> Iterator[Server]:
    with Server(sealed_study(tmp_path / "study", blocks=2)) as running:
        yield running


def says(page: Page, words: str) -> None:
    expect(page.locator(".saved")).to_have_text(words, timeout=WAIT_MS)


def test_a_laptop_that_slept_gets_everything_when_it_wakes(server: Server, page: Page) -> None:
    phone = Phone(page, server.pair())
    phone.record("Read it, begin")
    says(page, "here 1 · laptop 1")
    server.sleep()
    phone.record("is ready")
    phone.record("is ready")
    page.wait_for_timeout(1500)
    says(page, "here 3 · laptop 1")
    server.wake()
    says(page, "here 3 · laptop 3")
    mine = [event.sequence for event in read_log(server.folder / "log.sqlite") if "phone" in event.device]
    assert sorted(mine) == [1, 2, 3]


def test_something_else_under_the_same_name_stays_on_the_phone_and_is_told(
    server: Server, page: Page, tmp_path: Path
) -> None:
    phone = Phone(page, server.pair())
    server.kill()
    phone.record("Read it, begin")
    mine = page.evaluate("() => window.evenglide.records.all()")[0]
    told = {name: mine[name] for name in ("id", "device", "sequence", "device_time")}
    with Log(server.folder / "log.sqlite") as log:
        log.append([Draft(**told, body=Noted(words="something else"))], study=log.sealed)
    server.start()
    page.locator(".saved").click()
    expect(page.locator("main")).to_contain_text(
        "The laptop keeps something else under the name of 1 record", timeout=WAIT_MS
    )
    says(page, "here 1 · laptop 0")
    kept = [event.body for event in read_log(server.folder / "log.sqlite")]
    conflicting = [body for body in kept if body.kind == "conflicting"]
    assert [body.to_dict()["body"]["kind"] for body in conflicting] == ["session"]  # and not lost here either


def test_a_laptop_without_room_is_told_in_words_and_tried_again(server: Server, page: Page) -> None:
    """What the server says where the disk is full; the rest of the way is the real one."""
    full = {"code": "disk-full", "where": "log.sqlite", "found": "no room left on the disk"}
    told = {"format": "evenglide.problems/1", "problems": [full]}
    phone = Phone(page, server.pair())
    page.route("**/records", lambda route: route.fulfill(status=409, json=told))
    phone.record("Read it, begin")
    expect(page.get_by_role("alert")).to_contain_text(
        "The laptop has no room left on its disk. What was recorded stays here", timeout=WAIT_MS
    )
    says(page, "here 1 · laptop 0")
    assert [one["sent"] for one in page.evaluate("() => window.evenglide.records.all()")] == [False]
    page.unroute("**/records")
    says(page, "here 1 · laptop 1")
    expect(page.get_by_role("alert")).to_have_count(0)


def test_the_laptops_page_hears_again_after_its_server_was_killed(server: Server, page: Page) -> None:
    page.goto(f"{server.address}/day")
    latest = page.locator(".latest li").first
    server.kill()
    server.start()
    with Log(server.folder / "log.sqlite") as log:
        log.record([(None, Noted(words="written while nobody listened"))])
    expect(latest).to_contain_text("written while nobody listened", timeout=WAIT_MS)
    with Log(server.folder / "log.sqlite") as log:
        log.record([(None, Noted(words="and written since"))])
    expect(latest).to_contain_text("and written since", timeout=WAIT_MS)


def test_an_address_that_changed_is_mended_by_the_file(server: Server, page: Page, tmp_path: Path) -> None:
    phone = Phone(page, server.pair())
    phone.record("Read it, begin")
    says(page, "here 1 · laptop 1")
    server.kill()
    phone.record("is ready")
    phone.record("is ready")
    with Server(server.folder) as moved:
        assert moved.port != server.port
        other = page.context.new_page()
        Phone(other, moved.pair("the same phone"))
        says(other, "here 0 · laptop 0")  # to the browser it is another place, with nothing in it
        file = phone.save_file(tmp_path)
        taken = run("take-in", file, "--study", server.folder)
        assert taken.exit_code == 0, taken.output
        again = run("take-in", file, "--study", server.folder)
        assert again.exit_code == 0, again.output
        desk = page.context.new_page()
        desk.goto(f"{moved.address}/events")
        expect(desk.get_by_text("was made ready")).to_have_count(2)
    mine = [event.sequence for event in read_log(server.folder / "log.sqlite") if "phone" in event.device]
    assert sorted(mine) == [1, 2, 3]


def test_over_plain_http_the_open_tab_goes_on_and_says_what_it_cannot(
    server: Server, chromium: Browser
) -> None:
    name = "hut.local"
    rules = f"--host-resolver-rules=MAP {name} 127.0.0.1"
    browser = chromium.browser_type.launch(executable_path=find_chromium(), args=[*launch_arguments(), rules])
    page = browser.new_context(viewport=PHONE).new_page()
    server.hosts.append(f"{name}:{server.port}")
    server.kill()
    server.start()
    phone = Phone(page, server.pair().replace("127.0.0.1", name))
    assert not page.evaluate("() => window.isSecureContext")
    phone.record("Read it, begin")
    says(page, "here 1 · laptop 1")
    server.kill()
    phone.record("is ready")
    page.locator(".saved").click()
    expect(page.locator("main")).to_contain_text("Do not reload it while the laptop is away")
    page.locator(".saved").click()
    phone.record("is ready")
    server.start()
    says(page, "here 3 · laptop 3")
    browser.close()
