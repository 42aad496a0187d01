"""Pieces of an offer in words: times, chances, scatter, what was assumed, what would help."""

from __future__ import annotations

import math
from collections.abc import Iterator

from evenglide.plan.results import Assumed, MeasuredTime, Offer, Wish
from evenglide.show.numbers import (
    NO_BREAK,
    count,
    duration,
    fixed,
    listed,
    percent_change,
    plain,
    spelled,
    with_unit,
)

ONE_OF = {
    "launch": ("launch", "launches"),
    "rig_set_up": ("set-up", "set-ups"),
    "hands_on": ("preparation", "preparations"),
}
SURE = 0.995
HARDLY = 0.005
LEAST_GAIN = 0.02


def hours(minutes: float) -> str:
    """Write a time outside: ``11 h 20 min``."""
    return duration(60.0 * minutes)


def chance_words(share: float, *, bare: bool = False) -> str:
    """Write a chance: ``a 62 % chance``, or ``62 %`` alone."""
    if share >= SURE:
        told = f"over{NO_BREAK}99{NO_BREAK}%"
    elif share < HARDLY:
        told = f"under{NO_BREAK}1{NO_BREAK}%"
    else:
        told = f"{100 * share:.0f}{NO_BREAK}%"
    if bare:
        return told
    return f"{'an' if told.startswith(('8', '11', '18', 'over', 'under')) else 'a'} {told} chance"


def amount_words(offer: Offer, value: float) -> str:
    """Write an SD of the analysis scale: in per cent, or in the response's unit."""
    if offer.scale == "ratio":
        return with_unit(plain(100 * value, digits=2), "%")
    return with_unit(plain(value, digits=2), offer.unit)


def margin_words(offer: Offer, margin: tuple[float, float]) -> str:
    """Write what matters: in per cent, or in the response's unit."""
    if offer.scale == "ratio":
        return with_unit(plain(percent_change(margin[1]), digits=3), "%")
    return with_unit(plain(margin[1], digits=3), offer.unit)


def outing_name(offer: Offer, number: int) -> str:
    """Name an outing by its day, or its number."""
    day = offer.outings[number - 1].day
    return f"outing {number}" if day is None else day


def scatter_words(offer: Offer) -> str:
    """Say which scatter is reckoned with, and where it comes from."""
    used = offer.scatter
    source = {
        "stated": "as stated",
        "unknown": "not known, so what is usual",
        "pilot": f"read from {used.file}",
        "rig": f"of launches read from {used.file}, of preparations what is usual",
    }[used.source]
    span = ""
    if used.low is not None and used.high is not None:
        span = f" (may well be {plain(100 * used.low, digits=2)} to {amount_words(offer, used.high)})"
        if offer.scale == "difference":
            span = f" (may well be {plain(used.low, digits=2)} to {amount_words(offer, used.high)})"
    told = (
        f"{source}: {amount_words(offer, used.preparations)}{span} between preparations, "
        f"{amount_words(offer, used.launches)} between launches."
    )
    if used.below_nought:
        told += " Its preparations scatter less than its launches explain; nought is reckoned with."
    if used.source == "unknown":
        told += " A pilot of a few preparations would tell."
    return told[:1].upper() + told[1:]


def measured_words(offer: Offer) -> str:
    """Say which times were measured, and how often; or that none could be."""
    told = [f"{_timed(one)} {_mean(one)} ({count(one.count, *ONE_OF[one.code])})" for one in offer.measured]
    if not told:
        return f"nothing yet in {offer.measured_in}: too few launches, set-ups and preparations were timed."
    return f"in {offer.measured_in}: {'; '.join(told)}."


def _mean(one: MeasuredTime) -> str:
    if one.code == "launch":
        return with_unit(fixed(one.seconds / 60.0, 1), "min")
    return duration(one.seconds)


def _timed(one: MeasuredTime) -> str:
    if one.code == "hands_on":
        return f"preparing {one.whose}"
    return "setting up the rig" if one.code == "rig_set_up" else f"a launch on {one.whose}"


def assumed_words(offer: Offer) -> str:
    """Say what was filled in, as the study does not say it."""
    told = [_assumed(one) for one in offer.assumed]
    alike: dict[str, list[str]] = {}
    for what, value in told:
        alike.setdefault(value, []).append(what)
    pieces = [f"{listed(names)} {value}" for value, names in alike.items()]
    return f"{'; '.join(pieces)} (common practice, no source). Say it in study.toml if you know better."


def _assumed(one: Assumed) -> tuple[str, str]:
    if one.code in {"voids", "reserve"}:
        what = "launches set aside" if one.code == "voids" else "time of an outing kept free"
        return what, with_unit(plain(100 * one.value), "%")
    if one.code == "hands_on":
        return f"preparing {one.whose}", duration(one.value)
    if one.code == "rig_set_up":
        return "setting up the rig", duration(one.value)
    if one.code == "outings":
        return "an outing", duration(60.0 * one.value)
    return f"a launch on {one.whose}", duration(60.0 * one.value)


def wish_words(offer: Offer, *, most: int) -> str:
    """Say what would bring an 80 % chance, what helps most first."""
    enough = [_wish(offer, one) for one in offer.wishes if one.reaches]
    if enough:
        return f"{'; or '.join(enough[:most])}."
    gain = sorted(offer.wishes, key=lambda one: -one.chance)
    helps = [one for one in gain if one.chance >= offer.recommended.chance + LEAST_GAIN]
    if not helps:
        return "nothing here brings it: the question is too fine for this gear. Ask for a wider difference."
    best = helps[0]
    return f"no single change is enough; {_wish(offer, best)} gives {chance_words(best.chance)}."


def _wish(offer: Offer, wish: Wish) -> str:
    if wish.kind == "rounds":
        rounds = count(int(wish.amount or 0), "round") if wish.amount else "200 rounds"
        like = "outing like these" if offer.outings[0].day else "such outing"
        outings = "" if wish.outings is None else f" on {count(wish.outings, like, _plural(like))}"
        time = "" if wish.minutes is None else f", {hours(wish.minutes)} outside"
        return f"{rounds}{outings}{time}"
    if wish.kind == "margin":
        return f"a difference that matters of {_margin(offer, wish)}"
    if wish.kind == "main":
        return f"{wish.name} as the main surface (the question changes)"
    if wish.kind == "fewer surfaces":
        return f"without {wish.name} (the question changes)"
    if wish.kind == "steadier preparations":
        if wish.amount is None:
            return "preparations that do not scatter"
        return f"preparations that scatter {amount_words(offer, wish.amount)} only"
    return "a pilot that confirms the scatter"


def _plural(words: str) -> str:
    return words.replace("outing", "outings")


def _margin(offer: Offer, wish: Wish) -> str:
    """Margin that would do, rounded up to what a person would say."""
    if wish.amount is None:
        return "more than six times as much"
    if offer.scale == "ratio":
        return with_unit(_rounded_up(percent_change(wish.amount)), "%")
    return with_unit(_rounded_up(wish.amount), offer.unit)


def _rounded_up(value: float) -> str:
    step = 10.0 ** (math.floor(math.log10(value)) - 1)
    return plain(math.ceil(value / step - 1e-9) * step, digits=3)


def dropped_words(offer: Offer) -> str:
    """Say what each single spoilt outing leaves."""
    rule = "Short of time: fewer launches of both alike, then the last surface; never half a pair."
    return f"{' '.join(_dropped(offer))} {rule}"


def _dropped(offer: Offer) -> Iterator[str]:
    alike: dict[tuple[int, int, tuple[str, ...]], list[str]] = {}
    for one in offer.dropped:
        key = (one.rounds, round(100 * one.chance), one.surfaces_lost)
        alike.setdefault(key, []).append(outing_name(offer, one.outing))
    for (rounds, percent, lost), names in alike.items():
        every = len(names) == len(offer.dropped) > 1
        which = f"any one of the {spelled(len(names))}" if every else listed(names, last="or")
        left = f"Without {which}, {count(rounds, 'round')} and {chance_words(percent / 100)} are left"
        if lost:
            left += f", and nothing on {listed(lost)}"
        yield f"{left}."
