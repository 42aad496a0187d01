"""Every kind of event: as it is stored, and in words."""

from __future__ import annotations

import json
from typing import get_args

import pytest
from syrupy.assertion import SnapshotAssertion

from evenglide.errors import LogError
from evenglide.fieldlog.bodies import Body, KnownBody, Read, UnknownBody, launch_of, parse_body
from evenglide.fieldlog.events import canonical, canonical_body, settled
from evenglide.fieldlog.telling import in_words
from tests.fieldlog.every_kind import BODIES


def test_every_kind_is_stored_and_told_so(snapshot: SnapshotAssertion) -> None:
    prints = [f"{canonical_body(body).decode()}\n  {in_words(body)}" for body in BODIES]
    assert "\n".join(prints) == snapshot


def test_every_kind_is_there() -> None:
    kinds = set(get_args(get_args(KnownBody)[0]))
    assert len(kinds) > 20
    assert {type(body) for body in BODIES} == kinds | {UnknownBody}


@pytest.mark.parametrize("body", BODIES, ids=lambda body: body.kind)
def test_a_body_comes_back_as_it_went(body: Body) -> None:
    assert parse_body(json.loads(canonical_body(body))) == body
    assert canonical_body(settled(body)) == canonical_body(body)


def test_a_field_that_is_not_known_stays() -> None:
    told = {"kind": "read", "version": 1, "launch": 3, "text": "5.9", "gate": {"first": 0.25}}
    assert parse_body(told).to_dict() == told


@pytest.mark.parametrize(
    "told",
    [
        {"kind": "read", "version": 2, "launch": 3},
        {"kind": "glided", "version": 1, "launch": 3},
        {"kind": "read", "version": 1, "launch": 0, "text": "5.9"},
        {"kind": "read", "version": 1, "launch": True, "text": "5.9"},
        {"kind": "read", "version": 1, "launch": "3", "text": "5.9"},
        {"kind": 7},
        {},
    ],
)
def test_what_is_not_understood_is_kept_as_it_came(told: dict[str, object]) -> None:
    body = parse_body(told)
    assert isinstance(body, UnknownBody)
    assert body.to_dict() == told
    assert parse_body(body.to_dict()) == body


def test_an_unknown_body_still_speaks_of_its_launch() -> None:
    assert launch_of(parse_body({"kind": "glided", "version": 1, "launch": 3})) == 3
    assert launch_of(parse_body({"kind": "glided", "version": 1, "launch": True})) is None


@pytest.mark.parametrize("value", [float("nan"), float("inf"), 2**53, "\ud800"])
def test_what_no_canonical_text_has_is_refused_in_words(value: object) -> None:
    with pytest.raises(LogError) as caught:
        canonical({"a": value})
    assert caught.value.problems[0].code == "not-canonical"


def test_numbers_are_written_as_ecmascript_writes_them() -> None:
    """Examples of RFC 8785, 3.2.2 and appendix B."""
    numbers = [333333333.33333329, 1e30, 4.50, 2e-3, 0.000000000000000000000000001, -0.0]
    assert canonical(numbers) == b"[333333333.3333333,1e+30,4.5,0.002,1e-27,0]"


def test_a_reading_without_a_value_is_unread() -> None:
    assert "does not count" in in_words(Read(launch=1, text="?"))
