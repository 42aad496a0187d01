"""What every answer in JSON must keep: the schema, plain numbers, a note for every number missing."""

from __future__ import annotations

import json
import math
from collections.abc import Iterator, Mapping
from functools import cache
from typing import Any

from jsonschema import Draft202012Validator

from evenglide import answer_schema, problems_schema
from evenglide.answer.schema import rehearsal_schema
from tests.answer.recomputed import check_numbers

Document = dict[str, Any]
SEVERITIES = ("limits", "warns", "fine")
LINES = (
    "raw-scale",
    "log-scale",
    "hodges-lehmann",
    "own-pair",
    "outliers-out",
    "drift",
    "wear",
    "first-half",
    "second-half",
    "block-left-out",
    "filled-for",
    "filled-against",
    "beyond-for",
    "beyond-against",
)
NEEDS_MARGIN = ("interval_alike", "p_alike", "p_alike_adjusted", "p_matters", "p_matters_adjusted")
NEEDS_RATIO = ("ratio", "ratio_interval")
NOT_IN_A_TABLE = ("looks", "ride")
WORDS = ("size", "randomisation_method", "randomisation_draws", "randomisation_error")
"""Told of a number: they are null together with the number they belong to, or say how it was found."""
LINE_NUMBERS = ("estimate", "interval", "p_difference", "p_alike", "verdict", "changes")


def check_answer(document: Document, *, shared: bool = False) -> None:
    """Hold one answer against everything that is promised about its form.

    `shared`: one preparation served several surfaces (the document itself does not say so).
    """
    closed_validator("answer").validate(document)
    check_plain(document)
    for surface in document["surfaces"]:
        check_surface(surface, scale=document["scale"], shared=shared)
    for compared in document["between_surfaces"]:
        check_between(compared)
    check_family(document)
    check_audit(document)
    check_numbers(document)


@cache
def closed_validator(name: str) -> Draft202012Validator:
    """Validator of a published schema that also refuses fields which the schema does not name."""
    schema = {"answer": answer_schema, "problems": problems_schema, "rehearsal": rehearsal_schema}[name]()
    Draft202012Validator.check_schema(schema)
    closed: Any = _closed(json.loads(json.dumps(schema)))
    return Draft202012Validator(closed)


def _closed(part: Any) -> Any:
    if isinstance(part, list):
        return [_closed(entry) for entry in part]
    if not isinstance(part, dict):
        return part
    closed = {key: _closed(entry) for key, entry in part.items()}
    if "properties" in closed:
        closed.setdefault("additionalProperties", False)
    return closed


def check_plain(part: Any, path: str = "") -> None:
    """No NaN, no infinity, nothing that JSON does not have."""
    if isinstance(part, Mapping):
        for key, entry in part.items():
            assert isinstance(key, str), path
            check_plain(entry, f"{path}.{key}")
    elif isinstance(part, list):
        for index, entry in enumerate(part):
            check_plain(entry, f"{path}[{index}]")
    elif isinstance(part, float):
        assert math.isfinite(part), path
    else:
        assert part is None or type(part) in (str, int, bool), path


def check_surface(surface: Document, *, scale: str, shared: bool) -> None:
    """Treatments and contrasts of one surface agree, and no number is missing without a note."""
    assert [facts["treatment"] for facts in surface["treatments"][1:]] == [
        contrast["treatment"] for contrast in surface["contrasts"]
    ]
    assert [facts["reference"] for facts in surface["treatments"]] == [
        True,
        *(False for _ in surface["contrasts"]),
    ]
    reference = surface["treatments"][0]["treatment"]
    margin = surface["margin"]
    for contrast in surface["contrasts"]:
        assert contrast["reference"] == reference
        assert (contrast["size"] is None) == (margin is None)
        assert (contrast["randomisation_method"] is None) == (contrast["p_randomisation"] is None)
        for found_by_drawing in ("randomisation_draws", "randomisation_error"):
            by_draws = contrast["randomisation_method"] == "monte carlo"
            assert (contrast[found_by_drawing] is not None) == by_draws
        needed = set(missing_numbers(contrast, margin=margin, scale=scale, shared=shared))
        unexplained = needed - explained(contrast["notes"], needed)
        assert not unexplained, f"{contrast['treatment']} on {surface['surface']}: {sorted(unexplained)}"
        check_notes(contrast["notes"], valid=fields_of_contrast(contrast))
    check_facts(surface)


def check_facts(surface: Document) -> None:
    """Means and scatter that are missing are named by a note of their treatment's contrast."""
    notes_of = [
        [note for contrast in surface["contrasts"] for note in contrast["notes"]],
        *(contrast["notes"] for contrast in surface["contrasts"]),
    ]
    for facts, notes in zip(surface["treatments"], notes_of, strict=True):
        needed = {
            f"treatments.{name}" for name in ("mean", "sd_preparations", "sd_launches") if facts[name] is None
        }
        unexplained = needed - explained(notes, needed)
        assert not unexplained, f"{facts['treatment']} on {surface['surface']}: {sorted(unexplained)}"
        assert (facts["preparations"] == 0) == (facts["mean"] is None)
    if surface["omnibus"] is None:
        assert explained(notes_of[0], {"omnibus"}), surface["surface"]


def missing_numbers(
    contrast: Document, *, margin: list[float] | None, scale: str, shared: bool
) -> Iterator[str]:
    """Paths of the numbers that this analysis would normally give and that are null."""
    absent = {name for name, value in contrast.items() if value is None} - {*NOT_IN_A_TABLE, *WORDS}
    if margin is None:
        absent -= {*NEEDS_MARGIN}
    if scale != "ratio":
        absent -= {*NEEDS_RATIO}
    if not shared:
        absent -= {"p_randomisation_joint"}
    if margin is None or contrast["verdict"] != "open":
        absent -= {"to_close"}
    # A number of assignments stands in one of two fields; without any, the first one is missing.
    absent -= {"log10_assignments"}
    if contrast["log10_assignments"] is not None:
        absent -= {"assignments"}
    yield from absent
    yield from missing_in_groups(contrast, margin=margin)
    for name, value in contrast.items():  # one null end is an unbounded interval, two are none
        assert "interval" not in name or value != [None, None], name


def missing_in_groups(contrast: Document, *, margin: list[float] | None) -> Iterator[str]:
    """Paths of the numbers that are null inside a group of numbers or in a robustness line."""
    for group in ("own_pair", "naive", "reml", "to_close"):
        for name, value in (contrast[group] or {}).items():
            if value is None:
                yield f"{group}.{name}"
    if not contrast["robustness"]:
        yield "robustness"
    for line in contrast["robustness"]:
        numbers = [name for name in LINE_NUMBERS if margin is not None or name != "p_alike"]
        if any(line[name] is None for name in numbers):
            yield f"robustness.{line['code']}"


def explained(notes: list[Document], paths: set[str]) -> set[str]:
    """Those of `paths` that some note names, itself or the group it stands in."""
    named = {field for note in notes for field in note["fields"]}
    return {path for path in paths if path in named or path.split(".")[0] in named}


def fields_of_contrast(contrast: Document) -> set[str]:
    """Every path that a note on a contrast may name."""
    parts = {
        "own_pair": ("estimate", "se", "df", "interval", "p"),
        "naive": ("estimate", "se", "df", "interval", "too_narrow_by"),
        "to_close": ("difference_blocks", "alike_blocks"),
        "robustness": LINES,
        "treatments": ("mean", "sd_preparations", "sd_launches"),
    }
    return {*contrast, "omnibus", *(f"{group}.{name}" for group, names in parts.items() for name in names)}


def check_notes(notes: list[Document], *, valid: set[str]) -> None:
    """Notes speak of fields that exist, and their sentences are whole."""
    for note in notes:
        assert set(note["fields"]) <= valid, note
        check_sentence(note)


def check_sentence(remark: Document) -> None:
    text = remark["text"]
    assert text.endswith(".") and not set("{}") & set(text.replace("{…}", "")), text


def check_between(compared: Document) -> None:
    """A comparison of surfaces: every pair once, every missing number noted."""
    names = compared["surfaces"]
    assert len(set(names)) == len(names) >= 2
    assert [pair["surfaces"] for pair in compared["pairs"]] == [
        [first, second] for at, first in enumerate(names) for second in names[at + 1 :]
    ]
    needed = {name for name in ("f", "df", "p") if compared[name] is None}
    if any(value is None for pair in compared["pairs"] for value in pair.values()):
        needed.add("pairs")
    assert needed == explained(compared["notes"], needed), needed
    check_notes(compared["notes"], valid={*compared})


def check_family(document: Document) -> None:
    """The family counts every treatment but the reference on every surface met, null ones included.

    A main surface is a family of its own.
    """
    surfaces = document["surfaces"]
    main = document["main"]
    apart = [surface for surface in surfaces if main is not None and surface["surface"] == main]
    assert (main is None) == (document["main_family_size"] is None) == (not apart)
    assert document["main_family_size"] == (len(apart[0]["contrasts"]) if apart else None)
    assert document["family_size"] == sum(
        len(surface["contrasts"]) for surface in surfaces if surface not in apart
    )
    names = [[facts["treatment"] for facts in surface["treatments"]] for surface in surfaces]
    assert all(row == names[0] for row in names)
    assert len(set(names[0])) == len(names[0]) >= 2
    labels = [surface["surface"] for surface in surfaces]
    assert len(set(labels)) == len(labels)
    assert None not in labels or len(labels) == 1
    assert len({json.dumps(surface["margin"]) for surface in surfaces}) == 1


def check_audit(document: Document) -> None:
    """Audit entries: the gravest first, about surfaces that exist."""
    audit = document["audit"]
    ranks = [SEVERITIES.index(entry["severity"]) for entry in audit]
    assert ranks == sorted(ranks)
    known = {None, *(surface["surface"] for surface in document["surfaces"])}
    assert {entry["surface"] for entry in audit} <= known
    for entry in audit:
        check_sentence(entry)
