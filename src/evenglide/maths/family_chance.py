r"""What a whole plan can find: chances of claims in several comparisons that share an error rate.

The comparisons of one plan are independent of each other, each with a normal estimate and its own chi-square
standard error. For each, `maths.claim_bins` gives the chances of the bins that Holm's method looks at;
`maths.step_down` combines them. Nothing is simulated; the absolute error is below 1e-9.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from evenglide.maths.claim_bins import claim_bins
from evenglide.maths.step_down import SingleKind, TwoKinds, holm_levels, single_kind, two_kinds
from evenglide.typing import Adjust, FloatArray

PLANS_AT_ONCE = 256
"""Tables of so many plans fit into a processor's cache."""


@dataclass(frozen=True, slots=True, kw_only=True)
class FamilyChances:
    """Chances of claims, for many plans at once.

    Parameters
    ----------
    difference, alike, matters : array of float, shape (comparisons, plans)
        Of each claim in each comparison. "Size settled" is alike or matters, which exclude each other. [1]
    conclusive : array of float, shape (comparisons, plans), or None
        Of a difference or alike; None if not asked for. [1]
    all_difference, any_difference, all_alike, any_alike : array of float, shape (plans,)
        In all comparisons of all families, in any. [1]
    all_conclusive, any_conclusive : array of float, shape (plans,), or None
    family_conclusive : mapping of int to array of float, shape (plans,), or None
        In all comparisons of one family.
    """

    difference: FloatArray
    alike: FloatArray
    matters: FloatArray
    conclusive: FloatArray | None
    all_difference: FloatArray
    any_difference: FloatArray
    all_alike: FloatArray
    any_alike: FloatArray
    all_conclusive: FloatArray | None
    any_conclusive: FloatArray | None
    family_conclusive: Mapping[int, FloatArray] | None


def family_chances(
    *,
    df: ArrayLike,
    se: ArrayLike,
    effect: ArrayLike,
    margin: ArrayLike,
    level: float,
    family: Sequence[int] | None = None,
    adjust: Adjust = "holm",
    either: bool = True,
) -> FamilyChances:
    """Chances of the claims of several independent comparisons, for many plans at once.

    Parameters
    ----------
    df, se, effect, margin : array of float, shape (comparisons, plans) or one that broadcasts to it
        Degrees of freedom [1]; true standard error, true effect and largest effect that counts as alike, in
        one unit. A comparison without degrees of freedom is never claimed, but counts in its family.
    level : float
        Error rate for each kind of claim over a family. [1]
    family : sequence of int, or None
        Family of each comparison; one for all if None.
    adjust : {"holm", "both", "none"}
        How a family shares the level: Holm's method, equal shares, not at all.
    either : bool
        Whether "a difference or alike" is worked out; it takes half of the time.

    Returns
    -------
    FamilyChances

    Raises
    ------
    ValueError
        If `level` does not lie between 0 and one half, or a family is too large: beyond 10 comparisons, 6 for
        "a difference or alike".

    Examples
    --------
    One surface, six pairs, and then four such surfaces that share the error rate:

    >>> alone = family_chances(df=[[5]], se=0.03, effect=0.0, margin=0.095, level=0.05)
    >>> shared = family_chances(df=np.full((4, 1), 5.0), se=0.03, effect=0.0, margin=0.095, level=0.05)
    >>> float(alone.alike[0, 0]), float(shared.alike[0, 0])
    (0.717..., 0.412...)
    """
    given = np.broadcast_arrays(
        *(np.atleast_2d(np.asarray(value, dtype=np.float64)) for value in (df, se, effect, margin))
    )
    names = list(family) if family is not None else [0] * len(given[0])
    rows = {name: [at for at, one in enumerate(names) if one == name] for name in dict.fromkeys(names)}
    plans = given[0].shape[1]
    chunks = [
        _chunk([value[:, start : start + PLANS_AT_ONCE] for value in given], rows, (level, adjust, either))
        for start in range(0, plans, PLANS_AT_ONCE)
    ]
    return chunks[0] if len(chunks) == 1 else _joined(chunks)


@dataclass(frozen=True, slots=True, kw_only=True)
class FamilyBins:
    """Bins of the comparisons of one family, cut at the levels that its sharing looks at.

    Parameters
    ----------
    difference, alike, matters : array of float, shape (comparisons, levels, plans)
        Chance of a p value at or below each level. [1]
    joint : array of float, shape (comparisons, levels, levels, plans), or None
        Of a difference and alike together.
    """

    difference: FloatArray
    alike: FloatArray
    matters: FloatArray
    joint: FloatArray | None


def levels_looked_at(level: float, count: int, adjust: Adjust) -> FloatArray:
    """Levels at which bins of a family are cut, rising.

    Parameters
    ----------
    level : float
    count : int
        Size of the family.
    adjust : {"holm", "both", "none"}

    Returns
    -------
    array of float, shape (count,) with Holm's method, else (1,)
    """
    if adjust == "holm":
        return holm_levels(level, count)
    return np.array([level / count if adjust == "both" else level])


def combined(families: Mapping[int, FamilyBins], order: Mapping[int, Sequence[int]]) -> FamilyChances:
    """Combine the bins of families into chances of claims.

    Parameters
    ----------
    families : mapping of int to FamilyBins
    order : mapping of int to sequence of int
        Place of each family's comparisons in the outcome.

    Returns
    -------
    FamilyChances
    """
    single = {
        kind: {name: _single(getattr(bins, kind)) for name, bins in families.items()}
        for kind in ("difference", "alike", "matters")
    }
    either = {name: _either(bins) for name, bins in families.items()}
    known = {name: one for name, one in either.items() if one is not None}
    return FamilyChances(
        **{
            kind: _in_order({name: one.each for name, one in found.items()}, order)
            for kind, found in single.items()
        },
        conclusive=_in_order({name: one.each for name, one in known.items()}, order) if known else None,
        all_difference=_all([one.all for one in single["difference"].values()]),
        any_difference=_any([one.any for one in single["difference"].values()]),
        all_alike=_all([one.all for one in single["alike"].values()]),
        any_alike=_any([one.any for one in single["alike"].values()]),
        all_conclusive=_all([one.all for one in known.values()]) if known else None,
        any_conclusive=_any([one.any for one in known.values()]) if known else None,
        family_conclusive={name: one.all for name, one in known.items()} if known else None,
    )


# ------------------------------------------------------------------------------------- private


def _chunk(
    given: Sequence[FloatArray], rows: Mapping[int, list[int]], rule: tuple[float, Adjust, bool]
) -> FamilyChances:
    level, adjust, either = rule
    families = {}
    for name, mine in rows.items():
        df, se, effect, margin = (value[mine].ravel() for value in given)
        levels = levels_looked_at(level, len(mine), adjust)
        bins = claim_bins(df=df, se=se, effect=effect, margin=margin, levels=levels, joint=either)
        families[name] = FamilyBins(
            difference=_by_comparison(bins.difference, len(mine)),
            alike=_by_comparison(bins.alike, len(mine)),
            matters=_by_comparison(bins.matters, len(mine)),
            joint=None if bins.joint is None else _by_comparison(bins.joint, len(mine)),
        )
    return combined(families, rows)


def _by_comparison(values: FloatArray, count: int) -> FloatArray:
    """Comparisons first, plans last; levels stay between."""
    split = values.reshape(*values.shape[:-1], count, -1)
    return np.ascontiguousarray(np.moveaxis(split, -2, 0))


def _single(below: FloatArray) -> SingleKind:
    if below.shape[1] == len(below) > 1:
        return single_kind(below)
    each = below[:, 0]
    return SingleKind(each=each, all=np.prod(each, axis=0), any=1.0 - np.prod(1.0 - each, axis=0))


def _either(bins: FamilyBins) -> TwoKinds | None:
    if bins.joint is None:
        return None
    if bins.difference.shape[1] == len(bins.difference) > 1:
        return two_kinds(bins.difference, bins.alike, bins.joint)
    each = bins.difference[:, 0] + bins.alike[:, 0] - bins.joint[:, 0, 0]
    return TwoKinds(each=each, all=np.prod(each, axis=0), any=1.0 - np.prod(1.0 - each, axis=0))


def _in_order(found: Mapping[int, FloatArray], order: Mapping[int, Sequence[int]]) -> FloatArray:
    count = sum(len(places) for places in order.values())
    whole = np.empty((count, next(iter(found.values())).shape[-1]))
    for name, values in found.items():
        whole[list(order[name])] = values
    return whole


def _all(chances: Sequence[FloatArray]) -> FloatArray:
    """Families look at different comparisons, so they are independent of each other."""
    return np.asarray(np.prod(chances, axis=0))


def _any(chances: Sequence[FloatArray]) -> FloatArray:
    return np.asarray(1.0 - np.prod(1.0 - np.array(chances), axis=0))


def _joined(chunks: Sequence[FamilyChances]) -> FamilyChances:
    """Put chances of plans end to end."""

    def along(name: str) -> FloatArray:
        return np.concatenate([getattr(one, name) for one in chunks], axis=-1)

    either = chunks[0].conclusive is not None
    families = [one.family_conclusive or {} for one in chunks]
    return FamilyChances(
        difference=along("difference"),
        alike=along("alike"),
        matters=along("matters"),
        conclusive=along("conclusive") if either else None,
        all_difference=along("all_difference"),
        any_difference=along("any_difference"),
        all_alike=along("all_alike"),
        any_alike=along("any_alike"),
        all_conclusive=along("all_conclusive") if either else None,
        any_conclusive=along("any_conclusive") if either else None,
        family_conclusive={name: np.concatenate([one[name] for one in families]) for name in families[0]}
        if either
        else None,
    )
