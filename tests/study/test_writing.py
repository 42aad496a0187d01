"""What is written reads back as the same study, and is commented."""

from __future__ import annotations

import tomllib

from hypothesis import given
from syrupy.assertion import SnapshotAssertion

from evenglide.study.document import read_study
from evenglide.study.study import Study
from evenglide.study.writing import write_study
from tests.study.made_up import DOCUMENT, studies


@given(studies())
def test_written_and_read_is_the_same_study(study: Study) -> None:
    assert read_study(write_study(study)) == study


@given(studies())
def test_written_twice_is_the_same_text(study: Study) -> None:
    text = write_study(study)
    assert write_study(read_study(text)) == text


def test_own_table_is_kept_as_it_is() -> None:
    study = read_study(DOCUMENT)
    assert tomllib.loads(write_study(study))["x"] == tomllib.loads(DOCUMENT)["x"]


def test_written_study(snapshot: SnapshotAssertion) -> None:
    assert write_study(read_study(DOCUMENT)) == snapshot
