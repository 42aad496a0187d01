"""The laptop's pages: for every eye and ear, by keyboard alone, up to date, silent on treatments."""

from __future__ import annotations

import html
import re
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from axe_playwright_python.sync_playwright import Axe
from hypothesis import HealthCheck, Phase, given, settings
from hypothesis import strategies as some
from playwright.sync_api import Browser, Page, expect

from evenglide.fieldlog.bodies import Condition, Corrected, Launched, Prepared, Read
from evenglide.fieldlog.events import derived_id
from evenglide.store.log import Log, read_log
from tests.browser import watch
from tests.field.half_day import MARKUP, half_day, sent
from tests.field.served import Served, app_of
from tests.field.server import Server
from tests.field.studies import STUDY, invented_readings, planned, sealed_study

PAGES = ("/", "/day", "/conditions", "/events", "/keying", "/clip", "/phones", "/answer")
WIDTHS = (390, 1280)
SECRET, NOTHING = "oil of roses", "not a thing on it"
HIDDEN = (
    STUDY.replace("Does a paraffin rub make the club's snow sliders run farther?", "Which is faster?")
    .replace('name = "bare"', f'name = "{NOTHING}"')
    .replace('name = "paraffin rub"', f'name = "{SECRET}"')
)


@pytest.fixture(scope="module")
def server(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Server]:
    with Server(half_day(tmp_path_factory.mktemp("laptop") / "study")) as running:
        yield running


def violations(page: Page) -> list[tuple[str, str]]:
    """What a checker of accessibility finds, once the page has its style."""
    page.wait_for_load_state("load")
    return [(one["id"], one["nodes"][0]["html"]) for one in Axe().run(page).response["violations"]]


def unfold(page: Page) -> None:
    """Open what is folded away."""
    page.evaluate("document.querySelectorAll('details').forEach(one => one.open = true)")


def sideways(page: Page) -> int:
    return int(page.evaluate("document.documentElement.scrollWidth - innerWidth"))


@pytest.mark.parametrize("scheme", ["light", "dark"])
@pytest.mark.parametrize("width", WIDTHS)
def test_every_page_for_every_eye_and_ear(chromium: Browser, server: Server, width: int, scheme: str) -> None:
    context = chromium.new_context(
        viewport={"width": width, "height": 844},
        color_scheme="dark" if scheme == "dark" else "light",
    )
    seen, page, found = watch(context), context.new_page(), []
    for path in PAGES:
        page.goto(server.address + path)
        assert page.title().strip().endswith(f"Which is faster? {MARKUP}")
        unfold(page)
        found += [(path, *one) for one in violations(page)]
        assert sideways(page) <= 0, path
        cut = (
            "[...document.querySelectorAll('.wide')].filter(one => one.scrollWidth > one.clientWidth).length"
        )
        assert page.evaluate(cut) == 0, f"a table of {path} is cut at {width} px"
        assert page.locator("h1").count() == 1 and page.locator("[aria-current=page]").count() == 1
        assert page.locator("main img, main b").count() == 0, "markup in a name is text"
    context.close()
    assert found == [] and seen.failed == [] and seen.fetched == []


@pytest.mark.parametrize(
    "page", [{"viewport": {"width": width, "height": 700}} for width in (320, 640, 1000)], indirect=True
)
def test_no_page_scrolls_sideways_on_other_screens_or_with_letters_twice_as_large(
    server: Server, page: Page
) -> None:
    for path in PAGES:
        page.goto(server.address + path)
        assert sideways(page) <= 0, path


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_pages_in_other_states(chromium: Browser, server: Server, scheme: str) -> None:
    """Problems with what was typed, a second look, a phone just paired."""
    context = chromium.new_context(
        viewport={"width": 390, "height": 844}, color_scheme="dark" if scheme == "dark" else "light"
    )
    page, found = context.new_page(), []
    page.goto(f"{server.address}/keying")
    unfold(page)
    sample = (page.locator("#keying").get_attribute("data-sample") or "").split(",")
    free = next(number for number in map(str, range(1, 17)) if number not in sample)
    page.locator(f"[name=reading-{sample[0]}]").fill("5.3")
    page.get_by_role("button", name="Take it in").click()
    found += violations(page)
    page.locator(f"[name=again-{sample[0]}]").fill("3.5")
    page.get_by_role("button", name="Take it in").click()
    expect(page.get_by_role("alert")).to_be_visible()
    found += violations(page)
    page.locator(f"[name=reading-{sample[0]}]").fill("")
    page.locator(f"[name=reading-{free}]").fill("no")
    page.get_by_role("button", name="Take it in").click()
    expect(page.get_by_role("alert")).to_contain_text("Nothing was written")
    found += violations(page)
    page.goto(f"{server.address}/phones")
    page.get_by_label("Name of a phone").fill(f"{scheme} {MARKUP}"[:60])
    page.get_by_role("button", name="Pair it").click()
    expect(page.locator(".code svg")).to_be_visible()
    found += violations(page)
    assert sideways(page) <= 0 and page.locator("main img").count() == 0
    context.close()
    assert found == []


def test_names_with_markup_are_shown_as_they_were_typed(server: Server, page: Page) -> None:
    for path, what in (
        ("/day", f"cold powder {MARKUP}"),
        ("/events", f"a dog {MARKUP}"),
        ("/conditions", f"gusts {MARKUP}"),
        ("/keying", f"slider 1 {MARKUP}"),
        ("/clip", f"slider 1 {MARKUP}"),
    ):
        page.goto(server.address + path)
        assert what in (page.locator("main").text_content() or ""), path


def test_the_day_tells_what_is_missing_and_what_was_corrected(server: Server, page: Page) -> None:
    page.goto(f"{server.address}/day")
    main = page.locator("main")
    expect(main).to_contain_text("10 of 16 launches made")
    expect(main).to_contain_text("phone-ada: 2 between those that came")
    expect(main).to_contain_text("Launches 9 and 10.")
    expect(main).to_contain_text("Making a piece of gear ready: up to 15")
    page.goto(f"{server.address}/events")
    correction = page.locator("tr", has_text="misheard")
    text = correction.text_content() or ""
    target = re.search(r"Corrected: record (\d+) should say “6.30” m", text)
    assert target is not None, text
    corrected = page.locator(f"tbody tr:has(td:first-child:text-is('{target[1]}'))")
    expect(corrected).to_contain_text("Now: Launch 1 went 6.30 m")


# --------------------------------------------------------------------------------------- by keyboard


def test_every_control_is_reached_by_keyboard(server: Server, page: Page) -> None:
    for path in PAGES:
        page.goto(server.address + path)
        unfold(page)
        wanted = page.evaluate("""() => [...document.querySelectorAll(
            "a[href], button:not(:disabled), input:not([type=hidden]), select, [tabindex='0']"
            )].map((one, at) => {
                one.dataset.at = at;
                return one.type === "radio" ? `radio ${one.name}` : String(at);
            })""")
        met = set()
        for _ in range(len(wanted) + 5):
            page.keyboard.press("Tab")
            met.add(
                page.evaluate("""() => {
                    const one = document.activeElement;
                    return one.type === "radio" ? `radio ${one.name}` : one.dataset.at ?? "";
                }""")
            )
        assert set(wanted) <= met, path


def test_a_condition_and_a_pairing_by_keyboard_alone(server: Server, page: Page) -> None:
    page.goto(f"{server.address}/conditions")
    page.keyboard.press("Tab")
    page.keyboard.press("Enter")  # past the navigation
    for typed in ("air temperature", "-3,5", "°C", "in the shade"):
        page.keyboard.press("Tab")
        page.keyboard.type(typed)
    page.keyboard.press("Enter")
    expect(page.locator("main")).to_contain_text("air temperature: -3.5 °C, in the shade.")
    page.goto(f"{server.address}/phones")
    page.keyboard.press("Tab")
    page.keyboard.press("Enter")
    page.keyboard.press("Tab")
    page.keyboard.type("Bea's phone")
    page.keyboard.press("Enter")
    expect(page.get_by_role("heading", name="Scan this with Bea's phone")).to_be_visible()
    page.get_by_role("button", name="Let it write no longer: Bea's phone").press("Enter")
    expect(page.locator("tr", has_text="Bea's phone")).to_contain_text("may write no longer")


# --------------------------------------------------------------------------------------- up to date


@pytest.fixture
def own_server(tmp_path: Path) -> Iterator[Server]:
    """For a test that adds to the day: the others count what is in it."""
    with Server(half_day(tmp_path / "study")) as running:
        yield running


def test_the_day_page_changes_when_a_phone_sends(own_server: Server, page: Page) -> None:
    server = own_server
    token = server.pair("Cleo's phone").partition("#t=")[2]
    page.goto(f"{server.address}/day")
    expect(page.locator("main")).to_contain_text("10 of 16 launches made")
    page.evaluate("() => { window.untouched = true; }")
    record = {
        "id": derived_id("cleo", 1),
        "device": "phone-cleo",
        "sequence": 1,
        "device_time": "2026-01-17T11:00:00Z",
        "body": Launched(launch=11).to_dict(),
    }
    with Log(server.folder / "log.sqlite") as log:
        study = log.sealed
    answer = page.request.post(
        f"{server.address}/field/records",
        data={"study": study, "records": [record]},
        headers={"Authorization": f"Bearer {token}"},
    )
    assert answer.status == 200 and answer.json()["kept"] == [record["id"]]
    expect(page.locator("main")).to_contain_text("11 of 16 launches made", timeout=15_000)
    expect(page.locator("main")).to_contain_text("Launch 11 was made.")
    assert page.evaluate("window.untouched") is True, "the page was not loaded anew"


# --------------------------------------------------------------------------------------- hidden


@pytest.fixture
def hidden(tmp_path: Path) -> Iterator[Served]:
    with Served(app_of(sealed_study(tmp_path / "study", blocks=2, text=HIDDEN))) as opened:
        yield opened


NAMES = some.sampled_from([SECRET, NOTHING])
WORDS = some.text("abc <&>é", max_size=8)
PREPARATIONS = some.sampled_from(["p1", "p2", "p3", "p4", "elsewhere"])
TOLD = some.one_of(
    some.builds(Prepared, preparation=PREPARATIONS, treatment=NAMES, hands_on_s=some.floats(60, 2000)).map(
        lambda body: body.to_dict()
    ),
    some.fixed_dictionaries(
        {
            "kind": some.just("corrected"),
            "version": some.just(1),
            "target": some.integers(1, 30).map(lambda number: derived_id("hidden", number)),
            "changes": some.fixed_dictionaries({"treatment": NAMES}, optional={"who": WORDS}),
        }
    ),
    some.fixed_dictionaries(
        {
            "kind": some.just("prepared"),
            "version": some.just(7),
            "preparation": PREPARATIONS,
            "treatment": NAMES,
        }
    ),
    some.builds(Launched, launch=some.integers(1, 15)).map(lambda body: body.to_dict()),
    some.builds(Read, launch=some.integers(1, 15), text=some.just("5.1"), value=some.floats(4, 9)).map(
        lambda body: body.to_dict()
    ),
    some.builds(Condition, name=WORDS, words=WORDS).map(lambda body: body.to_dict()),
    some.fixed_dictionaries(
        {"kind": some.just("guess"), "version": some.just(1), "preparation": PREPARATIONS, "treatment": NAMES}
    ),
)
GUESSED = re.compile(rf"takes \w+ for ({SECRET}|{NOTHING})\.")


def test_no_page_names_a_treatment_while_launches_remain(hidden: Served) -> None:
    """Launch 16 is never made; what somebody typed as a guess may be read, and nothing else."""
    paired = hidden.paired()
    numbers = iter(range(1, 10**6))
    study = hidden.desk.plan["study"]

    @settings(
        max_examples=25,
        derandomize=True,
        deadline=None,
        database=None,
        phases=[Phase.generate],
        suppress_health_check=list(HealthCheck),
    )
    @given(some.lists(TOLD, min_size=1, max_size=12))
    def try_it(bodies: list[dict[str, Any]]) -> None:
        records = [
            {
                "id": derived_id("hidden", number),
                "device": "phone-a",
                "sequence": number,
                "device_time": f"2026-01-17T10:{number // 60 % 60:02}:{number % 60:02}Z",
                "body": body,
            }
            for body, number in zip(bodies, numbers, strict=False)
        ]
        answer = hidden.post("/field/records", json={"study": study, "records": records}, headers=paired)
        assert len(answer.json()["kept"]) == len(records)
        for path in (*PAGES, "/report"):
            text = html.unescape(hidden.get(path).text)
            left = GUESSED.sub("", text)
            assert SECRET not in left and NOTHING not in left, path

    try_it()
    assert "(hidden)" in hidden.get("/events").text and "takes p" in hidden.get("/events").text


def test_at_the_end_the_answer_names_them(tmp_path: Path) -> None:
    folder = sealed_study(tmp_path / "study", blocks=2, text=HIDDEN)
    texts = invented_readings(planned(folder)[1])
    bodies = [Read(launch=number, text=text, value=float(text), unit="m") for number, text in texts.items()]
    sent(folder, [body for body in bodies if body.launch < 16])
    with Served(app_of(folder)) as served:
        early = served.get("/answer").text
        assert "No answer yet" in early and "15 of 16" in early
        assert served.get("/report").status_code == 303
        kinds = [event.body.kind for event in read_log(folder / "log.sqlite")]
        assert "look" not in kinds, "asking too early is no look"
        sent(folder, [body for body in bodies if body.launch == 16], device="phone-late")
        late = served.get("/answer").text
        assert "No answer yet" not in late and "cold powder" in late and "The whole report" in late
        report = served.get("/report")
        assert report.status_code == 200 and SECRET in report.text


@pytest.mark.parametrize("page", [{"color_scheme": "dark"}, {"color_scheme": "light"}], indirect=True)
def test_the_answer_is_a_page_for_every_eye_and_ear(tmp_path: Path, page: Page) -> None:
    folder = sealed_study(tmp_path / "study", blocks=4)
    texts = invented_readings(planned(folder)[1])
    sent(
        folder,
        [Read(launch=number, text=text, value=float(text), unit="m") for number, text in texts.items()],
    )
    with Server(folder) as running:
        page.goto(f"{running.address}/answer")
        expect(page.locator("dt").first).to_have_text("cold powder")
        assert violations(page) == [] and sideways(page) <= 0
        page.goto(f"{running.address}/day")
        expect(page.locator("tbody")).to_contain_text("%")
        page.goto(f"{running.address}/report")
        assert "cold powder" in (page.locator("main").text_content() or "")


def test_what_is_not_hidden_is_told(tmp_path: Path) -> None:
    text = HIDDEN.replace('hidden_from = ["reader"]', "hidden_from = []")
    folder = sealed_study(tmp_path / "study", blocks=2, text=text)
    with Served(app_of(folder)) as served:
        (event,) = sent(folder, [Prepared(preparation="p1", item="slider 1", treatment=SECRET)])
        assert SECRET in served.get("/events").text
        sent(folder, [Corrected(target=event, changes={"treatment": NOTHING})], first=2)
        assert NOTHING in served.get("/events").text


def test_a_planned_check_is_answered_when_it_is_due_and_not_before(tmp_path: Path) -> None:
    text = HIDDEN + "\n[looks]\nnumber = 2\n"
    folder = sealed_study(tmp_path / "study", blocks=8, text=text)
    texts = invented_readings(planned(folder)[1])
    bodies = [Read(launch=number, text=text, value=float(text), unit="m") for number, text in texts.items()]
    half = len(bodies) // 2
    with Served(app_of(folder)) as served:

        def looks() -> int:
            return sum(event.body.kind == "look" for event in read_log(folder / "log.sqlite"))

        sent(folder, [*bodies[: half - 1]])
        assert "No answer yet" in served.get("/answer").text and looks() == 0
        sent(folder, [bodies[half - 1]], first=half)
        assert "Half-way check" in served.get("/answer").text and looks() == 1
        assert "Half-way check" in served.get("/answer").text and looks() == 1, (
            "asking again is the same look"
        )
        sent(folder, [bodies[half]], first=half + 1)
        found = served.get("/answer").text
        assert "Half-way check" in found and looks() == 1, "between checks the last one is told again"
