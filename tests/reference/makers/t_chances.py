"""Make tests/reference/maths/chances.json: chances of t tests by adaptive integration at 25 digits.

Independent of scipy and of any fixed nodes. Run by hand: ``python tests/reference/makers/t_chances.py``.
"""

from __future__ import annotations

import itertools
import json
from pathlib import Path

import mpmath as mp

DIGITS = 17
# Degrees of freedom, true value and margin in standard errors, one-sided level.
CASES = [
    *itertools.product([1.0, 2.0, 10.0, 38.0], [0.0, 3.0], [2.0, 5.0], [0.025]),
    (0.5, 0.7, 2.0, 0.25),
    (1.3, 3.0, 5.0, 0.05 / 12),
    (4.7, 0.7, 40.0, 0.05),
    (5.0, 12.0, 40.0, 0.05 / 12),
    (99.0, 2.9, 3.1, 0.05),
    (101.0, 2.9, 3.1, 0.05),
    (777.7, 0.7, 5.0, 0.05 / 12),
    (19996.0, 3.0, 2.0, 0.05),
    (1e6, 3.0, 5.0, 0.05 / 12),
]


def t_point(tail: mp.mpf, nu: mp.mpf) -> mp.mpf:
    """Point of t with the given upper tail, by bisection."""

    def upper(t: mp.mpf) -> mp.mpf:
        share = t * t / (nu + t * t)
        if share < 0.5:
            return (1 - mp.betainc(0.5, nu / 2, 0, share, regularized=True)) / 2
        return mp.betainc(nu / 2, 0.5, 0, nu / (nu + t * t), regularized=True) / 2

    low, high = mp.mpf(0), mp.mpf(10) ** 6 if nu < 30 else mp.mpf(10)
    for _ in range(110):
        middle = (low + high) / 2
        low, high = (middle, high) if upper(middle) > tail else (low, middle)
    return low


def mean_over_u(bracket: mp.mpf, nu: mp.mpf, *, turns: list[mp.mpf], top: mp.mpf) -> str:
    """Integral of the bracket times the density of u, cut where either turns; in the fourth root of u."""
    constant = mp.log(2) + nu / 2 * mp.log(nu / 2) - mp.loggamma(nu / 2)
    width = 1 / mp.sqrt(2 * nu)

    def integrand(v: mp.mpf) -> mp.mpf:
        u = v**4
        if u == 0:
            return mp.mpf(0)
        return bracket(u) * mp.exp(constant + (nu - 1) * mp.log(u) - nu * u * u / 2) * 4 * v**3

    high = min(top, 1 + 40 * width)
    cuts = [*turns, *(1 + k * width for k in (-12, -6, -3, -1, 0, 1, 3, 6, 12, 18))]
    cuts += [mp.mpf(10) ** -k for k in range(1, 12, 2)]
    inside = sorted({mp.mpf(0), high, *(cut for cut in cuts if 0 < cut < high)})
    return mp.nstr(mp.quad(integrand, [cut ** mp.mpf("0.25") for cut in inside]), DIGITS)


def chances(df: float, effect: float, margin: float, tail: float) -> dict[str, object]:
    """All three chances of one case."""
    nu, d, half = mp.mpf(df), mp.mpf(effect), mp.mpf(margin)
    t = t_point(mp.mpf(tail), nu)
    around = [abs(d + k) / t for k in (-10, -5, -1, 0, 1, 5, 10)]
    edge = [(half - d + k) / t for k in (-9, -3, 0, 3, 9)]
    normal = mp.ncdf
    two = mean_over_u(lambda u: normal(d - t * u) + normal(-d - t * u), nu, turns=around, top=mp.mpf("inf"))
    one = mean_over_u(lambda u: normal(-d - t * u), nu, turns=around, top=mp.mpf("inf"))
    alike = mean_over_u(
        lambda u: normal(half - t * u - d) - normal(-half + t * u - d), nu, turns=edge, top=half / t
    )
    told = {"df": df, "effect": effect, "margin": margin, "tail": tail}
    return {**told, "difference": two, "below": one, "alike": alike}


def main() -> None:
    """Write the table."""
    mp.mp.dps = 25
    table = {
        "source": "mpmath at 25 digits, tests/reference/makers/t_chances.py; lengths in standard errors",
        "columns": "difference: two-sided at 2 tail; below: one-sided, -effect; alike: both at tail",
        "cases": [chances(*case) for case in CASES],
    }
    target = Path(__file__).parents[1] / "maths" / "chances.json"
    target.write_text(json.dumps(table, indent=1) + "\n", encoding="utf-8")


if __name__ == "__main__":
    main()
