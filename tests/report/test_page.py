from __future__ import annotations

import re
from collections import Counter
from dataclasses import replace
from html.parser import HTMLParser

import pytest
from syrupy.assertion import SnapshotAssertion

from evenglide.report.page import report_html
from evenglide.report.wording import DISTANCE
from evenglide.show.numbers import NO_BREAK
from tests.report import made_up
from tests.report.pages import CASES, COMMAND, NASTY, report, report_without_unit

BANNED = re.compile(r"\b(p|df|contrasts?|levels?|applications?|looks?|voids?)\b", re.IGNORECASE)


class Reader(HTMLParser):
    """Reads a page: tags with attributes, and the words outside style and pictures."""

    def __init__(self, text: str) -> None:
        super().__init__()
        self.tags: list[tuple[str, dict[str, str | None]]] = []
        self.words: list[str] = []
        self._hidden = 0
        self.feed(text)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.append((tag, dict(attrs)))
        self._hidden += tag in ("style", "svg", "head")

    def handle_endtag(self, tag: str) -> None:
        self._hidden -= tag in ("style", "svg", "head")

    def handle_data(self, data: str) -> None:
        if not self._hidden and data.strip():
            self.words.append(" ".join(data.split(" ")).strip("\n"))


@pytest.mark.parametrize("name", list(CASES))
def test_the_page_needs_nothing_and_links_nowhere(name: str) -> None:
    reader = Reader(report(name))
    names = {tag for tag, _ in reader.tags}
    assert names.isdisjoint({"script", "link", "img", "iframe", "object", "form", "use", "image"})
    for tag, attributes in reader.tags:
        assert not any(key.startswith("on") or key in ("src", "srcset") for key in attributes), tag
        assert (attributes.get("href") or "#").startswith("#")
    without_typed = re.sub(r"https://ex(ample|…)", "", report(name))  # a name may be cut in a picture
    assert "://" not in without_typed
    assert set(re.findall(r"url\(([a-z]+:[a-z/0-9]*)", without_typed)) == {"data:font/woff2"}


def test_the_policy_forbids_everything_but_what_is_inside() -> None:
    reader = Reader(report("four surfaces"))
    (policy,) = [
        attributes["content"] for tag, attributes in reader.tags if attributes.get("http-equiv") is not None
    ]
    assert policy is not None
    assert [part.strip() for part in policy.split(";")][:4] == [
        "default-src 'none'",
        "style-src 'unsafe-inline'",
        "img-src data:",
        "font-src data:",
    ]


@pytest.mark.parametrize("name", list(CASES))
def test_identifiers_are_unique_and_what_is_named_exists(name: str) -> None:
    reader = Reader(report(name))
    identifiers = Counter(attributes["id"] for _, attributes in reader.tags if "id" in attributes)
    assert [identity for identity, times in identifiers.items() if times > 1] == []
    for _, attributes in reader.tags:
        for named in (attributes.get("aria-labelledby") or "").split():
            assert named in identifiers
        if (target := attributes.get("href")) is not None:
            assert target[1:] in identifiers


def test_what_users_typed_is_text() -> None:
    page = report("bad news")
    assert NASTY not in page
    assert "<b " not in page
    assert any(NASTY in word for word in Reader(page).words)


def test_same_answer_same_bytes() -> None:
    again = report_html(
        made_up.answer(CASES["no surface"]),
        made_up.launches(CASES["no surface"]),
        wording=DISTANCE,
        source_name="Hill club, invented (launches.csv)",
        repeat_with=COMMAND,
        made_on="17 January 2026",
    )
    assert again == report("no surface")


def test_sections_stand_in_their_order() -> None:
    heads = re.findall(r"<h2 id=\"([a-z]+)\"", report("four surfaces"))
    assert heads == [
        "launches", "scatter", "cannot", "otherwise", "referee", "method", "riding", "cautions", "check",
    ]  # fmt: skip
    heads = re.findall(r"<h2 id=\"([a-z]+)\"", report_without_unit())
    assert "riding" not in heads
    assert "cautions" not in heads


def test_an_order_that_nobody_gave_is_not_claimed() -> None:
    assert "in the order they were made" in report("no surface")
    launches = replace(made_up.launches(CASES["no surface"]), order=None)
    page = report_html(
        made_up.answer(CASES["no surface"]),
        launches,
        wording=DISTANCE,
        source_name="launches.csv",
        repeat_with=COMMAND,
    )
    assert "in the order they were made" not in page
    assert "Nothing says in which order they were made" in page


def test_the_corner_says_whether_the_rule_was_fixed() -> None:
    assert "rule not shown to be fixed beforehand" in report("four surfaces")


def test_axis_and_key_have_both_edges() -> None:
    words = Reader(report("four surfaces")).words
    assert f"too small to matter: 4.8{NO_BREAK}% shorter to 5{NO_BREAK}% farther" in words
    assert {f"4.8{NO_BREAK}%", f"5{NO_BREAK}%"} <= set(words)
    assert "too small to matter" not in " ".join(Reader(report_without_unit()).words)


def test_the_key_says_how_sure_a_bar_is() -> None:
    words = Reader(report("four surfaces")).words
    sure = "what still fits, at least 95 % sure (90 % where too small to matter)"
    assert sure.replace(" %", f"{NO_BREAK}%") in words
    assert f"what still fits, 95{NO_BREAK}% sure" in Reader(report_without_unit()).words


def test_limits_come_before_what_is_good_to_know() -> None:
    words = Reader(report("four surfaces")).words
    severities = [word for word in words if word in ("limits the answer", "take care", "good to know")]
    assert severities == ["limits the answer", "take care", "take care", "good to know"]


def test_the_first_screen_speaks_to_riders() -> None:
    for name in CASES:
        page = report(name)
        first = page[page.index('<section class="first"') : page.index('<h2 id="launches"')]
        words = " ".join(Reader(first.replace(NASTY, "")).words)
        assert BANNED.findall(words) == [], name


def test_every_table_has_a_caption_and_scopes() -> None:
    reader = Reader(report("four surfaces"))
    count = Counter(tag for tag, _ in reader.tags)
    assert count["table"] == count["caption"] > 10
    assert all(attributes.get("scope") in ("col", "row") for tag, attributes in reader.tags if tag == "th")


def test_every_figure_has_its_table() -> None:
    page = report("four surfaces")
    figures = re.findall(r"<figure>.*?</figure>", page, re.DOTALL)
    assert len(figures) == 5
    assert all("<table>" in figure for figure in figures)


def test_every_launch_is_listed() -> None:
    launches = made_up.launches()
    listed = re.findall(r"<caption>Every launch.*?</table>", report("four surfaces"), re.DOTALL)
    assert sum(table.count('scope="row"') for table in listed) == len(launches.value)
    causes = {cause for cause in launches.cause if cause}
    assert causes
    assert all(f"set aside: {cause}" in "".join(listed) for cause in causes)


def test_more_launches_than_can_be_drawn_are_said() -> None:
    cases = CASES["no surface"]
    launches = made_up.launches(cases, rounds=26, each=40)
    page = report_html(
        made_up.answer(cases), launches, wording=DISTANCE, source_name="many.csv", repeat_with=COMMAND
    )
    assert "2000 of 2080 launches are drawn" in page
    assert "the first 2000 of 2080" in page


def test_it_says_how_to_check_it() -> None:
    words = Reader(report("four surfaces")).words
    assert COMMAND in words
    assert made_up.answer().provenance.data_sha256 in words
    assert "evenglide 0.1.0, 17 January 2026" in words


def test_without_unit_nothing_goes_farther() -> None:
    words = " ".join(Reader(report_without_unit()).words)
    assert "farther" not in words
    assert "shorter" not in words
    assert f"0.4{NO_BREAK}units" in words or "units" in words


@pytest.mark.parametrize("name", ["four surfaces", "bad news"])
def test_words_of_the_page(name: str, snapshot: SnapshotAssertion) -> None:
    """Golden print: all words of a report but for its tables of launches."""
    page = re.sub(
        r"<details[^>]*>\s*<summary>Table: (every launch|what each).*?</details>",
        "",
        report(name),
        flags=re.DOTALL,
    )
    assert "\n".join(Reader(page).words).replace(NO_BREAK, "~") == snapshot


def test_what_several_surfaces_share_is_told_once() -> None:
    entry = made_up.AUDIT[2]
    audit = tuple(replace(entry, surface=name) for name in ("groomed snow", "cold powder", "melt pan"))
    answer = replace(made_up.answer(), audit=audit)
    page = report_html(
        answer, made_up.launches(), wording=DISTANCE, source_name="launches.csv", repeat_with=COMMAND
    )
    assert page.count(entry.text) == 1
    assert "groomed snow, cold powder and melt pan:" in Reader(page).words
