"""The seal: a fingerprint that anybody can take again, and that notices every letter."""

from __future__ import annotations

import hashlib
from typing import Any

import pytest
from syrupy.assertion import SnapshotAssertion

from evenglide.study.document import read_study
from evenglide.study.schedule import Schedule, ScheduledLaunch
from evenglide.study.seal import fingerprint, make_seal, sealed_lines, text_to_post
from tests.study.made_up import DOCUMENT

LAUNCH = ScheduledLaunch(
    number=1, outing=1, block="1", set_up=1, surface="melt pan", direction="out", preparation="p1",
    item="slider 1", treatment="bare",
)  # fmt: skip
SCHEDULE = Schedule(launches=(LAUNCH,), seed=5, rule="drawn fairly")
PARTS: dict[str, Any] = {"order_rule": "drawn fairly", "seed": 5, "version": "0.1.0"}


def test_the_fingerprint_is_that_of_five_lines() -> None:
    study, schedule = (hashlib.sha256(text.encode()).hexdigest() for text in ("été\r\n", "1,2\n"))
    texts = f"study.toml {study}\nschedule.csv {schedule}\n"
    lines = f"evenglide.seal/1\n{texts}order 5 drawn fairly\nversion 0.1.0\n"
    assert sealed_lines("été\r\n", "1,2\n", **PARTS) == lines
    assert fingerprint("été\r\n", "1,2\n", **PARTS) == hashlib.sha256(lines.encode()).hexdigest()


@pytest.mark.parametrize(
    ("texts", "parts"),
    [
        (("a\n", "b"), {}),
        (("a", "b\n"), {}),
        (("b", "a"), {}),
        (("\ufeffa", "b"), {}),
        (("a", "b"), {"order_rule": "drawn"}),
        (("a", "b"), {"seed": 6}),
        (("a", "b"), {"version": "0.1.1"}),
    ],
)
def test_every_change_shows(texts: tuple[str, str], parts: dict[str, Any]) -> None:
    assert fingerprint(*texts, **{**PARTS, **parts}) != fingerprint("a", "b", **PARTS)


def test_a_seal_keeps_what_it_sealed() -> None:
    seal = make_seal("a", "b", schedule=SCHEDULE, version="0.1.0")
    assert (seal.study_text, seal.schedule_text, seal.seed, seal.order_rule) == ("a", "b", 5, "drawn fairly")
    assert seal.fingerprint == fingerprint("a", "b", **PARTS)


def test_text_to_post(snapshot: SnapshotAssertion) -> None:
    seal = make_seal(DOCUMENT, "b", schedule=SCHEDULE, version="0.1.0")
    told = text_to_post(seal, read_study(DOCUMENT), SCHEDULE)
    assert told.endswith(seal.fingerprint)
    assert told == snapshot
