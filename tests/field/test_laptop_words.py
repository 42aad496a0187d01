"""What the laptop's pages say to somebody who never saw them, and what they keep to themselves."""

from __future__ import annotations

import asyncio
import html
import re
from collections.abc import AsyncIterator
from pathlib import Path

import pytest

from evenglide.fieldlog.bodies import Corrected, Elsewhere, Noted, Prepared, Read, Session, SetAside
from evenglide.steps.desk import RECENT
from evenglide.web.app import Settings, create_app
from tests.field.half_day import sent
from tests.field.served import ADDRESS, ELSEWHERE, HOST, Served, served

__all__ = ["served"]
FORM = {"Content-Type": "application/x-www-form-urlencoded", "Origin": ADDRESS}
BROWSER = {"Accept": "text/html,application/xhtml+xml,*/*;q=0.8"}


def words(page: str) -> str:
    return html.unescape(re.sub(r"\s+", " ", re.sub(r"<[^>]+>", " ", page)))


def test_what_went_on_a_hidden_coat_is_not_told_by_its_amount(served: Served) -> None:
    """Nothing weighs nothing, comes from no batch and need not wait: each tells bare from treated."""
    folder = Path(served.desk.folder)
    (treated, _) = sent(
        folder,
        [
            Prepared(
                preparation="p1",
                item="slider 1",
                grams=3.25,
                batch="lot 81",
                cure_s=960.0,
                strips=4,
                ticks=["ironed"],
                who="Ada",
            ),
            Prepared(preparation="p2", item="slider 2", who="Ada"),
        ],
    )
    sent(
        folder,
        [
            Corrected(
                target=treated, changes={"grams": 7.75, "batch": "lot 82", "cure_s": 1020.0, "who": "Bea"}
            )
        ],
        first=3,
    )
    for path in ("/events", "/day"):
        page = words(served.get(path).text)
        assert "slider 2 with its treatment was made ready (by Ada)." in page
        for amount in ("3.25", "7.75", "lot 8", "cured", "1020", "stripped", "ironed"):
            assert amount not in page, (path, amount)
    assert "p1: slider 1 with its treatment was made ready (by Bea)." in words(served.get("/events").text)


def test_every_record_can_be_turned_to(served: Served) -> None:
    sent(Path(served.desk.folder), [Noted(words=f"remark {number}.") for number in range(2 * RECENT)])
    met, path = [], "/events"
    while path:
        page = served.get(path).text
        met += [int(number) for number in re.findall(r'<tr id="record-(\d+)"', page)]
        older = re.search(r'href="(/events\?before=\d+)">Older', page)
        path = older[1] if older else ""
    assert met == list(range(max(met), 0, -1)) and len(met) > 2 * RECENT
    assert served.get("/events?before=1").status_code == 200


def test_a_letter_on_paper_is_found_again_in_the_list_of_causes(served: Served) -> None:
    page = served.get("/keying").text
    assert '<option value="rig moved more than 1 cm">A · rig moved more than 1 cm</option>' in page
    assert '<option value="nose under the snow">B · nose under the snow</option>' in page


def test_without_the_network_the_page_of_phones_says_that_none_can_come(served: Served) -> None:
    assert "evenglide serve --lan" in words(served.get("/phones").text)
    address = "http://hut.local:4173"
    told = Settings(folder=served.desk.folder, hosts=(HOST, "hut.local:4173"), address=address)
    with Served(create_app(told)) as open_to_phones:
        assert "evenglide serve --lan" not in words(open_to_phones.get("/phones").text)


def test_home_and_the_day_say_what_to_do_next(served: Served) -> None:
    assert 'class="button main" href="/phones"' in served.get("/").text
    assert "Next: go outside" in served.get("/day").text
    sent(Path(served.desk.folder), [Session(outing=1)])
    assert 'class="button main" href="/day"' in served.get("/").text
    for path in ("/", "/day"):
        assert "Next: make the gear ready. The next launch is 1:" in words(served.get(path).text), path


def test_what_is_recorded_elsewhere_is_not_made_yet_and_is_to_be_taken_in(served: Served) -> None:
    numbers = [one["number"] for one in served.desk.plan["launches"]]
    sent(Path(served.desk.folder), [Elsewhere(launches=numbers, how="paper")])
    for path in ("/", "/day"):
        told = words(served.get(path).text)
        assert "take in what is recorded on paper" in told and f"0 of {len(numbers)} launches" in told, path
    assert 'class="button main" href="/keying"' in served.get("/").text
    asked = served.get("/keying").text
    assert f'name="reading-{numbers[0]}"' in asked and "<details" not in asked  # no row is folded away


def test_conditions_tell_how_an_outing_began_and_keep_a_unit_that_was_typed(served: Served) -> None:
    sent(Path(served.desk.folder), [Session(outing=1, place="hut", weather="thin cloud", people=["Ada"])])
    for value in ("minus two", "\u22122,5"):
        told = {"name": "air", "value": value, "unit": "C", "words": ""}
        assert served.post("/conditions", data=told, headers={"Origin": ADDRESS}).status_code == 303
    page = words(served.get("/conditions").text)
    assert "An outing begins (hut, thin cloud, Ada)." in page
    assert "air: minus two C." in page and "air: -2.5 C." in page


def test_a_reading_is_far_from_the_others_by_the_rule_of_the_phone(served: Served) -> None:
    ground = [one["number"] for one in served.desk.plan["launches"] if one["surface"] == "cold powder"]
    values = [6.0, 6.2, 5.8, 6.1, 9.7, 3.0]
    bodies = [
        Read(launch=number, text=str(value), value=value)
        for number, value in zip(ground, values, strict=False)
    ]
    folder = Path(served.desk.folder)
    sent(folder, bodies[:5])
    # The middle of 5.8, 6.0, 6.1, 6.2 is taken as 6.1, and 1.6 times that is 9.76.
    assert "Look once more" not in words(served.get("/day").text)
    aside = SetAside(launch=ground[0], cause="nose under the snow")
    sent(folder, [aside, bodies[5]], device="phone-b")
    page = words(served.get("/day").text).replace("\u00a0", " ")
    far = "on cold powder: 3.0 m, far from the others there (about 6.2 m)."
    assert f"Launch {ground[5]} {far}" in page and page.count("far from the others") == 1


def test_somebody_who_opened_the_wrong_page_reads_a_page(served: Served) -> None:
    title = str(served.desk.plan["title"])
    for path, source, status in (
        ("/", ELSEWHERE, 403),
        ("/answer", ELSEWHERE, 403),
        ("/nowhere", ELSEWHERE, 404),
        ("/field/certificate", ELSEWHERE, 404),
        ("/events?before=x", "127.0.0.1", 422),
    ):
        answer = served.get(path, source=source, headers=BROWSER)
        assert answer.status_code == status and answer.headers["content-type"].startswith("text/html"), path
        assert title not in html.unescape(answer.text)
        assert ('href="/field/"' in answer.text) == (source == ELSEWHERE)
    assert "127.0.0.1" in served.get("/", source=ELSEWHERE, headers=BROWSER).text
    assert served.get("/", source=ELSEWHERE).json()["detail"].startswith("These pages"), (
        "a program is told too"
    )


def test_a_phone_has_a_name(served: Served) -> None:
    answer = served.post("/phones", data={"name": "   "}, headers={**BROWSER, "Origin": ADDRESS})
    assert answer.status_code == 422 and "A phone needs a name" in answer.text
    assert served.desk.pairings.phones == ()


def test_a_body_that_never_ends_is_not_waited_for(served: Served, monkeypatch: pytest.MonkeyPatch) -> None:
    """Else anybody on the network could keep connections until nobody else gets one."""
    monkeypatch.setattr("evenglide.web.guard.LONGEST_S", 0.3)

    async def dripping() -> AsyncIterator[bytes]:
        for _ in range(10**6):
            yield b" "
            await asyncio.sleep(0.05)

    for path, given in (("/field/records", {}), ("/field/photos", served.paired()), ("/keying", FORM)):
        answer = served.post(path, content=dripping(), headers=given)
        assert answer.status_code == 408, (path, answer.text)


def test_who_listens_for_news_may_stay(served: Served, monkeypatch: pytest.MonkeyPatch) -> None:
    """Only a body has to come in time; a page that waits for records does so for hours."""
    monkeypatch.setattr("evenglide.web.guard.LONGEST_S", 0.0)
    assert served.get("/day").status_code == 200
    assert served.post("/conditions", data={"name": "wind"}, headers={"Origin": ADDRESS}).status_code == 303


def test_the_next_launch_of_a_clip_begins_with_the_same_camera_and_pegs(served: Served) -> None:
    told = {"launch": "5", "text": "4.313", "rate": "59.94", "near": "2", "far": "9,0", "reader": "Ada"}
    page = served.post("/clip", data=told, headers={"Origin": ADDRESS}).text
    for name in ("rate", "near", "far", "reader"):
        assert re.search(rf'name="{name}"[^>]* value="{re.escape(told[name])}"', page), name
    assert 'data-unit="m"' in page and "4.313 m is kept" in page
