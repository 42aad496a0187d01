from __future__ import annotations

from dataclasses import replace

from evenglide.answer.results import RobustnessLine
from evenglide.report.changing import ways_words, would_change
from evenglide.report.findings import Finding, findings_of
from evenglide.report.otherwise import (
    as_judged,
    lines_track,
    merged,
    otherwise,
    otherwise_finding,
    yardstick,
)
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


def test_the_answer_itself_stands_at_the_same_yardstick() -> None:
    one = finding(3)
    line = as_judged(one)
    assert (line.text, line.verdict, line.changes) == ("As judged", "too close to call", False)
    plain = one.contrast.interval
    assert plain is not None and plain != one.bar  # the bar shares the error rate, the line does not
    assert line.fits == one.effects.range(plain)


def test_lines_that_give_the_same_are_one() -> None:
    lines = otherwise(finding())
    together = merged([lines[0], lines[1], lines[3]])
    assert [line.text for line in together] == [
        "Differences instead of ratios; Only the preparations of these two treatments",
        "First half of the rounds",
    ]


def test_the_yardstick_tells_how_these_ranges_differ_from_the_bars() -> None:
    told = yardstick(list(findings_of(made_up.answer(), DISTANCE))).replace(NO_BREAK, " ")
    assert "one line alone, 95 % sure" in told
    assert "there four surfaces share the error rate" in told
    assert "It matters from 4.8 % shorter or 5 % farther on." in told
    alone = yardstick(list(findings_of(made_up.answer(adjust="none", margin=None), DISTANCE)))
    assert "share" not in alone
    assert "matters" not in alone


def test_what_would_change_an_answer_is_named() -> None:
    findings = list(findings_of(made_up.answer(), DISTANCE))
    assert would_change(findings) == (
        "With the first half of the rounds, groomed snow would read: too close to call.",
    )
    (none,) = would_change([findings[0]])
    assert none == "Nothing of what was tried: five other reckonings leave every answer as it is."
    bare = replace(findings[0], contrast=replace(findings[0].contrast, robustness=()))
    assert would_change([bare]) == ()


def test_many_changes_are_cut_short() -> None:
    told = would_change([finding(place, changes=True, verdict="lower") for place in range(4)])
    assert len(told) == 4
    assert told[-1] == "And one more, listed in the report."
    assert "in four other ways, wet spring snow would read: goes shorter." in told[0]


def test_rounds_left_out_are_named_together() -> None:
    (line, *_) = finding().contrast.robustness
    lines = [
        replace(line, code="block-left-out", text="Round 2 left out"),
        replace(line, code="drift", text="Steady drift over time taken out"),
        replace(line, code="block-left-out", text="Round Saturday left out"),
    ]
    assert ways_words(lines) == "without round 2 or Saturday or with a steady drift over time taken out"
    out = replace(line, code="outliers-out", text="Outlying launches out (2 found)")
    assert ways_words([out]) == "without the outlying launches"
