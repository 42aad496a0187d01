"""A whole day on the phone, home by a file; the answer is that of the same day by a list."""

from __future__ import annotations

import csv
import io
import json
from pathlib import Path
from typing import Any

from playwright.sync_api import Page

from evenglide.study.schedule import Schedule
from tests.field.phone import BOUND, LOST, STOPPED, VOID, Phone, play_day
from tests.field.studies import copied, field_page, invented_readings, planned, sealed_study
from tests.walks.command import run


def what_went_otherwise(schedule: Schedule) -> dict[int, str]:
    """One launch of each kind of trouble, where it can happen."""
    powder = [one.number for one in schedule.launches if one.surface == "cold powder"]
    pan = [one.number for one in schedule.launches if one.surface == "melt pan"]
    return {powder[1]: VOID, powder[5]: LOST, powder[6]: BOUND, pan[2]: STOPPED}


def by_list(folder: Path, texts: dict[int, str], odd: dict[int, str]) -> None:
    """Take the same day in from a list on paper."""
    template = folder / "list.csv"
    assert run("take-in", "--study", folder, "--template", template).exit_code == 0
    rows = list(csv.DictReader(io.StringIO(template.read_text(encoding="utf-8"))))
    for row in rows:
        number = int(row["launch"])
        happened = odd.get(number, "")
        row["distance"] = "" if happened in (VOID, LOST) else texts[number]
        row["set aside"] = "nose under the snow" if happened == VOID else ""
        row["value seen"] = "no" if happened == VOID else ""
        row["at least"] = "yes" if happened == BOUND else ""
        row["peg lost"] = "yes" if happened == LOST else ""
        row["stopped"] = "yes" if happened == STOPPED else ""
    text = io.StringIO()
    writer = csv.DictWriter(text, list(rows[0]), lineterminator="\n")
    writer.writeheader()
    writer.writerows(rows)
    template.write_text(text.getvalue(), encoding="utf-8")
    taken = run("take-in", template, "--study", folder)
    assert taken.exit_code == 0, taken.output


def answered(folder: Path) -> dict[str, Any]:
    result = run("answer", folder, "--json")
    assert result.exit_code == 0, result.output
    answer: dict[str, Any] = json.loads(result.stdout)
    return {name: answer[name] for name in ("surfaces", "between_surfaces", "audit", "family_size")}


def test_a_day_on_the_phone_answers_like_the_same_day_by_list(tmp_path: Path, page: Page) -> None:
    phoned = sealed_study(tmp_path / "phoned")
    listed = copied(phoned, "listed")
    _, schedule = planned(phoned)
    texts, odd = invented_readings(schedule), what_went_otherwise(schedule)
    phone = Phone(page, field_page(phoned).as_uri())
    play_day(phone, texts, odd=odd, until=7)
    page.reload()  # in the middle of the day
    play_day(phone, texts, odd=odd)
    phone.on("done")
    records = phone.save_file(tmp_path)
    first = json.loads(run("take-in", records, "--study", phoned, "--json").stdout)
    assert first["new"] == phone.saved() and first["unreadable"] == [] and first["missing"] == 0
    again = json.loads(run("take-in", records, "--study", phoned, "--json").stdout)
    assert (again["new"], again["already"], again["conflicts"]) == (0, phone.saved(), 0)
    by_list(listed, texts, odd)
    assert answered(phoned) == answered(listed)
    assert "Every launch" in (page.text_content("h1") or "")
