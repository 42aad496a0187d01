"""`evenglide rehearse`: what it prints, writes and refuses; its JSON; its page in a browser."""

from __future__ import annotations

import dataclasses
import json
import re
import typing
from pathlib import Path
from typing import Any

import pytest
from axe_playwright_python.sync_playwright import Axe
from click.testing import CliRunner, Result
from playwright.sync_api import Page

from evenglide.answer import rehearsed
from evenglide.cli.main import main
from evenglide.report.rehearsal_page import rehearsal_html
from evenglide.report.rehearsal_text import rehearsal_text
from evenglide.report.rehearsal_words import effects_of, of_hundred, worst_words
from tests.answer.json_checks import closed_validator
from tests.house.tree import ROOT

PLAN = ["plan", "study", "--blocks", "4", "--launches", "2", "--seed", "1"]
QUICK = ["--times", "120", "--seed", "5"]
NEW = ["new", "study", "--ground", "snow", "--treatment", "rub <b>", "--stops", "6.0", "6.6"]
NEW += ["--surface", "cold powder", "--surface", "wet spring snow", "--gear", "slider"]
NEVER = re.compile(r"\b(p|df|contrasts?|looks?|voids?|significan\w*|power)\b|p[- ]value", re.IGNORECASE)
"""Words that a rider does not have to know."""


def run(*words: str, status: int = 0) -> Result:
    told = CliRunner().invoke(main, list(words))
    assert told.exit_code == status, told.output
    return told


@pytest.fixture
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A study with a list of launches."""
    monkeypatch.chdir(tmp_path)
    run(*NEW)
    run(*PLAN)
    return tmp_path


def rehearsal_of(folder: Path, *words: str) -> dict[str, Any]:
    found: dict[str, Any] = json.loads(run("rehearse", "study", *QUICK, *words, "--json").output)
    return found


def test_without_a_list_of_launches_the_next_step_is_told(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    run(*NEW)
    told = run("rehearse", "study", "--json", status=1)
    (problem,) = json.loads(told.output)["problems"]
    assert (problem["code"], Path(problem["where"]).name) == ("no-study-file", "schedule.csv")
    assert "evenglide plan" in problem["remedy"]


def test_everything_wrong_with_the_options_is_told_at_once(folder: Path) -> None:
    words = ["--truth", "lots", "--trouble", "rain", "--trouble", "spoilt-outing"]
    told = run("rehearse", "study", *words, "--json", status=2)
    assert [one["code"] for one in json.loads(told.output)["problems"]] == ["bad-truth", "no-such-trouble"]
    here = run("rehearse", "study", "--trouble", "spoilt-outing", "--json", status=2)
    assert [one["code"] for one in json.loads(here.output)["problems"]] == ["trouble-not-here"]


def test_the_json_is_as_published(folder: Path) -> None:
    found = rehearsal_of(folder)
    closed_validator("rehearsal").validate(found)
    assert (
        json.loads(run("schema", "rehearsal").output)["title"] == found["format"] == "evenglide.rehearsal/1"
    )
    assert [one["trouble"] for one in found["unplayed"]] == ["spoilt-outing"]
    assert [len(one["troubles"]) for one in found["scenarios"]] == [0] + [1] * 10
    assert found["error"] == pytest.approx(0.5 / 120**0.5)


def test_every_field_of_the_json_is_described(folder: Path) -> None:
    page = (ROOT / "docs" / "rehearse.md").read_text(encoding="utf-8").partition("## As JSON")[2]
    told = set(re.findall(r"`(\w+)`", page))
    records = [one for one in vars(rehearsed).values() if dataclasses.is_dataclass(one)]
    assert len(records) > 7
    assert {field.name for one in records for field in dataclasses.fields(one)} - told == set()


def test_the_same_seed_gives_the_same_and_another_does_not(folder: Path) -> None:
    first, again = (run("rehearse", "study", *QUICK).output for _ in range(2))
    assert first == again
    assert run("rehearse", "study", "--times", "120", "--seed", "6").output != first
    drawn = [json.loads(run("rehearse", "study", "--times", "5", "--json").output)["seed"] for _ in range(2)]
    assert drawn[0] != drawn[1]


def test_named_troubles_are_played_alone_and_together(folder: Path) -> None:
    found = rehearsal_of(folder, "--trouble", "drift", "--trouble", "set-aside=20 %", "--truth", "8 %")
    names = [[one["name"] for one in scenario["troubles"]] for scenario in found["scenarios"]]
    assert names == [[], ["set-aside"], ["drift"], ["set-aside", "drift"]]
    assert [truth["truth"] for truth in found["scenarios"][0]["truths"]] == ["8 %"]
    alone = rehearsal_of(folder, "--trouble", "nothing")
    assert [one["troubles"] for one in alone["scenarios"]] == [[]]


def test_a_sealed_plan_is_rehearsed_as_sealed(folder: Path) -> None:
    before = rehearsal_of(folder)
    run("seal", "study")
    (folder / "study" / "schedule.csv").unlink()
    after = rehearsal_of(folder)
    assert (before["sealed"], after["sealed"]) == (False, True)
    assert after["scenarios"] == before["scenarios"]


def test_the_terminal_gets_short_lines_in_a_riders_words(folder: Path) -> None:
    told = run("rehearse", "study", *QUICK).output
    assert max(len(line) for line in told.splitlines()) <= 72
    assert NEVER.findall(told) == []
    assert "with seed 5" in told and "120 invented studies" in told
    assert "\r" not in told and "\x1b" not in told


def test_what_was_stated_is_told_as_stated(folder: Path) -> None:
    assert "not stated" in run("rehearse", "study", *QUICK).output
    document = folder / "study" / "study.toml"
    text = re.sub(r"(?ms)^\[scatter\].*?(?=^\[|\Z)", "", document.read_text(encoding="utf-8"))
    stated = '\n[scatter]\npreparations = "1 %"\nlaunches = "4 %"\nas_if_from = 40\n'
    document.write_text(text + stated, encoding="utf-8")
    told = run("rehearse", "study", *QUICK).output
    assert "as the study states it" in told and "4 % between launches" in told
    assert rehearsal_of(folder)["scatter"]["preparations"] == 0.01


# ------------------------------------------------------------------------------------------ pages


def test_the_pages_are_written_and_say_that_they_are_invented(folder: Path) -> None:
    run("rehearse", "study", *QUICK, "--report", "often.html", "--example", "example.html")
    often, example = ((folder / name).read_text(encoding="utf-8") for name in ("often.html", "example.html"))
    assert "every number on this page is invented" in often and "example.html" in often
    assert '<h1 id="question">Invented, a rehearsal of:' in example
    assert "every number on this page is invented" in example
    assert "rub &lt;b&gt;" in often and "rub <b>" not in often
    body = re.sub(r"<style>.*?</style>|<[^>]*>", " ", often, flags=re.DOTALL)
    assert NEVER.findall(body) == []
    assert "--times=120 --seed=5" in body


def test_a_page_that_cannot_be_written_is_a_problem(folder: Path) -> None:
    told = run("rehearse", "study", *QUICK, "--report", "nowhere/often.html", "--json", status=1)
    assert json.loads(told.output)["problems"][0]["code"] == "not-written"


def a_rehearsal(*, wrong: float = 0.0, right: float = 0.5) -> rehearsed.Rehearsal:
    """Two truths, one comparison; the one trouble gives these shares."""

    def scenario(trouble: str, good: float, bad: float) -> rehearsed.Scenario:
        shares = {"right": good, "open": 1.0 - good - bad, "wrong": bad, "higher": 0, "lower": 0, "alike": 0}
        one = rehearsed.RehearsedComparison(
            surface="ice",
            treatment="rub",
            effect=0.0,
            **{name: rehearsed.Share(share=share, error=0.01) for name, share in shares.items()},
        )
        truths = tuple(
            rehearsed.RehearsedTruth(truth=name, told=f"{name} told", comparisons=(one,), families=())
            for name in ("none", "margin")
        )
        played = rehearsed.PlayedTrouble(name=trouble, size=0.1, told=f"{trouble} told", remedy="Mend it.")
        return rehearsed.Scenario(troubles=(played,) if trouble else (), truths=truths)

    scatter = rehearsed.SupposedScatter(
        source="stated", preparations=0.03, launches=0.06, low=None, high=None, together=(), voids=0.0
    )
    return rehearsed.Rehearsal(
        title="A test?",
        sealed=True,
        studies=2500,
        error=0.01,
        seed=1,
        level=0.05,
        scale="ratio",
        unit="m",
        margins=(("ice", (-0.1, 0.1)),),
        typical=6.0,
        scatter=scatter,
        scenarios=(scenario("", 0.5, 0.0), scenario("storm", right, wrong)),
        unplayed=(),
        example=None,
        version="0",
    )


def test_what_misleads_and_what_costs_is_told_with_its_remedy() -> None:
    (misled,) = worst_words(a_rehearsal(wrong=0.3, right=0.3))
    assert "storm told" in misled and "30 of 100" in misled and misled.endswith("Mend it.")
    (costly,) = worst_words(a_rehearsal(wrong=0.0, right=0.2))
    assert "20 of 100 are right" in costly and "30 fewer" in costly
    assert worst_words(a_rehearsal()) == ()


def test_what_changes_nothing_gets_no_line_of_its_own() -> None:
    calm = a_rehearsal(right=0.49)
    assert [len(one.troubles) for one in effects_of(calm).shown] == [0]
    assert "Next to nothing changes here" in rehearsal_text(calm)
    assert len(effects_of(a_rehearsal(right=0.47)).shown) == 2
    assert "Storm told" in rehearsal_html(a_rehearsal(right=0.47), repeat_with="it")


@pytest.mark.parametrize(
    ("share", "told"), [(0.0, "0"), (1e-4, "<1"), (0.006, "1"), (0.5, "50"), (0.996, ">99"), (1.0, "100")]
)
def test_a_share_is_told_of_a_hundred(share: float, told: str) -> None:
    assert of_hundred(share) == told


BOTH = [
    pytest.param({"viewport": size, "color_scheme": scheme}, id=f"{name}, {scheme}")
    for name, size in (("phone", {"width": 390, "height": 844}), ("desk", {"width": 1280, "height": 900}))
    for scheme in ("light", "dark")
]


@pytest.fixture(scope="module")
def often(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The page of a rehearsal, written once."""
    folder = tmp_path_factory.mktemp("rehearsal")
    with pytest.MonkeyPatch.context() as patch:
        patch.chdir(folder)
        run(*NEW)
        run(*PLAN)
        run("rehearse", "study", *QUICK, "--report", "often.html")
    return folder / "often.html"


@pytest.mark.parametrize("page", BOTH, indirect=True)
def test_the_page_shuts_nobody_out_and_fits(page: Page, often: Path) -> None:
    page.goto(often.as_uri())
    page.evaluate("document.querySelectorAll('details').forEach(one => one.open = true)")
    found = Axe().run(page).response["violations"]
    assert [(one["id"], one["nodes"][0]["html"]) for one in found] == []
    width = typing.cast(dict[str, int], page.viewport_size)["width"]
    assert page.evaluate("document.documentElement.scrollWidth") <= width


@pytest.mark.parametrize("page", BOTH[2:3], indirect=True)
def test_bars_are_as_long_as_their_numbers(page: Page, often: Path) -> None:
    page.goto(often.as_uri())
    for row in page.locator(".outcome").all():
        bars = {
            one.get_attribute("class"): one.evaluate("one => one.getBoundingClientRect().width")
            for one in row.locator(".parts i").all()
        }
        numbers = re.findall(r"([<>]?)(\d+) ?(right|open|wrong)", row.locator(".counts").inner_text())
        assert len(numbers) == 3
        total = sum(bars.values())
        for sign, number, name in numbers:
            if not sign:
                assert 100 * bars.get(name, 0.0) / total == pytest.approx(int(number), abs=2.5)


def test_a_pilot_in_the_folder_says_how_much_is_scattered(folder: Path) -> None:
    document = folder / "study" / "study.toml"
    text = re.sub(r"(?ms)^\[scatter\].*?(?=^\[|\Z)", "", document.read_text(encoding="utf-8"))
    pilot = "distance,treatment,preparation\n" + "".join(
        f"{6.0 + at + launch / 10:.2f},bare,{at}\n" for at in range(4) for launch in range(4)
    )
    (folder / "study" / "pilot.csv").write_text(pilot, encoding="utf-8")
    document.write_text(f'{text}\n[scatter]\nfrom = "pilot.csv"\n', encoding="utf-8")
    found = rehearsal_of(folder)["scatter"]
    assert found["source"] == "pilot"
    assert found["preparations"] == pytest.approx(0.17, abs=0.03)
    assert found["launches"] < 0.03
