"""The field page from a real server: killed, silent, forgetful, and nothing is lost."""

from __future__ import annotations

import time
from collections.abc import Iterator
from pathlib import Path

import pytest
from playwright.sync_api import BrowserContext, Page, expect

from evenglide.fieldlog.events import Event
from evenglide.store.log import read_log
from tests.field.phone import Phone, play_day
from tests.field.server import Server
from tests.field.studies import invented_readings, planned, sealed_study

WAIT_MS = 30_000


@pytest.fixture
def server(tmp_path: Path) -> Iterator[Server]:
    with Server(sealed_study(tmp_path / "study")) as running:
        yield running


def arrived(server: Server) -> list[Event]:
    """What phones have sent, as the log holds it."""
    return [event for event in read_log(server.folder / "log.sqlite") if event.device.startswith("phone-")]


def everything_sent(page: Page, count: int) -> None:
    expect(page.locator(".saved")).to_have_text(f"here {count} · laptop {count}", timeout=WAIT_MS)


def without_gap(events: list[Event]) -> bool:
    return sorted(event.sequence for event in events) == list(range(1, len(events) + 1))


def test_a_day_with_the_server_killed_in_the_middle(server: Server, page: Page) -> None:
    _, schedule = planned(server.folder)
    texts = invented_readings(schedule)
    phone = Phone(page, server.pair())
    play_day(phone, texts, until=6)
    everything_sent(page, server_count := int(page.evaluate("window.evenglide.drafts.length")))
    server.kill()
    play_day(phone, texts, until=12)
    page.wait_for_timeout(300)
    assert len(arrived(server)) == server_count
    page.reload()  # the page opens without its server
    play_day(phone, texts, until=14)
    server.start()
    play_day(phone, texts)
    count = int(page.evaluate("window.evenglide.drafts.length"))
    everything_sent(page, count)
    events = arrived(server)
    assert len(events) == count and without_gap(events)


def test_storm(server: Server, page: Page) -> None:
    """25 kills of the server while two tabs log, every 7th answer lost after it was committed."""
    address = server.pair()
    context: BrowserContext = page.context
    Phone(page, address)
    other = context.new_page()
    Phone(other, address)
    answers = {"count": 0, "lost": 0}

    def lose(route: object) -> None:
        answers["count"] += 1
        if answers["count"] % 7:
            route.continue_()  # type: ignore[attr-defined]
            return
        try:
            route.fetch()  # type: ignore[attr-defined]
            answers["lost"] += 1
        except Exception:
            pass
        route.abort()  # type: ignore[attr-defined]

    context.route("**/field/records", lose)
    logging = """() => {
        const save = () => window.evenglide.records.save({ kind: "noted", words: "storm" });
        window.logging = setInterval(save, 25);
    }"""
    for _ in range(25):
        for tab in (page, other):
            tab.evaluate(logging)
        page.wait_for_timeout(120)
        server.kill()
        page.wait_for_timeout(60)
        # How long a start takes on a busy machine must not decide how many records there are.
        for tab in (page, other):
            tab.evaluate("() => clearInterval(window.logging)")
        server.start()
    context.unroute("**/field/records")
    page.wait_for_timeout(300)
    sent = page.evaluate("() => window.evenglide.records.all()")
    everything_sent(page, len(sent))
    events = arrived(server)
    assert answers["lost"] > 0 and len(sent) > 200
    assert {one["id"] for one in sent} == {event.id for event in events}
    assert len(events) == len(sent) and without_gap(events)


def test_a_phone_that_is_not_paired_keeps_everything_and_says_so(server: Server, page: Page) -> None:
    phone = Phone(page, server.pair())
    phone.record("Read it, begin")
    everything_sent(page, 1)
    page.evaluate("() => { window.evenglide.token = 'wrong'; }")
    phone.record("is ready")
    expect(page.get_by_role("alert")).to_contain_text("does not know this phone", timeout=WAIT_MS)
    assert phone.saved() == 2 and len(arrived(server)) == 1


def test_pressing_three_times_records_once(server: Server, page: Page) -> None:
    phone = Phone(page, server.pair())
    page.evaluate("() => [1, 2, 3].forEach(() => document.querySelector('.main').click())")
    phone.on("prepare")
    everything_sent(page, 1)
    assert len(arrived(server)) == 1


def test_a_double_tap_presses_once(server: Server, page: Page) -> None:
    phone = Phone(page, server.pair())
    for _ in range(3):
        phone.button("is ready" if phone.screen == "prepare" else "Read it, begin").dblclick()
        page.wait_for_timeout(200)
    kinds = [one["body"]["kind"] for one in page.evaluate("() => window.evenglide.records.all()")]
    assert kinds == ["session", "prepared", "prepared"]


def test_offline_reload_second_tab_and_online_again(server: Server, page: Page) -> None:
    address = server.pair()
    phone = Phone(page, address)
    page.wait_for_function("() => navigator.serviceWorker.controller !== null")
    page.context.set_offline(True)
    phone.record("Read it, begin")
    phone.record("is ready")
    page.reload()
    phone.on("prepare")
    second = page.context.new_page()
    other = Phone(second, address.partition("#")[0])
    other.record("is ready")
    page.context.set_offline(False)
    everything_sent(page, 3)
    assert without_gap(arrived(server)) and len(arrived(server)) == 3


def test_a_clock_that_jumps_back_six_years_changes_no_order(server: Server, page: Page) -> None:
    page.clock.install(time="2026-01-17T10:00:00Z")
    phone = Phone(page, server.pair())
    phone.record("Read it, begin")
    page.clock.set_system_time("2020-01-17T10:00:00Z")
    phone.record("is ready")
    page.clock.run_for(10_000)
    until = time.monotonic() + 20
    while len(arrived(server)) < 2 and time.monotonic() < until:
        page.clock.run_for(1_000)
    events = sorted(arrived(server), key=lambda event: event.sequence)
    assert [event.body.kind for event in events] == ["session", "prepared"]
    assert [event.device_time[:4] for event in events] == ["2026", "2020"]


def test_storage_cleared_under_an_open_tab(server: Server, page: Page) -> None:
    phone = Phone(page, server.pair())
    phone.record("Read it, begin")
    everything_sent(page, 1)
    session = page.context.new_cdp_session(page)
    session.send("Storage.clearDataForOrigin", {"origin": server.address, "storageTypes": "indexeddb"})
    page.wait_for_timeout(300)
    page.evaluate("() => window.evenglide.record({ kind: 'noted', words: 'after the storage was cleared' })")
    page.wait_for_function(
        "() => window.evenglide.drafts.length === 1 && window.evenglide.drafts[0].sent === true"
    )
    events = arrived(server)
    assert len(events) == 2 and len({event.device for event in events}) == 2
