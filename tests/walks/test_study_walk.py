"""Two whole studies on invented worlds, from the question to the report, against the same table judged."""

from __future__ import annotations

import hashlib
import json
from pathlib import Path
from typing import Any

import pytest
from markupsafe import escape
from syrupy.assertion import SnapshotAssertion

from evenglide.fieldlog.events import canonical
from tests.answer.json_checks import check_answer
from tests.walks.command import answer_of, run
from tests.walks.invented_studies import (
    BEACH,
    BOARD,
    HILL,
    STUDIES,
    Walked,
    as_table,
    filled_list,
    sealed_folder,
    walk,
)

Document = dict[str, Any]

COLUMNS = {
    "response": "distance",
    "treatment": "treatment",
    "reference": "bare",
    "surface": "surface",
    "block": "round",
    "preparation": "coat",
    "item": "gear",
    "order": "launch",
    "mark": "mark",
    "session": "outing",
    "void": "set_aside",
    "at-least": "at_least",
}
MATTERS = {HILL.study.title: "10 %", BEACH.study.title: "8 %"}
SHARING = ("verdict", "size", "to_close")
OVER_TIME = "drift"
"""Its ranks are those of the whole table; another table has others."""


@pytest.fixture(scope="module", params=STUDIES)
def walked(request: pytest.FixtureRequest, tmp_path_factory: pytest.TempPathFactory) -> Walked:
    return walk(tmp_path_factory.mktemp("walk") / "study", STUDIES[request.param])


@pytest.fixture(scope="module")
def answer(walked: Walked) -> Document:
    return walked.answer()


# ------------------------------------------------------------------------------ golden prints


def test_the_answer_in_words(walked: Walked, snapshot: SnapshotAssertion) -> None:
    told = run("answer", walked.folder)
    assert told.exit_code == 0 and told.stderr == ""
    assert told.stdout == snapshot


def test_departures_and_objections_in_words(answer: Document, snapshot: SnapshotAssertion) -> None:
    conduct = answer["conduct"]
    lines = [f"{one['code']} ({one['severity']}): {one['text']}" for one in conduct["departures"]]
    lines += [
        f"{one['objection']}\n  {'' if one['checked'] else '[not checked] '}{one['reply']}"
        for one in conduct["objections"]
    ]
    assert "\n".join(lines) == snapshot


def test_status_and_report(walked: Walked, answer: Document) -> None:
    told = run("status", walked.folder)
    assert told.exit_code == 0 and answer["provenance"]["seal"] in told.stdout
    told = run("report", walked.folder)
    assert told.exit_code == 0
    page = (walked.folder / "out" / "report.html").read_text(encoding="utf-8")
    for words in (walked.study.title, BOARD, answer["provenance"]["seal"], answer["provenance"]["last_hash"]):
        assert str(escape(words)) in page
    assert "<script" not in page


def test_the_answer_keeps_its_contract(answer: Document) -> None:
    check_answer(answer, shared=True)
    assert len(answer["conduct"]["objections"]) == 10
    assert answer["provenance"]["seed"] == 7


# ------------------------------------------------------------------------------ the same bytes again


def digest(path: Path) -> str:
    return hashlib.sha256(path.read_bytes()).hexdigest()


def test_the_same_seed_gives_the_same_bytes(
    walked: Walked, answer: Document, request: pytest.FixtureRequest, tmp_path: Path
) -> None:
    name = request.node.callspec.params["walked"]
    again = walk(tmp_path / "study", STUDIES[name])
    for file in ("study.toml", "schedule.csv"):
        assert digest(walked.folder / file) == digest(again.folder / file)
    assert canonical(walked.bodies()) == canonical(again.bodies())
    assert [event.hash for event in walked.events] == [event.hash for event in again.events]
    assert canonical(answer) == canonical(again.answer())


@pytest.mark.parametrize("invented", [HILL, BEACH], ids=STUDIES)
def test_two_walks_stand_apart(invented: Any, tmp_path: Path, walked: Walked) -> None:
    """A seal is of its study: another plan has another fingerprint."""
    sealed_folder(tmp_path / "one", invented)
    seals = {json.loads(run("seal", tmp_path / "one", "--json").stdout)["fingerprint"]}
    seals.add(walked.bodies()[0]["fingerprint"])
    assert len(seals) == (1 if invented.study.title == walked.study.title else 2)


# ------------------------------------------------------------------------------ log against table


def judged(walked: Walked, folder: Path, *, surfaces: list[str] | None = None) -> Document:
    """Judge the log's launches as a table with the options that say the same as the study."""
    table = folder / "launches.csv"
    table.write_text(as_table(walked, surfaces=surfaces), encoding="utf-8")
    options = [word for name, column in COLUMNS.items() for word in (f"--{name}", column)]
    if len(walked.study.design.directions) > 1:
        options += ["--direction", "way"]
    options += ["--matters", MATTERS[walked.study.title], "--shared-preparations", "--json"]
    return answer_of(run("judge", table, *options), shared=True)


def contrasts_of(document: Document) -> dict[str, Document]:
    """The comparison on each surface."""
    return {one["surface"]: contrast for one in document["surfaces"] for contrast in one["contrasts"]}


def sharing(contrast: Document) -> Document:
    """What rests on how the comparisons share the error rate."""
    shared = {name: contrast[name] for name in contrast if name in SHARING or name.endswith("_adjusted")}
    lines = [(line["code"], line["verdict"], line["changes"]) for line in contrast["robustness"]]
    return shared | {"lines": [line for line in lines if line[0] != OVER_TIME]}


def own(contrast: Document) -> Document:
    """Everything else."""
    lines = [{**line, "verdict": None, "changes": None} for line in contrast["robustness"]]
    kept = {name: contrast[name] for name in contrast if name not in sharing(contrast)}
    return kept | {"robustness": lines}


def test_the_answer_is_that_of_the_same_table_to_the_last_digit(
    walked: Walked, answer: Document, tmp_path: Path
) -> None:
    table = judged(walked, tmp_path)
    named = {one["surface"]: one for one in table["surfaces"]}  # a table's come in the order of its rows
    assert len(named) == len(answer["surfaces"])
    for mine in answer["surfaces"]:
        theirs = named[mine["surface"]]
        for field in ("surface", "mark", "margin", "treatments", "omnibus", "scatter"):
            assert mine[field] == theirs[field], (mine["surface"], field)
    mine, theirs = contrasts_of(answer), contrasts_of(table)
    assert {name: own(one) for name, one in mine.items()} == {name: own(one) for name, one in theirs.items()}
    assert all(
        one["estimate"] is not None and one["p_randomisation_joint"] is not None for one in mine.values()
    )
    for field in ("between_surfaces", "level", "scale", "adjust"):
        assert answer[field] == table[field]


def test_claims_are_those_of_the_same_tables_judged_family_by_family(
    walked: Walked, answer: Document, tmp_path: Path
) -> None:
    """A main surface shares its error rate with no other: on its own it is a table of its own."""
    mine = contrasts_of(answer)
    families = [[name for name in mine if (name == walked.study.main) == main] for main in (True, False)]
    assert [len(family) for family in families] == [
        1 if walked.study.main else 0,
        3 if walked.study.main else 4,
    ]
    theirs: dict[str, Document] = {}
    for family in filter(None, families):
        theirs |= contrasts_of(judged(walked, tmp_path, surfaces=family))
    assert {name: sharing(one) for name, one in mine.items()} == {
        name: sharing(one) for name, one in theirs.items()
    }


def test_the_answer_is_that_of_the_same_list_taken_in(
    walked: Walked, answer: Document, request: pytest.FixtureRequest, tmp_path: Path
) -> None:
    folder, paper = tmp_path / "again", tmp_path / "list.csv"
    sealed_folder(folder, STUDIES[request.node.callspec.params["walked"]])
    assert run("take-in", "--study", folder, "--template", paper).exit_code == 0
    paper.write_text(filled_list(walked, paper.read_text(encoding="utf-8")), encoding="utf-8")
    taken = run("take-in", paper, "--study", folder)
    assert taken.exit_code == 0, taken.output
    found = json.loads(run("answer", folder, "--json").stdout)
    assert found["surfaces"] == answer["surfaces"]
    assert found["between_surfaces"] == answer["between_surfaces"]
    for field in ("set_aside", "left_out", "wear"):
        assert found["conduct"][field] == answer["conduct"][field]
    assert found["provenance"]["seal"] == answer["provenance"]["seal"]
    before = len(found["provenance"]["last_hash"]), found["provenance"]["events"]
    run("take-in", paper, "--study", folder)
    again = json.loads(run("answer", folder, "--json").stdout)
    assert (len(again["provenance"]["last_hash"]), again["provenance"]["events"]) == before
