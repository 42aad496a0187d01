"""A phone's file of records: every sound line is read, every broken one is named, nothing else happens."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as some

from evenglide.errors import LogError
from evenglide.fieldlog.bodies import Launched, Noted, Read, UnknownBody
from evenglide.fieldlog.events import Draft
from evenglide.intake.phone_log import (
    PHONE_LOG_FORMAT,
    PhoneLog,
    is_phone_log,
    read_phone_log,
    records_of,
)
from evenglide.store.texts import begins, read_text

STUDY = "ab" * 32
MANY = 100_000


def head(**more: Any) -> str:
    return json.dumps({"format": PHONE_LOG_FORMAT, "study": STUDY, "device": "phone-a", **more})


def record(sequence: int, body: dict[str, Any] | None = None, **more: Any) -> dict[str, Any]:
    return {
        "id": f"00000000-0000-7000-8000-{sequence:012d}",
        "device": "phone-a",
        "sequence": sequence,
        "device_time": "2026-01-17T10:00:00+01:00",
        "body": body or {"kind": "read", "version": 1, "launch": sequence, "text": "5.31", "value": 5.31},
        **more,
    }


def text_of(*lines: Any) -> str:
    return "\n".join(line if isinstance(line, str) else json.dumps(line) for line in lines)


def read(text: str) -> PhoneLog:
    return read_phone_log(text, where="phone.ndjson")


def test_records_come_as_they_were_written() -> None:
    found = read(
        text_of(head(records=2), record(1), record(2, {"kind": "noted", "version": 1, "words": "é"}))
    )
    assert found.study == STUDY and found.unreadable == () and found.missing == 0
    assert [one.body for one in found.drafts] == [
        Read(launch=1, text="5.31", value=5.31),
        Noted(words="é"),
    ]
    first = found.drafts[0]
    assert (first.id, first.device, first.sequence) == (record(1)["id"], "phone-a", 1)
    assert first.device_time == "2026-01-17T10:00:00+01:00"


def test_what_is_written_out_reads_back() -> None:
    drafts = [
        Draft(id=f"id-{number}", device="d", sequence=number, device_time="t", body=Launched(launch=number))
        for number in (1, 2)
    ]
    assert read(text_of(head(), *records_of(drafts))).drafts == tuple(drafts)


BROKEN = {
    "cut in the middle": json.dumps(record(2))[:70],
    "no JSON": "launch 2 went 5.31 m",
    "a list": "[1, 2]",
    "a number": "17",
    "no id": json.dumps({**record(2), "id": ""}),
    "an id that is no text": json.dumps({**record(2), "id": 7}),
    "no device": json.dumps({name: value for name, value in record(2).items() if name != "device"}),
    "number 0": json.dumps({**record(2), "sequence": 0}),
    "number as text": json.dumps({**record(2), "sequence": "2"}),
    "number yes": json.dumps({**record(2), "sequence": True}),
    "number past 2^53": json.dumps({**record(2), "sequence": 2**53}),
    "no body": json.dumps({**record(2), "body": None}),
    "a seal": json.dumps(record(2, {"kind": "sealed", "version": 1, "fingerprint": STUDY})),
    "a merge": json.dumps(record(2, {"kind": "merged", "version": 1})),
    "half a letter": json.dumps(record(2, {"kind": "noted", "version": 1, "words": "\ud83d"})),
    "a damaged byte": json.dumps(record(2, {"kind": "noted", "words": "snow"})).replace("snow", "s\udcffow"),
    "not a number": json.dumps(record(2)).replace("5.31}", "NaN}"),
    "past all numbers": json.dumps(record(2)).replace("5.31}", "1e400}"),
    "endless digits": json.dumps(record(2)).replace("5.31}", "9" * 5000 + "}"),
    "endless depth": "[" * 100_000,
}


@pytest.mark.parametrize("line", BROKEN.values(), ids=BROKEN)
def test_a_broken_line_is_named_and_the_others_are_read(line: str) -> None:
    found = read(text_of(head(records=3), record(1), line, record(3)))
    assert [one.sequence for one in found.drafts] == [1, 3]
    assert [(one.code, one.where) for one in found.unreadable] == [
        ("unreadable-record", "phone.ndjson, line 3")
    ]
    assert found.unreadable[0].found.isprintable() and found.missing == 1


def test_every_broken_line_is_named() -> None:
    lines = [line for broken in BROKEN.values() for line in (record(1), broken)]
    found = read(text_of(head(), *lines))
    assert len(found.drafts) == len(BROKEN)
    assert [one.where for one in found.unreadable] == [
        f"phone.ndjson, line {2 * place + 3}" for place in range(len(BROKEN))
    ]


@pytest.mark.parametrize("end", ["\n", "\r\n", "\n\n", "\r\n\r\n"])
@pytest.mark.parametrize("mark", ["", "\ufeff"])
def test_ends_of_lines_and_a_byte_order_mark_change_nothing(mark: str, end: str) -> None:
    text = mark + end.join([head(records=2), json.dumps(record(1)), json.dumps(record(2)), ""])
    assert is_phone_log(text)
    found = read(text)
    assert [one.sequence for one in found.drafts] == [1, 2]
    assert found.unreadable == () and found.missing == 0


def test_separators_that_only_look_like_ends_of_lines_stay_inside_a_text() -> None:
    body = {"kind": "noted", "version": 1, "words": "one\u2028two\u0085three\x0cfour"}
    line = json.dumps(record(1, body), ensure_ascii=False).replace("\x0c", "\\f")
    assert read(text_of(head(), line)).drafts[0].body == Noted(words="one\u2028two\u0085three\x0cfour")


def test_a_kind_of_a_later_version_is_kept_as_it_came() -> None:
    body = {"kind": "moonlight", "version": 4, "of": ["what", {"comes": None}]}
    kept = read(text_of(head(), record(1, body))).drafts[0].body
    assert isinstance(kept, UnknownBody) and kept.to_dict() == body


@pytest.mark.parametrize(("promised", "missing"), [(5, 3), (2, 0), (0, 0), (-1, 0), (True, 0), ("5", 0)])
def test_records_that_the_first_line_promises_and_the_file_lacks(promised: object, missing: int) -> None:
    assert read(text_of(head(records=promised), record(1), record(2))).missing == missing


@pytest.mark.parametrize("text", ["", "\n", "{}", "null", "launch,distance\n1,5.3\n", '{"format": 3}'])
def test_what_is_no_file_of_a_phone_is_told(text: str) -> None:
    assert not is_phone_log(text)
    with pytest.raises(LogError) as told:
        read(text)
    assert [one.code for one in told.value.problems] == ["not-a-phone-log"]


@pytest.mark.parametrize("study", [None, 7, ["ab"]])
def test_a_first_line_without_a_study_is_told(study: object) -> None:
    with pytest.raises(LogError) as told:
        read(text_of(head(study=study), record(1)))
    assert told.value.problems[0].code == "not-a-phone-log"


def test_a_later_format_is_told_as_such() -> None:
    text = text_of(head(format="evenglide.phone-log/2"), record(1))
    assert is_phone_log(text)
    with pytest.raises(LogError) as told:
        read(text)
    problem = told.value.problems[0]
    assert (problem.code, problem.found) == ("unknown-format", "evenglide.phone-log/2")
    assert problem.expected == PHONE_LOG_FORMAT


def test_a_hundred_thousand_lines() -> None:
    """Some broken, all told apart; each line is looked at once."""
    lines = [json.dumps(record(number)) for number in range(1, MANY + 1)]
    for place in range(0, MANY, 1000):
        lines[place] = lines[place][:-9]
    found = read("\n".join([head(records=MANY), *lines]))
    assert len(found.drafts) == MANY - MANY // 1000
    assert len(found.unreadable) == found.missing == MANY // 1000
    assert found.unreadable[-1].where == f"phone.ndjson, line {MANY - 998}"


SOUND = some.lists(
    some.builds(
        record,
        some.integers(1, 10**6),
        some.one_of(
            some.none(),
            some.fixed_dictionaries(
                {"kind": some.text(max_size=6).filter(lambda kind: kind not in ("sealed", "merged"))},
                optional={"launch": some.integers(-3, 9), "words": some.text(max_size=9)},
            ),
        ),
    ),
    max_size=5,
)
RUBBISH = some.binary(max_size=40).map(lambda some_bytes: some_bytes.replace(b"\n", b""))


@settings(max_examples=150)
@given(SOUND, some.lists(RUBBISH, max_size=5), some.randoms(use_true_random=False))
@example([record(1)], [b"\xff\xfe", b"{", b"\r", b"\x00"], None)
def test_no_bytes_make_it_stumble_or_lose_a_sound_line(
    tmp_path_factory: pytest.TempPathFactory, sound: list[dict[str, Any]], rubbish: list[bytes], chance: Any
) -> None:
    lines = [json.dumps(one).encode() for one in sound] + rubbish
    if chance is not None:
        chance.shuffle(lines)
    path = tmp_path_factory.getbasetemp() / "made-up.ndjson"
    path.write_bytes(b"\n".join([head().encode(), *lines]))
    assert is_phone_log(begins(str(path)))
    found = read_phone_log(read_text(str(path)), where="made-up")
    expected = sorted(one["id"] for one in sound)
    assert sorted(one.id for one in found.drafts) == expected
    named = [one for one in rubbish if one.decode("utf-8", errors="surrogateescape").strip()]
    assert len(found.unreadable) == len(named)
    assert all(one.found.isprintable() for one in found.unreadable)


@settings(max_examples=150)
@given(some.binary(max_size=200))
def test_any_bytes_are_read_or_told(tmp_path_factory: pytest.TempPathFactory, content: bytes) -> None:
    path: Path = tmp_path_factory.getbasetemp() / "any.ndjson"
    path.write_bytes(content)
    assert isinstance(is_phone_log(begins(str(path))), bool)
    with pytest.raises(LogError):
        read_phone_log(read_text(str(path)), where="any")


def test_a_file_that_cannot_be_opened_begins_with_nothing(tmp_path: Path) -> None:
    assert begins(str(tmp_path / "none")) == "" == begins(str(tmp_path))
