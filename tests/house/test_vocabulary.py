"""The pages know every public parameter, field of the answer, code of a problem and room, and no other."""

from __future__ import annotations

import ast
import dataclasses
import inspect
import re

import pytest

import evenglide
from evenglide.answer import results
from evenglide.errors import Problem
from evenglide.intake.options import JudgeOptions
from evenglide.show.notes import AuditEntry, Note
from tests.house.reach import reached_files, reached_rooms
from tests.house.tree import ROOT, parsed

WORDS = ROOT / "docs" / "nomenclature.md"
FIELDS = ROOT / "docs" / "answer.md"
ROOMS = ROOT / "docs" / "house.md"
SECTION_OF: dict[str, type] = {
    "Whole answer": results.Answer,
    "Response": results.ResponseFacts,
    "Surface": results.SurfaceAnswer,
    "Treatment": results.TreatmentFacts,
    "Scatter": results.Scatter,
    "Omnibus": results.Omnibus,
    "Contrast": results.Contrast,
    "Looks": results.Looks,
    "One look": results.OneLook,
    "Own pair": results.OwnPair,
    "Naive": results.Naive,
    "Reml": results.Reml,
    "To close": results.ToClose,
    "Robustness line": results.RobustnessLine,
    "Between surfaces": results.BetweenSurfaces,
    "Pair of surfaces": results.SurfacePair,
    "Note": Note,
    "Audit entry": AuditEntry,
    "Provenance": results.Provenance,
    "Conduct": results.Conduct,
    "Departure": results.Departure,
    "Set aside": results.SetAsideCount,
    "Condition": results.ConditionRange,
    "Wear": results.Wear,
    "Guesses": results.Guesses,
    "Objection": results.Objection,
    "Problem": Problem,
}
DOCUMENTS = {"Whole answer": ["format"], "Problems": ["format", "problems"]}
"""Fields that a document has and its class has not."""


def rows(text: str) -> list[str]:
    """Words in the first cells of the tables of a page."""
    cells = re.findall(r"^\| (.*?) \|", text, re.MULTILINE)
    return [word for cell in cells for word in re.findall(r"`(\w+)`", cell)]


def sections() -> dict[str, list[str]]:
    """Fields that each section of the answer's page describes."""
    pieces = re.split(r"^## (.+)$", FIELDS.read_text(encoding="utf-8"), flags=re.MULTILINE)
    return {
        title: found for title, text in zip(pieces[1::2], pieces[2::2], strict=True) if (found := rows(text))
    }


def test_each_field_of_the_answer_is_described_once_and_in_order() -> None:
    wanted = {
        title: [*DOCUMENTS.get(title, []), *(field.name for field in dataclasses.fields(kind))]
        for title, kind in SECTION_OF.items()
    }
    assert sections() == wanted | {"Problems": DOCUMENTS["Problems"]}


def test_each_section_belongs_to_a_class_of_the_answer() -> None:
    own = {
        thing
        for thing in vars(results).values()
        if dataclasses.is_dataclass(thing) and thing.__module__.startswith(results.__name__)
    }
    assert len(own) > 10
    assert own <= set(SECTION_OF.values())


def public_parameters() -> set[str]:
    """Names that a caller may use."""
    names = {field.name for field in dataclasses.fields(JudgeOptions)}
    for function in (evenglide.judge, evenglide.write_report, evenglide.chart):
        names |= {
            name
            for name, parameter in inspect.signature(function).parameters.items()
            if parameter.kind is not inspect.Parameter.VAR_KEYWORD
        }
    return names


def test_each_parameter_is_a_word_of_the_page() -> None:
    assert {"table", "matters", "out"} <= public_parameters()
    assert public_parameters() - set(rows(WORDS.read_text(encoding="utf-8"))) == set()


def test_the_page_has_no_word_in_code_type_that_nothing_bears() -> None:
    borne = public_parameters() | {
        field.name for kind in SECTION_OF.values() for field in dataclasses.fields(kind)
    }
    assert set(rows(WORDS.read_text(encoding="utf-8"))) - borne == set()


# ------------------------------------------------------------------------------ codes of problems

MAKERS = {"Problem", "Fault", "add", "table_error", "_problem", "_nothing", "_refused", "log_error"}
CODE = re.compile(r"[a-z]+(-[a-z]+)*")
COMPOSED = {"bad-adjust", "bad-scale", "bad-decimal"}
"""Codes that are put together from the name of an option."""


def codes_in(tree: ast.Module) -> set[str]:
    """Codes of problems that are written out in a file."""
    found = set()
    for call in (node for node in ast.walk(tree) if isinstance(node, ast.Call)):
        name = call.func.attr if isinstance(call.func, ast.Attribute) else getattr(call.func, "id", "")
        keywords = {keyword.arg: keyword.value for keyword in call.keywords}
        if name in MAKERS:
            found |= _written(keywords.get("code", call.args[0] if call.args else None))
    for table in (node for node in ast.walk(tree) if isinstance(node, ast.Dict)):
        for key, value in zip(table.keys, table.values, strict=True):
            if isinstance(key, ast.Constant) and key.value == "code":
                found |= _written(value)
    return found


def _written(node: ast.expr | None) -> set[str]:
    """Codes that an expression may give, as far as they are written out."""
    if isinstance(node, ast.IfExp):
        return _written(node.body) | _written(node.orelse)
    if isinstance(node, ast.Constant) and CODE.fullmatch(str(node.value)):
        return {str(node.value)}
    return set()


@pytest.mark.parametrize(
    ("code", "found"),
    [
        ("problems.add('no-rows', where='x')", {"no-rows"}),
        ("Problem(code='binary')", {"binary"}),
        ("Problem(code='newer' if newer else 'older')", {"newer", "older"}),
        ("told = {'code': 'bad-choice', 'expected': 'one'}", {"bad-choice"}),
        ("names.add(name)", set()),
    ],
)
def test_a_code_is_seen(code: str, found: set[str]) -> None:
    assert codes_in(ast.parse(code)) == found


def test_each_code_of_a_problem_is_listed() -> None:
    made = set().union(*(codes_in(parsed(path)) for path in reached_files())) | COMPOSED
    listed = FIELDS.read_text(encoding="utf-8").partition("## Codes of problems")[2]
    told = set(re.findall(r"`([a-z-]+)`", listed))
    assert len(made) > 40
    assert told == made


def test_each_room_in_use_is_described_and_no_other() -> None:
    page = ROOMS.read_text(encoding="utf-8")
    assert set(rows(page)) == reached_rooms()
    drawn = re.findall(r"^```text\n(.*?)^```$", page, re.MULTILINE | re.DOTALL)[0]
    lines = [re.split(r" {3,}", line)[0] for line in drawn.splitlines()]
    assert {room for line in lines for room in re.findall(r"\w+", line)} == reached_rooms()
