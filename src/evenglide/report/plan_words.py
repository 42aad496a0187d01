"""What the plan page says in sentences: where to go, what that settles, and how likely.

For a rider: nothing here speaks of probabilities of error, degrees of freedom or orders of treatments.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from evenglide.plan.results import REACHED, Candidate, ComparisonChances, Curve, Offer
from evenglide.report.carried_out import day_words
from evenglide.report.offer_words import chance_words, hours, margin_words
from evenglide.report.wording import DISTANCE, Effects
from evenglide.show.numbers import NO_BREAK, count, fixed, listed, spelled, with_unit

DAYS_NAMED = 3
"""Outings named by their days in a headline; more are counted."""
EVEN = 0.5
SELDOM = 0.2
CLOSE_TO_THE_BEST = 0.05


@dataclass(frozen=True, slots=True, kw_only=True)
class Outlook:
    """What a layout is likely to say about one comparison.

    Parameters
    ----------
    lead, rest : str
        Of the sentence.
    """

    lead: str
    rest: str


def percent(share: float) -> str:
    """Write a chance as a number alone: ``62 %``."""
    return chance_words(share, bare=True)


def effects_on(offer: Offer, surface: str) -> Effects:
    """Writer of effects on a surface."""
    margin = next(one.margin for one in offer.surfaces if one.name == surface)
    return Effects(scale=offer.scale, unit=offer.unit, wording=DISTANCE, margin=margin)


def common_margin(offer: Offer) -> str:
    """The difference that matters where it is the same everywhere; "" where surfaces differ."""
    told = {margin_words(offer, one.margin) for one in offer.surfaces}
    return told.pop() if len(told) == 1 else ""


def truths(offer: Offer) -> tuple[str, str]:
    """Name both truths that a chance is told for: ``if there is none`` and ``if it is 5 %``."""
    margin = common_margin(offer)
    return "if there is none", f"if it is {margin}" if margin else "if it just matters"


def asked(offer: Offer, candidate: Candidate) -> list[ComparisonChances]:
    """Comparisons that the question is about: those on the main surface where there is one."""
    return [one for one in candidate.comparisons if offer.main in (None, one.surface)]


def if_none(offer: Offer, candidate: Candidate) -> float:
    """Chance to find that nothing matters if there is no difference, mean of what is asked. [1]."""
    own = asked(offer, candidate)
    return sum(one.alike_if_none for one in own) / len(own)


def if_it_matters(offer: Offer, candidate: Candidate) -> float:
    """Chance to find a difference of just what matters, mean of what is asked. [1]."""
    own = asked(offer, candidate)
    return sum(one.differs_if_margin for one in own) / len(own)


def of_what(offer: Offer) -> str:
    """Say which comparisons the chances on the page are a mean of; "" where there is one only."""
    if offer.main is not None:
        return f"on {offer.main}"
    if len(offer.surfaces) > 1:
        return "on average over the surfaces"
    return "on average" if len(offer.treatments) > 2 else ""


def comparison_name(offer: Offer, surface: str, treatment: str) -> str:
    """Name a comparison by what tells it from the others."""
    if len(offer.treatments) == 2:
        return surface
    return treatment if len(offer.surfaces) == 1 else f"{surface}: {treatment}"


def outing_day(offer: Offer, number: int) -> str:
    """Name an outing by its day, ``17 January 2026``, or by its number."""
    day = offer.outings[number - 1].day
    return f"outing {number}" if day is None else day_words(day)


def title_words(offer: Offer) -> str:
    """Say where to go: days, rounds, hours."""
    taken = offer.recommended
    return f"Go out {_when(offer, taken)}: {count(taken.rounds, 'round')}, {hours(taken.minutes)} in all"


def _when(offer: Offer, taken: Candidate) -> str:
    dated = all(offer.outings[number - 1].day for number in taken.outings)
    if dated and len(taken.outings) <= DAYS_NAMED:
        return f"on {_days([str(offer.outings[number - 1].day) for number in taken.outings])}"
    times = {1: "once", 2: "twice"}.get(len(taken.outings))
    return times or f"{spelled(len(taken.outings))} times"


def _days(days: Sequence[str]) -> str:
    """Write days that follow each other, month and year once: ``17, 18 and 24 January 2026``."""
    told: list[str] = []
    for place, day in enumerate(days):
        after = days[place + 1] if place + 1 < len(days) else ""
        words = day_words(day).split(NO_BREAK)
        keep = 3 if after[:4] != day[:4] else 1 if after[:7] == day[:7] else 2
        told.append(NO_BREAK.join(words[:keep]))
    return listed(told)


def headline_words(offer: Offer) -> str:
    """Say what that gives, and why this layout."""
    taken = offer.recommended
    best = offer.candidate(offer.recommendation.best)
    where = of_what(offer)
    given = f"That gives {chance_words(taken.chance)} of a clear answer{' ' + where if where else ''}"
    if offer.recommendation.rule == "reaches":
        return f"{given}: the shortest plan that reaches {percent(REACHED)}."
    if taken.number == best.number:
        return f"{given}, the most that these outings can give."
    return (
        f"{given}, nearly all that these outings can give: {percent(best.chance)} would take "
        f"{hours(best.minutes)}."
    )


def warning_words(offer: Offer) -> str:
    """Warn where the likely outcome is no answer; "" elsewhere."""
    if offer.recommended.chance >= EVEN:
        return ""
    return (
        "So the likely outcome is “too close to call”, whatever is true. See what would change that before "
        "anything is bought."
    )


def outlook(offer: Offer, one: ComparisonChances, curve: Curve) -> Outlook:
    """Say what is likely to come out of one comparison.

    Parameters
    ----------
    offer : Offer
    one : ComparisonChances
    curve : Curve
        Of the same comparison.
    """
    return Outlook(lead=_lead(one.clear), rest=" ".join(_finds(offer, one, curve)))


def _lead(clear: float) -> str:
    if clear >= REACHED:
        return "Will most likely be settled."
    if clear >= EVEN:
        return "More likely settled than not."
    return "Likely too close to call." if clear >= SELDOM else "Almost surely too close to call."


def _finds(offer: Offer, one: ComparisonChances, curve: Curve) -> Iterator[str]:
    effects = effects_on(offer, one.surface)
    found = smallest_found(curve)
    if found is None:
        farthest = effects.one(curve.effects[-1], decimals=0)
        yield f"Even {farthest} would be missed more often than one time in five."
    else:
        yield f"Finds {effects.one(found, decimals=_decimals(effects.shown(found)))} four times in five."
    if one.width is not None:
        half = effects.shown(one.width / 2)
        yield f"Knows it at the end to about ±{with_unit(fixed(half, _decimals(half)), effects.shown_unit)}."


def smallest_found(curve: Curve) -> float | None:
    """Smallest true effect on the curve that is found with 80 % chance; None if none is."""
    return next(
        (x for x, chance in zip(curve.effects, curve.differs, strict=True) if chance >= REACHED), None
    )


def _decimals(value: float) -> int:
    """Two digits of a number that is only a forecast."""
    if value >= 10:
        return 0
    return 1 if value >= 1 else 2


def takes_words(offer: Offer) -> Iterator[str]:
    """Say what a layout takes: work, and what each outing looks like."""
    taken = offer.recommended
    kinds = "both treatments" if len(offer.treatments) == 2 else "its treatments"
    where = "on each surface" if len(offer.surfaces) > 1 else "outside"
    yield (
        f"{count(taken.preparations, 'preparation')}, {count(taken.set_ups, 'rig set-up')}, "
        f"{count(taken.launches_in_all, 'launch', 'launches')}. In a round {kinds} are put on afresh, and "
        f"each is launched {count(taken.launches, 'time')} {where}."
    )
    each = zip(taken.outings, taken.rounds_of_outings, taken.minutes_of_outings, strict=True)
    named = [
        f"{outing_day(offer, number)}: {count(rounds, 'round')}, {hours(minutes)}"
        for number, rounds, minutes in each
    ]
    if len(named) <= DAYS_NAMED:
        yield f"{'; '.join(named)}."
    else:
        longest = max(taken.minutes_of_outings)
        yield f"{count(len(named), 'outing')} of up to {hours(longest)}."
