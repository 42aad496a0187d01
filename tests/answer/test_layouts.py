"""What single layouts must say beyond the contract."""

from __future__ import annotations

import math
from typing import Any

import pytest

from tests.answer.judging import Document, answered, audit_codes, judged, note_codes, only_contrast
from tests.answer.scenarios import field_day, flagged, without
from tests.tables import rows


def severity(document: Document, code: str) -> str:
    found: list[str] = [entry["severity"] for entry in document["audit"] if entry["code"] == code]
    return found[0]


def test_a_treatment_missing_on_a_surface_counts_in_the_family() -> None:
    document = answered("treatment missing on a surface")
    assert document["family_size"] == 4
    dry = document["surfaces"][1]
    rub, wax = dry["contrasts"]
    assert rub["estimate"] is not None
    numbers = {name: value for name, value in wax.items() if name.startswith(("p_", "interval", "estimate"))}
    assert set(numbers.values()) == {None}
    assert wax["verdict"] == "open" and wax["size"] == "unsettled"
    assert wax["robustness"] == [] and wax["own_pair"] is None and wax["naive"] is None
    assert note_codes(wax)[0] == "treatment-missing"
    assert dry["treatments"][2]["preparations"] == 0
    p = [each["p_difference"] for surface in document["surfaces"] for each in surface["contrasts"]]
    least = min(value for value in p if value is not None)
    (holm,) = [
        each["p_difference_adjusted"]
        for surface in document["surfaces"]
        for each in surface["contrasts"]
        if each["p_difference"] == least
    ]
    assert holm == pytest.approx(4 * least)


def test_a_reference_missing_leaves_no_contrast_there() -> None:
    document = answered("reference missing on a surface")
    wet, dry = document["surfaces"]
    assert all(each["estimate"] is not None for each in wet["contrasts"])
    assert all(each["estimate"] is None for each in dry["contrasts"])
    # The two that are there can still be told apart, by F.
    assert dry["omnibus"] is not None and dry["omnibus"]["df"][0] == 1
    assert document["family_size"] == 4
    assert document["between_surfaces"] == []


def test_one_preparation_of_each_is_about_these_preparations_only() -> None:
    document = answered("one preparation of each")
    found = only_contrast(document)
    assert found["estimate"] is not None and found["ratio"] == pytest.approx(math.exp(found["estimate"]))
    assert found["interval"] is found["se"] is found["p_difference"] is None
    assert found["verdict"] == "open"
    assert severity(document, "one-preparation-each") == "limits"
    assert found["naive"]["df"] > 0  # what launches would have claimed, shown as a warning


def test_without_preparations_each_row_counts() -> None:
    document = answered("no preparations")
    facts = document["surfaces"][0]["treatments"][0]
    assert facts["preparations"] == facts["launches"] == 12
    assert facts["sd_launches"] is None
    assert severity(document, "rows-as-preparations") == "limits"


def test_one_launch_each_does_not_accuse() -> None:
    table = without(field_day(launches=1), "preparation", "direction")
    assert severity(judged(table), "rows-as-preparations") == "warns"


def test_launches_set_aside_are_counted_not_used() -> None:
    table = field_day(surfaces=("wet",))
    aside = flagged(table, "void", {0: "rig moved", 7: "no"})
    document = judged(aside, matters="5 %")
    bare = document["surfaces"][0]["treatments"][0]
    assert (bare["launches"], bare["voids"]) == (11, 1)
    wild = {**aside, "response": [1e9, *aside["response"][1:]]}
    found, other = only_contrast(document), only_contrast(judged(wild, matters="5 %"))
    assert found["estimate"] == other["estimate"] and found["se"] == other["se"]
    assert found["robustness"] == other["robustness"]


def test_at_least_readings_count_with_their_bound() -> None:
    table = field_day(surfaces=("wet",))
    plain = only_contrast(judged(table, matters="5 %"))
    document = judged(flagged(table, "at_least", {1: "yes"}), matters="5 %")
    found = only_contrast(document)
    assert found["estimate"] == plain["estimate"]
    assert sum(facts["at_least"] for facts in document["surfaces"][0]["treatments"]) == 1
    assert "at-least" in note_codes(found) and "at-least" in audit_codes(document)
    assert {"filled-for", "filled-against"} <= {line["code"] for line in found["robustness"]}


def test_joint_test_and_hotelling_only_for_shared_preparations() -> None:
    for name, shared in (("shared preparations", True), ("surfaces and treatments", False)):
        document = answered(name)
        joint = {each["p_randomisation_joint"] for s in document["surfaces"] for each in s["contrasts"]}
        assert (joint == {None}) == (not shared)
        assert len(joint) == 1
        methods = {compared["method"] for compared in document["between_surfaces"]}
        assert methods == ({"hotelling"} if shared else {"welch"})


def test_a_direction_missing_leaves_no_value() -> None:
    document = answered("a direction missing")
    assert "one-direction" in audit_codes(document)
    lost = [
        facts["launches"] > 0 and facts["preparations"] < 4
        for surface in document["surfaces"]
        for facts in surface["treatments"]
    ]
    assert any(lost)
    assert any("one-direction" in note_codes(surface["contrasts"][0]) for surface in document["surfaces"])


def test_mixed_marks_on_a_surface_limit() -> None:
    document = answered("mixed marks")
    assert severity(document, "marks-mixed") == "limits"
    assert {surface["mark"] for surface in document["surfaces"]} == {"run-out"}


def test_items_that_keep_their_treatment_are_what_counts() -> None:
    document = answered("items that keep their treatment")
    assert severity(document, "item-is-treatment") == "limits"
    document = answered("one item for each treatment")
    for surface in document["surfaces"]:
        assert surface["contrasts"][0]["interval"] is None
        assert surface["contrasts"][0]["verdict"] == "open"


def test_agreement_to_the_last_digit_proves_nothing() -> None:
    found = only_contrast(answered("no scatter at all"))
    assert found["estimate"] == pytest.approx(0.25)
    assert found["p_difference"] is None and found["verdict"] == "open"
    assert "no-scatter" in note_codes(found)


def test_unconnected_rounds_cannot_be_compared() -> None:
    found = only_contrast(answered("unconnected rounds"))
    assert found["estimate"] is None and note_codes(found)[0] == "no-contrast"


def test_without_a_margin_nothing_is_said_about_size() -> None:
    document = answered("no margin")
    assert document["scale"] == "ratio" and "scale-chosen" in audit_codes(document)
    for surface in document["surfaces"]:
        (found,) = surface["contrasts"]
        assert surface["margin"] is None
        assert found["size"] is found["p_alike"] is found["interval_alike"] is found["to_close"] is None
        assert {line["p_alike"] for line in found["robustness"]} == {None}


def test_differences_carry_their_unit() -> None:
    document = answered("differences with a unit")
    assert document["response"] == {"name": "response", "unit": "m", "better": "higher"}
    assert document["scale"] == "difference"
    assert document["surfaces"][0]["margin"] == [-0.3, 0.3]
    assert document["surfaces"][0]["contrasts"][0]["ratio"] is None


def test_ratio_margins_stand_on_the_logarithm() -> None:
    document = judged(field_day(), matters="25 %")
    assert document["surfaces"][0]["margin"] == pytest.approx([-math.log(1.25), math.log(1.25)], rel=1e-15)
    assert document["response"]["unit"] is None


@pytest.mark.parametrize(
    ("name", "blocks", "counted"), [("many orders", 25, True), ("more orders than a double holds", 60, False)]
)
def test_numbers_of_orders(name: str, blocks: int, counted: bool) -> None:
    found = only_contrast(answered(name))
    assert found["randomisation_method"] == "monte carlo"
    assert "randomisation-by-chance" in note_codes(found)
    assert 0 < found["randomisation_error"] <= 0.0005 and found["interval_randomisation"] is not None
    assert found["assignments"] == (2**blocks if counted else None)
    assert (found["log10_assignments"] is None) == counted
    if not counted:
        assert found["log10_assignments"] == pytest.approx(blocks * math.log10(2), rel=1e-12)


def test_orders_without_items_are_all_counted() -> None:
    found = only_contrast(judged(without(field_day(surfaces=("wet",), blocks=25, launches=1), "item")))
    assert (found["randomisation_method"], found["assignments"]) == ("exact", 2**25)
    assert found["p_randomisation"] * 2**25 == pytest.approx(
        round(found["p_randomisation"] * 2**25), abs=1e-3
    )
    assert found["randomisation_draws"] is None and found["interval_randomisation"] is not None


def test_two_hundred_surfaces() -> None:
    document = answered("two hundred surfaces")
    assert document["family_size"] == len(document["surfaces"]) == 200
    assert "randomisation-cannot-reject" in audit_codes(document)


def test_the_least_p_is_told_before_anything_is_read_into_it() -> None:
    document = judged(without(field_day(surfaces=("wet",), blocks=4), "item"))
    assert only_contrast(document)["smallest_p"] == 2 / 16
    (entry,) = [each for each in document["audit"] if each["code"] == "randomisation-cannot-reject"]
    assert entry["facts"] == {"treatment": "rub", "least": 0.125, "needed": 0.05}


def test_a_treatment_that_stays_is_carried_over() -> None:
    lines = [(3.0 + k * 0.1, t, "s1", k) for k, t in enumerate(["bare", "wax", "bare", "wax", "bare"])]
    table = rows("response treatment item order", lines)
    document = judged(table, stays=["wax"])
    assert severity(document, "carry-over") == "limits"
    assert "carry-over" not in audit_codes(judged(table))
    first: dict[str, Any] = {**table, "order": [0, 3, 1, 4, 2]}
    assert "carry-over" not in audit_codes(judged(first, stays=["wax"]))


def test_verdicts_in_every_direction() -> None:
    quiet: dict[str, Any] = {"blocks": 8, "launches": 6, "surfaces": ("wet",), "seed": 2}
    table = without(field_day(effect=0.25, **quiet), "item")
    assert only_contrast(judged(table, matters="5 %"))["verdict"] == "higher"
    assert only_contrast(judged(table, matters="5 %"))["size"] == "matters"
    assert only_contrast(judged(table, matters="5 %", reference="rub"))["verdict"] == "lower"
    assert only_contrast(judged(table, matters="60 %"))["size"] == "small"
    table = without(field_day(effect=0.0, **quiet), "item")
    assert only_contrast(judged(table, matters="30 %"))["verdict"] == "alike"
    assert only_contrast(judged(table, matters="1 %"))["verdict"] == "open"


def test_blocks_that_would_close_a_question() -> None:
    found = only_contrast(judged(field_day(surfaces=("wet",), effect=0.0), matters="4 %"))
    assert found["verdict"] == "open" and found["to_close"]["chance"] == 0.8
    assert 2 <= found["to_close"]["difference_blocks"] <= found["to_close"]["alike_blocks"]
    wide = only_contrast(judged(field_day(surfaces=("wet",), effect=0.0), matters="0.001 %"))
    assert wide["to_close"]["difference_blocks"] is None
    assert "closing-out-of-reach" in note_codes(wide)
