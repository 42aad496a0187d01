"""Make tests/reference/maths/tails.json: tails of t and F from the incomplete beta function, 60 digits.

Independent of scipy. Run by hand: ``python tests/reference/makers/t_tails.py``.
"""

from __future__ import annotations

import json
from pathlib import Path

import mpmath as mp

DIGITS = 25
SMALLEST = 1e-30
T_DF = [0.5, 0.7, 1.0, 1.3, 2.0, 2.5, 3.0, 5.0, 7.3, 17.776, 54.2, 333.3, 12345.6, 1e6]
T_TAILS = [1e-12, 1e-9, 1e-6, 1e-4, 0.001, 0.01, 0.025, 0.05, 0.1, 0.25, 0.4, 0.4999, 0.4999999]
F_DF1 = [1.0, 2.0, 5.5, 20.0]
F_DF2 = [0.5, 2.0, 17.7, 1e4, 1e6]
F_VALUES = [1e-6, 0.01, 0.5, 1.0, 1.5, 4.0, 9.25, 20.0, 300.0, 1e8]


def t_tail(t: mp.mpf, df: mp.mpf) -> mp.mpf:
    """Survival of t, always through the incomplete beta of argument below one half."""
    square = t * t
    if square > df:
        return mp.betainc(df / 2, mp.mpf(1) / 2, 0, df / (df + square), regularized=True) / 2
    return (1 - mp.betainc(mp.mpf(1) / 2, df / 2, 0, square / (df + square), regularized=True)) / 2


def t_point(tail: float, df: float) -> str:
    """Point with the given upper tail, by bisection in log t."""
    goal, nu = mp.mpf(tail), mp.mpf(df)
    low, high = mp.log(mp.mpf(10) ** -9), mp.log(mp.mpf(10) ** 30)
    while high - low > mp.mpf(10) ** (-DIGITS - 3):
        middle = (low + high) / 2
        low, high = (middle, high) if t_tail(mp.exp(middle), nu) > goal else (low, middle)
    return mp.nstr(mp.exp(low), DIGITS)


def f_tail(f: float, df1: float, df2: float) -> str:
    """Survival of F, always through the incomplete beta of argument below one half."""
    a, b, z = mp.mpf(df1), mp.mpf(df2), mp.mpf(df1) * mp.mpf(f)
    if z > b:
        return mp.nstr(mp.betainc(b / 2, a / 2, 0, b / (b + z), regularized=True), DIGITS)
    return mp.nstr(1 - mp.betainc(a / 2, b / 2, 0, z / (b + z), regularized=True), DIGITS)


def main() -> None:
    """Write the table."""
    mp.mp.dps = 60
    table = {
        "source": "mpmath at 60 digits, tests/reference/makers/t_tails.py; doubles are taken as exact",
        "digits": DIGITS,
        "t": [{"df": df, "tail": tail, "t": t_point(tail, df)} for df in T_DF for tail in T_TAILS],
        "f": [
            {"f": f, "df1": a, "df2": b, "survival": f_tail(f, a, b)}
            for a in F_DF1
            for b in F_DF2
            for f in F_VALUES
            if mp.mpf(f_tail(f, a, b)) > SMALLEST  # below, 60 digits do not leave 25
        ],
    }
    target = Path(__file__).parents[1] / "maths" / "tails.json"
    target.write_text(json.dumps(table, indent=1) + "\n", encoding="utf-8")


if __name__ == "__main__":
    main()
