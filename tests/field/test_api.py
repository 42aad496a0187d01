"""Whatever fits the description of the interface, or does not: no stumbling, answers as described."""

from __future__ import annotations

import json
from typing import Any

import httpx
import pytest
import schemathesis
from hypothesis import HealthCheck, Phase, given, settings
from hypothesis import strategies as some
from schemathesis import Case, GenerationMode
from schemathesis.checks import not_a_server_error
from schemathesis.specs.openapi.checks import (
    content_type_conformance,
    response_schema_conformance,
    status_code_conformance,
)

from tests.field.served import ADDRESS, Served, served

__all__ = ["served"]
CHECKS = [not_a_server_error, status_code_conformance, content_type_conformance, response_schema_conformance]
MADE_UP = settings(
    max_examples=30,
    derandomize=True,
    deadline=None,
    database=None,
    phases=[Phase.generate],
    suppress_health_check=list(HealthCheck),
)


def asked(served: Served, case: Case, headers: dict[str, str]) -> httpx.Response:
    """Send a made-up request."""
    kept: dict[str, Any] = case.as_transport_kwargs(base_url=ADDRESS)
    sent = {**(kept.get("headers") or {}), **headers}
    given = {name: kept[name] for name in ("params", "json") if kept.get(name) is not None}
    if kept.get("data") is not None:
        given["content"] = kept["data"]
    return served.ask(kept["method"], kept["url"], headers=sent, **given)


@pytest.mark.parametrize("mode", list(GenerationMode), ids=lambda mode: mode.value)
@pytest.mark.parametrize("label", ["GET /field/plan", "POST /field/records", "POST /field/photos"])
def test_made_up_requests(served: Served, label: str, mode: GenerationMode) -> None:
    schema = schemathesis.openapi.from_dict(served.app.openapi())
    operation = next(found.ok() for found in schema.get_all_operations() if found.ok().label == label)
    paired, statuses = served.paired(), []

    @MADE_UP
    @given(operation.as_strategy(generation_mode=mode), some.booleans())
    def try_it(case: Case, knows: bool) -> None:
        answer = asked(served, case, paired if knows else {})
        statuses.append(answer.status_code)
        case.validate_response(answer, checks=CHECKS)

    try_it()
    assert len(statuses) >= 30 and {401, 422} & set(statuses)


VALUES = some.recursive(
    some.none()
    | some.booleans()
    | some.integers()
    | some.floats(allow_nan=False, allow_infinity=False)
    | some.text(max_size=5),
    lambda inner: some.lists(inner, max_size=3) | some.dictionaries(some.text(max_size=5), inner, max_size=3),
    max_leaves=6,
)
KINDS = some.sampled_from(
    ["read", "launched", "corrected", "set_up", "prepared", "skipped", "sealed", "session"]
)
FIELDS = some.sampled_from(
    ["launch", "text", "value", "target", "changes", "launches", "set_up", "preparation"]
)
BODIES = some.builds(
    lambda kind, fields: {"version": 1, **fields, "kind": kind},
    KINDS,
    some.dictionaries(FIELDS, VALUES | some.integers(1, 9) | some.text(max_size=3), max_size=5),
)
RECORDS = some.fixed_dictionaries(
    {
        "id": some.uuids().map(str),
        "device": some.sampled_from(["phone-a", "phone-b"]),
        "sequence": some.integers(1, 40),
        "device_time": some.sampled_from(["2026-01-17T10:00:00Z", "2026-01-17T09:00:00+01:00", "no time"]),
        "body": BODIES,
    }
)


def test_made_up_records_are_kept_or_refused_and_every_page_still_shows(served: Served) -> None:
    paired = served.paired()

    @MADE_UP
    @given(some.lists(RECORDS, max_size=6))
    def try_it(records: list[dict[str, Any]]) -> None:
        body = {"study": served.desk.plan["study"], "records": records}
        answer = served.post("/field/records", json=body, headers=paired)
        assert answer.status_code == 200
        told = answer.json()
        assert {*told["kept"], *(one["id"] for one in told["refused"])} == {one["id"] for one in records}

    try_it()
    for page in ("/", "/day", "/events", "/conditions", "/keying", "/clip", "/answer"):
        assert served.get(page).status_code == 200


@pytest.mark.parametrize(
    "digits", ["35018543885105350", "3.5018543885105350e16", "9007199254740993", "1e400"]
)
def test_a_number_of_any_size_stops_no_record_beside_it(served: Served, digits: str) -> None:
    records = [
        {"id": f"{name}-{digits}", "device": "phone-a", "sequence": 50, "device_time": "10:00", "body": body}
        for name, body in (
            ("huge", {"kind": "read", "launch": 1, "text": "?", "value": "HERE"}),
            ("plain", {"kind": "noted", "words": "a gust"}),
        )
    ]
    sent = json.dumps({"study": served.desk.plan["study"], "records": records}).replace('"HERE"', digits)
    answer = served.post(
        "/field/records", content=sent, headers=served.paired() | {"Content-Type": "application/json"}
    )
    assert answer.status_code == 200
    kept = answer.json()["kept"]
    assert records[1]["id"] in kept
    assert (records[0]["id"] in kept) == (digits != "1e400")  # past every double: no phone can send it
    again = served.post(
        "/field/records", content=sent, headers=served.paired() | {"Content-Type": "application/json"}
    )
    assert again.json()["kept"] == kept
    assert served.get("/events").status_code == 200


TYPED = some.text(max_size=12) | some.sampled_from(["1e999", "-0", "1,5", "nan", "9" * 30, "\x00"])


def test_made_up_forms_are_kept_or_refused(served: Served) -> None:
    forms = {
        "/conditions": ("name", "value", "unit", "words"),
        "/clip": ("launch", "text", "uncertainty", "reader", "clip"),
        "/keying": ("reading-1", "cause-1", "at_least-1", "stopped-2", "note-2", "reading-2"),
        "/phones": ("name",),
        "/phones/revoke": ("name",),
    }

    @MADE_UP
    @given(some.sampled_from(sorted(forms)), some.data())
    def try_it(path: str, data: Any) -> None:
        typed = {name: data.draw(TYPED) for name in forms[path]}
        assert served.post(path, data=typed).status_code in (200, 303, 409, 422)

    try_it()
    for page in ("/conditions", "/phones", "/day", "/events"):
        assert served.get(page).status_code == 200
