from __future__ import annotations

from dataclasses import replace

from evenglide.answer.results import RobustnessLine
from evenglide.report.findings import Finding, findings_of
from evenglide.report.otherwise import lines_track, otherwise, otherwise_finding
from evenglide.report.wording import DISTANCE, NUMBER, Wording
from evenglide.show.numbers import NO_BREAK
from tests.report import made_up


def finding(place: int = 1, wording: Wording = DISTANCE, **changes: object) -> Finding:
    """One finding of the four surfaces, every line of its table changed."""
    one = list(findings_of(made_up.answer(), wording))[place]
    lines = tuple(replace(line, **changes) for line in one.contrast.robustness)  # type: ignore[arg-type]
    return replace(one, contrast=replace(one.contrast, robustness=lines))


def test_lines_that_change_the_answer_are_named() -> None:
    told = otherwise_finding(otherwise(finding()))
    assert told == (
        "One of five other ways of reckoning would change it: first half of the rounds (too close to call)."
    )
    assert otherwise_finding(otherwise(finding(0))) == (
        "None of five other ways of reckoning would change the answer."
    )


def test_many_that_change_it_are_counted() -> None:
    told = otherwise_finding(otherwise(finding(changes=True, verdict="lower")))
    assert told.startswith("Six of six other ways of reckoning would change it: ")
    assert told.endswith("(goes shorter) and 3 more.")
    assert "(lower)" in otherwise_finding(otherwise(finding(wording=NUMBER, changes=True, verdict="lower")))


def test_where_nothing_could_be_reckoned_it_says_so() -> None:
    lines = otherwise(finding(estimate=None, interval=None, verdict=None, changes=None))
    assert otherwise_finding(lines) == "No other way of reckoning was possible."
    assert {line.fits for line in lines} == {"not reckoned"}
    assert all(line.lane is None for line in lines)
    assert lines_track(lines, percent=True).high > 0


def test_a_line_on_the_other_scale_has_its_unit_and_no_lane() -> None:
    (line, *_) = otherwise(finding(scale="difference"))
    assert line.lane is None
    assert f"{NO_BREAK}m " in line.fits
    assert "%" not in line.fits


def test_an_estimate_alone_is_called_one() -> None:
    (line, *_) = otherwise(finding(interval=None, verdict=None, changes=None))
    assert line.fits.endswith("farther, estimate only")
    assert line.lane is not None and line.lane.bar is None and not line.lane.settled


def test_every_line_keeps_its_place() -> None:
    one = finding()
    lines: tuple[RobustnessLine, ...] = one.contrast.robustness
    assert [line.text for line in otherwise(one)] == [line.text for line in lines]
