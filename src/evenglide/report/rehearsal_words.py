"""What a rehearsal found, in a rider's words: so many answers of a hundred."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass

from evenglide.answer.rehearsed import (
    PlayedTrouble,
    Rehearsal,
    RehearsedComparison,
    RehearsedTruth,
    Scenario,
)
from evenglide.report.wording import DISTANCE
from evenglide.show.numbers import (
    fixed,
    listed,
    percent_change,
    percent_scatter,
    plain,
    whole,
    with_unit,
)

NOTHING_WRONG = "nothing goes wrong"
GRAVE = 0.1
"""Share of wrong answers from which a trouble is told at the head of the page."""
COSTLY = 0.1
"""Share of right answers lost from which a trouble is told there."""
HUNDRED = 100.0
SEEN = 0.015
"""Change of a share from which it is shown; the same luck was played, so chance explains less than this."""
SHOWN_TRUTHS = 2
"""Truths that have room beside each other."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Three:
    """Right, open and wrong, as shares that add up to one."""

    right: float
    open: float
    wrong: float

    @property
    def numbers(self) -> tuple[str, str, str]:
        """All three, of a hundred."""
        return of_hundred(self.right), of_hundred(self.open), of_hundred(self.wrong)

    @property
    def parts(self) -> tuple[tuple[str, str], ...]:
        """Name and share of each part that is met, for a bar."""
        shares = (("right", self.right), ("open", self.open), ("wrong", self.wrong))
        return tuple((name, f"{share:.4f}") for name, share in shares if share > 0.0)

    @property
    def words(self) -> str:
        """All three, of a hundred."""
        right, still, wrong = self.numbers
        return f"{right} right, {still} open, {wrong} wrong"


SOURCES = {
    "stated": "as the study states it",
    "unknown": "not stated, so a wide range of what is usual",
    "pilot": "as a pilot showed it",
    "rig": "as a check of the launcher showed it",
}
"""Where the scatter comes from, in words."""


def of_hundred(share: float) -> str:
    """Write a share as so many of a hundred; what is met but hardly ever is no nought.

    Examples
    --------
    >>> of_hundred(0.624), of_hundred(0.002), of_hundred(0.0), of_hundred(0.999)
    ('62', '<1', '0', '>99')
    """
    if 0.0 < share < 0.005:
        return "<1"
    if 0.995 <= share < 1.0:
        return ">99"
    return fixed(HUNDRED * share, 0)


def give_or_take(rehearsal: Rehearsal) -> str:
    """Largest half width of a 95 % interval of a share, of a hundred."""
    return fixed(max(1.0, 2.0 * HUNDRED * rehearsal.error), 0)


def three_of(comparison: RehearsedComparison) -> Three:
    """Shares of one comparison."""
    return Three(right=comparison.right.share, open=comparison.open.share, wrong=comparison.wrong.share)


def three_of_all(truth: RehearsedTruth) -> Three:
    """Mean over the comparisons of a truth."""
    found = [three_of(one) for one in truth.comparisons]
    return Three(
        right=sum(one.right for one in found) / len(found),
        open=sum(one.open for one in found) / len(found),
        wrong=sum(one.wrong for one in found) / len(found),
    )


def effect_words(effect: float, rehearsal: Rehearsal) -> str:
    """Write a supposed effect: ``10 % farther``."""
    if effect == 0.0:
        return "none"
    percent = rehearsal.scale == "ratio"
    amount = abs(percent_change(effect)) if percent else abs(effect)
    shown = with_unit(plain(amount, digits=2), "%" if percent else rehearsal.unit)
    return f"{shown} {DISTANCE.more if effect > 0 else DISTANCE.less}"


def truth_words(truth: RehearsedTruth, rehearsal: Rehearsal) -> str:
    """Tell a truth with its amount, where that is the same on every surface."""
    effects = {one.effect for one in truth.comparisons}
    if truth.truth in ("half", "margin", "twice") and len(effects) == 1:
        return f"{truth.told}: {effect_words(effects.pop(), rehearsal)}"
    return truth.told


def comparison_name(one: RehearsedComparison, rehearsal: Rehearsal) -> str:
    """Name a comparison by its surface, and by its treatment where there are several."""
    treatments = {other.treatment for other in rehearsal.scenarios[0].truths[0].comparisons}
    return one.surface if len(treatments) == 1 else f"{one.surface}, {one.treatment}"


@dataclass(frozen=True, slots=True, kw_only=True)
class Effects:
    """Scenarios that change something, the calm one first, and troubles that change next to nothing."""

    shown: tuple[Scenario, ...]
    harmless: tuple[PlayedTrouble, ...]


def effects_of(rehearsal: Rehearsal) -> Effects:
    """Part the scenarios by whether they change any number under a truth that is shown.

    Parameters
    ----------
    rehearsal : Rehearsal

    Returns
    -------
    Effects
        Scenarios of several troubles are always shown.
    """
    calm, *rough = rehearsal.scenarios
    alone = [one for one in rough if len(one.troubles) == 1 and _largest_change(calm, one) < SEEN]
    return Effects(
        shown=(calm, *(one for one in rough if one not in alone)),
        harmless=tuple(one.troubles[0] for one in alone),
    )


def harmless_words(rehearsal: Rehearsal) -> str:
    """Tell which troubles change next to nothing; "" where each one does."""
    found = [one.told for one in effects_of(rehearsal).harmless]
    if not found:
        return ""
    return f"Next to nothing changes here, less than 2 of 100 answers, if {listed(found, last='or')}."


def _largest_change(calm: Scenario, scenario: Scenario) -> float:
    """Largest change of a share of right or wrong answers, all comparisons together."""
    changes = [0.0]
    for at, quiet in shown_truths(calm.truths):
        was, now = three_of_all(quiet), three_of_all(scenario.truths[at])
        changes += [abs(now.right - was.right), abs(now.wrong - was.wrong)]
    return max(changes)


def troubles_words(troubles: Sequence[PlayedTrouble]) -> str:
    """Tell what goes wrong together."""
    return "; ".join(one.told for one in troubles) if troubles else NOTHING_WRONG


def headline_words(rehearsal: Rehearsal) -> str:
    """Tell how the plan does where nothing goes wrong."""
    by_name = {truth.truth: truth for truth in rehearsal.scenarios[0].truths}
    sentences = []
    if "none" in by_name:
        found = three_of_all(by_name["none"])
        sentences.append(
            f"If there is no effect, {of_hundred(found.right)} of 100 answers say so and "
            f"{of_hundred(found.wrong)} {_is(found.wrong)} wrong."
        )
    if "margin" in by_name:
        found = three_of_all(by_name["margin"])
        sentences.append(
            f"If it is exactly what matters, {of_hundred(found.right)} of 100 find it and "
            f"{of_hundred(found.wrong)} {_is(found.wrong)} wrong."
        )
    if sentences:
        return " ".join([*sentences, "All others stay too close to call."])
    return " ".join(
        f"If the truth is {truth.told}: {three_of_all(truth).words}, of 100 answers."
        for truth in rehearsal.scenarios[0].truths
    )


def shown_truths(truths: Sequence[RehearsedTruth]) -> list[tuple[int, RehearsedTruth]]:
    """Truths that stand beside each other, with their places: none and what matters, else the first two."""
    chosen = [(at, truth) for at, truth in enumerate(truths) if truth.truth in ("none", "margin")]
    return (chosen if len(chosen) == SHOWN_TRUTHS else list(enumerate(truths)))[:SHOWN_TRUTHS]


def _is(share: float) -> str:
    return "is" if of_hundred(share) in ("1", "<1") else "are"


def worst_words(rehearsal: Rehearsal) -> tuple[str, ...]:
    """Tell what misleads most, and what costs most answers; nothing where nothing does."""
    calm, *rough = rehearsal.scenarios
    wrong = _worst(rough, lambda truth, _: three_of_all(truth).wrong, calm=calm)
    lost = _worst(
        rough, lambda truth, quiet: three_of_all(quiet).right - three_of_all(truth).right, calm=calm
    )
    told = []
    if wrong is not None and wrong[0] >= GRAVE:
        share, scenario, truth = wrong
        told.append(
            f"What misleads most: {troubles_words(scenario.troubles)}. Then {of_hundred(share)} of 100 "
            f"answers are wrong if the truth is {truth.told}.{_remedy(scenario)}"
        )
    misleading = wrong[1] if wrong is not None and told else None
    if lost is not None and lost[0] >= COSTLY and lost[1] is not misleading:
        share, scenario, truth = lost
        told.append(
            f"What costs most answers: {troubles_words(scenario.troubles)}. Then "
            f"{of_hundred(three_of_all(truth).right)} of 100 are right if the truth is {truth.told}, "
            f"{of_hundred(share)} fewer.{_remedy(scenario)}"
        )
    return tuple(told)


def _remedy(scenario: Scenario) -> str:
    return "".join(f" {one.remedy}" for one in scenario.troubles)


def _worst(
    scenarios: Iterable[Scenario],
    how_bad: Callable[[RehearsedTruth, RehearsedTruth], float],
    *,
    calm: Scenario,
) -> tuple[float, Scenario, RehearsedTruth] | None:
    """Scenario and truth in which it is worst."""
    found = [
        (how_bad(truth, quiet), scenario, truth)
        for scenario in scenarios
        for truth, quiet in zip(scenario.truths, calm.truths, strict=True)
    ]
    return max(found, key=lambda one: one[0], default=None)


def anywhere_words(truth: RehearsedTruth) -> str:
    """Tell how often something is wrong anywhere, where several comparisons share the error rate."""
    treatments = {one.treatment for one in truth.comparisons}
    several = [one for one in truth.families if len(one.surfaces) * len(treatments) > 1]
    parts = [
        f"{of_hundred(one.any_wrong.share)} of 100 studies"
        f"{f' on {listed(one.surfaces)}' if len(truth.families) > 1 else ''}"
        for one in several
    ]
    return f"Something is wrong somewhere in {listed(parts)}." if parts else ""


def supposed_words(rehearsal: Rehearsal) -> tuple[str, ...]:
    """Tell what the studies were played with."""
    scatter = rehearsal.scatter
    source = SOURCES[scatter.source]
    reach = ""
    if scatter.low is not None and scatter.high is not None:
        low, high = _amount(scatter.low, rehearsal), _amount(scatter.high, rehearsal)
        reach = f" (in four studies of five between {low} and {high})"
    lines = [
        f"Scatter {source}: about {_amount(scatter.preparations, rehearsal)} between preparations{reach} and "
        f"{_amount(scatter.launches, rehearsal)} between launches.",
    ]
    if scatter.together:
        shares = listed([with_unit(plain(HUNDRED * share), "%") for share in scatter.together], last="or")
        lines.append(
            f"Of the scatter between preparations, {shares} goes with a preparation from surface to surface"
            f"{', each in as many studies' if len(scatter.together) > 1 else ''}."
        )
    if scatter.voids > 0.0:
        share = with_unit(plain(HUNDRED * scatter.voids), "%")
        lines.append(f"Launches set aside even where nothing goes wrong: {share}, as the study expects.")
    lines.append(
        f"{whole(rehearsal.studies)} invented studies for every line, drawn with seed {rehearsal.seed}; each "
        f"number of a hundred may be off by {give_or_take(rehearsal)}. A launch of untreated gear is "
        f"taken to go {with_unit(plain(rehearsal.typical), rehearsal.unit)}."
    )
    lines += [f"Not played, {one.trouble}: {one.why}." for one in rehearsal.unplayed]
    return tuple(lines)


def _amount(scatter: float, rehearsal: Rehearsal) -> str:
    if rehearsal.scale == "ratio":
        return with_unit(plain(percent_scatter(scatter), digits=2), "%")
    return with_unit(plain(scatter, digits=2), rehearsal.unit)


def matters_words(rehearsal: Rehearsal) -> str:
    """Tell the difference that matters; "" where it is not one and the same."""
    margins = {margin for _, margin in rehearsal.margins}
    if len(margins) != 1 or None in margins:
        return ""
    (margin,) = margins
    assert margin is not None
    return effect_words(margin[1], rehearsal).rsplit(" ", 1)[0]
