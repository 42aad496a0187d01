"""All numbers of every contrast, for the referee: on the analysis scale, with its p values.

Rows are the same for every contrast and in the same order, so that pages can be compared; what the
analysis does not give is a dash, and a remark below the table says why.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence

from evenglide.answer.results import Answer, BetweenSurfaces, Contrast, SurfaceAnswer
from evenglide.report.headline import first_upper
from evenglide.report.tables import NOTHING
from evenglide.show.numbers import (
    NO_BREAK,
    decimals_for,
    fixed,
    p_value,
    percent_scatter,
    plain,
    rounded,
    whole,
)
from evenglide.show.table import Align, Table
from evenglide.typing import Interval

Pair = tuple[str, str]


def contrast_table(answer: Answer, surface: SurfaceAnswer) -> Table:
    """Tabulate all numbers of a surface's contrasts, one column for each."""
    columns = [_numbers(answer, contrast) for contrast in surface.contrasts]
    names = dict.fromkeys(name for column in columns for name in column)
    rows = tuple((name, *(column.get(name, NOTHING) for column in columns)) for name in names)
    heads = [f"{contrast.treatment} against {contrast.reference}" for contrast in surface.contrasts]
    right: Align = "right"
    on = f" on {surface.surface}" if surface.surface else ""
    return Table(
        caption=f"All numbers{on}",
        columns=("quantity", *heads),
        rows=(*rows, *_omnibus(surface, len(heads))),
        align=("left", *(right for _ in heads)),
    )


def scale_words(answer: Answer) -> str:
    """Say what the numbers of the referee's tables are."""
    if answer.scale == "ratio":
        return (
            "Estimates, standard errors and intervals are natural logarithms of the ratio to the reference."
        )
    unit = answer.response.unit or f"the units of {answer.response.name}"
    return f"Estimates, standard errors and intervals are differences from the reference, in {unit}."


def _numbers(answer: Answer, contrast: Contrast) -> dict[str, str]:
    return dict(
        (
            ("verdict", contrast.verdict),
            ("size", contrast.size or NOTHING),
            *_estimate(answer, contrast),
            *_claims(answer, contrast),
            *_looks(contrast),
            *_randomisation(answer, contrast),
            *_companions(answer, contrast),
        )
    )


def _estimate(answer: Answer, contrast: Contrast) -> Iterator[Pair]:
    digits = _digits(contrast.se)
    confidence = _percent(1 - answer.level)
    yield "estimate", _number(contrast.estimate, digits)
    yield "standard error", _number(contrast.se, digits)
    yield "degrees of freedom", _df(contrast.df)
    yield f"{confidence} interval", _range(contrast.interval, digits)
    repeated = "" if contrast.looks is None else "repeated "
    yield f"{repeated}interval with the shared error rate", _range(contrast.interval_adjusted, digits)
    alike = f"{_percent(1 - 2 * answer.level)} {repeated}interval, for alike"
    yield alike, _range(contrast.interval_alike, digits)
    if answer.scale == "ratio":
        yield "as a ratio", _number(contrast.ratio, digits)
        yield f"{confidence} interval of the ratio", _range(contrast.ratio_interval, digits)


def _claims(answer: Answer, contrast: Contrast) -> Iterator[Pair]:
    shared = "" if answer.adjust == "none" else ", over the family"
    kind = "p" if contrast.looks is None else "repeated p"
    for claim, own, adjusted in (
        ("difference", contrast.p_difference, contrast.p_difference_adjusted),
        ("alike", contrast.p_alike, contrast.p_alike_adjusted),
        ("matters", contrast.p_matters, contrast.p_matters_adjusted),
    ):
        yield f"{kind}, {claim}", _p(own)
        if shared:
            yield f"{kind}, {claim}{shared}", _p(adjusted)


def _looks(contrast: Contrast) -> Iterator[Pair]:
    """Give what each half-way check had to reach, and what it did."""
    looks = contrast.looks
    if looks is None:
        return
    for number, one in enumerate(looks.at, start=1):
        at = f"half-way check {number}" if number < len(looks.planned) else "the end"
        name = at if one.planned else "all there is, as the end"
        yield f"{name}, preparations", f"{one.preparations} of {looks.preparations}"
        yield f"{name}, estimate", _with_error(one.estimate, one.se)
        yield f"{name}, degrees of freedom", _df(one.df)
        bounds = (one.bound_difference, one.bound_alike, one.bound_matters)
        yield f"{name}, t for difference, alike, matters", _each(bounds, lambda bound: fixed(bound, 2))
        p = (one.p_difference, one.p_alike, one.p_matters)
        yield f"{name}, repeated p of the same", _each(p, p_value)
    if looks.stopped_at is not None:
        yield "settled at look", whole(looks.stopped_at)


def _each(numbers: Sequence[float | None], write: Callable[[float], str]) -> str:
    return ", ".join(NOTHING if number is None else write(number) for number in numbers)


def _randomisation(answer: Answer, contrast: Contrast) -> Iterator[Pair]:
    count = NOTHING if contrast.assignments is None else whole(contrast.assignments)
    if contrast.log10_assignments is not None:
        count = f"10^{fixed(contrast.log10_assignments, 1)}"
    method = f" ({_method(contrast)})" if contrast.randomisation_method else ""
    error = contrast.randomisation_error
    by_chance = "" if error is None else f" (standard error {plain(error, digits=1)})"
    yield "p, randomisation", f"{_p(contrast.p_randomisation)}{by_chance}"
    yield "orders that could have been drawn", f"{count}{method}"
    yield "least p they allow", _p(contrast.smallest_p)
    yield (
        f"{_percent(1 - answer.level)} interval by randomisation",
        _range(contrast.interval_randomisation, _digits(contrast.se)),
    )
    yield "p, randomisation over all surfaces together", _p(contrast.p_randomisation_joint)


def _method(contrast: Contrast) -> str:
    """How the orders were gone through."""
    if contrast.randomisation_draws is None:
        return "exact"
    return f"{whole(contrast.randomisation_draws)} drawn at random"


def _companions(answer: Answer, contrast: Contrast) -> Iterator[Pair]:
    own, naive, mixed = contrast.own_pair, contrast.naive, contrast.reml
    yield "these two alone, estimate", _with_error(own.estimate, own.se) if own else NOTHING
    yield "these two alone, degrees of freedom", _df(own.df) if own else NOTHING
    yield "these two alone, interval", _range(own.interval, _digits(own.se)) if own else NOTHING
    yield "these two alone, p", _p(own.p) if own else NOTHING
    yield "launches as if independent, estimate", _with_error(naive.estimate, naive.se) if naive else NOTHING
    yield (
        "launches as if independent, interval",
        _range(naive.interval, _digits(naive.se)) if naive else NOTHING,
    )
    yield "… which is too narrow by a factor of", _narrow(naive.too_narrow_by) if naive else NOTHING
    yield "mixed model, estimate", _with_error(mixed.estimate, mixed.se) if mixed else NOTHING
    if mixed is None:
        return
    yield "mixed model, degrees of freedom", _df(mixed.df)
    yield "mixed model, SD of preparations", _scatter(answer, mixed.preparation_variance)
    yield "mixed model, SD of launches", _scatter(answer, mixed.launch_variance)
    if mixed.boundary:
        yield "mixed model, boundary", "no scatter between preparations could be seen"


def _omnibus(surface: SurfaceAnswer, columns: int) -> list[tuple[str, ...]]:
    omnibus = surface.omnibus
    if omnibus is None or omnibus.f is None or omnibus.df is None or omnibus.p is None:
        return []
    told = f"{_f_test(omnibus.f, omnibus.df)}, p{NO_BREAK}{_equals(omnibus.p)}"
    return [("all treatments alike", told, *("",) * (columns - 1))]


def between_table(between: BetweenSurfaces, *, level: float) -> Table:
    """Tabulate how much an effect differs between surfaces."""
    rows = []
    for pair in between.pairs:
        digits = _digits(pair.se)
        names = " against ".join(name or "" for name in reversed(pair.surfaces))
        df = NOTHING if pair.df is None else plain(pair.df, digits=4)
        rows.append(
            (names, _with_error(pair.estimate, pair.se), df, _range(pair.interval, digits), _p(pair.p))
        )
    return Table(
        caption=f"How much the effect of {between.treatment} differs from surface to surface",
        columns=(
            "surfaces",
            "difference of effects",
            "degrees of freedom",
            f"{_percent(1 - level)} interval",
            "p",
        ),
        rows=tuple(rows),
        align=("left", "right", "right", "right", "right"),
    )


def between_words(between: BetweenSurfaces) -> str:
    """Tell the test over all surfaces measured alike."""
    names = ", ".join(name or "" for name in between.surfaces)
    if between.f is None or between.df is None or between.p is None:
        return f"{first_upper(between.treatment)} over {names}: no test."
    f = _f_test(between.f, between.df)
    method = between.method.capitalize()
    return f"{first_upper(between.treatment)} over {names}: {method}, {f}, p{NO_BREAK}{_equals(between.p)}."


def _f_test(f: float, df: tuple[float, float]) -> str:
    return f"F({plain(df[0])}, {plain(df[1], digits=4)}) = {plain(f, digits=3)}".replace(" ", NO_BREAK)


def _equals(p: float) -> str:
    written = p_value(p)
    return written if written.startswith("<") else f"={NO_BREAK}{written}"


def _p(p: float | None) -> str:
    return NOTHING if p is None else p_value(p)


def _df(df: float | None) -> str:
    return NOTHING if df is None else plain(df, digits=4)


def _percent(share: float) -> str:
    return f"{plain(100 * share, digits=4)}{NO_BREAK}%"


def _digits(error: float | None) -> int:
    """Decimals for the referee: one more than a value deserves, so that he can reckon on."""
    return decimals_for(error) + 1 if error else 4


def _number(number: float | None, digits: int) -> str:
    return NOTHING if number is None else fixed(number, digits)


def _with_error(estimate: float | None, error: float | None) -> str:
    if estimate is None:
        return NOTHING
    digits = _digits(error)
    return (
        f"{fixed(estimate, digits)} ± {fixed(error, digits)}"
        if error is not None
        else fixed(estimate, digits)
    )


def _range(interval: Interval | None, digits: int) -> str:
    if interval is None:
        return NOTHING
    low, high = ("unbounded" if end is None else fixed(end, digits) for end in interval)
    return f"{low} to {high}"


def _narrow(factor: float | None) -> str:
    if factor is None:
        return NOTHING
    return fixed(factor, 2) if factor >= 1 else f"{fixed(factor, 2)} (not narrower here)"


def _scatter(answer: Answer, variance: float | None) -> str:
    if variance is None:
        return NOTHING
    if answer.scale == "ratio":
        return _two_digits(percent_scatter(variance**0.5), "%")
    return _two_digits(variance**0.5, answer.response.unit)


def _two_digits(length: float, unit: str | None) -> str:
    return rounded(length, length / 10 or None, unit=unit)
