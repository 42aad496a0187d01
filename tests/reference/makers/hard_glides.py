"""Make tests/reference/glide/hard_glides.json: glides under awkward laws, from closed forms at 60 digits.

Closed forms with complex logarithms (partial fractions of u/a(u) and 1/a(u)), no quadrature: independent of
the library. Run by hand: ``python tests/reference/makers/hard_glides.py``.
"""

from __future__ import annotations

import json
from pathlib import Path

import mpmath as mp

DIGITS = 20
CASES = [
    ("hardly any dry friction, film", "1e-9", "0.4", "0", "3"),
    ("hardly any dry friction, drag", "1e-9", "0", "0.25", "3"),
    ("hardly any film", "0.49", "1e-12", "0", "3"),
    ("hardly any drag", "0.49", "0", "1e-12", "3"),
    ("hardly any of both", "2.9", "1e-9", "1e-10", "3"),
    ("friction falls with speed", "0.6", "-0.12", "0", "3"),
    ("friction falls, then rises", "0.5", "-0.3", "0.08", "3.5"),
    ("almost no friction on the way", "0.2501", "-0.5", "0.25", "2"),
    ("drag falls with speed", "0.5", "0", "-0.05", "3.1"),
    ("equal zeros", "0.25", "0.5", "0.25", "3"),
    ("fast", "0.49", "0", "0.01", "40"),
    ("slow", "4.9", "0.2", "0.4", "0.01"),
]
SHARES_OF_TIME = ("0.1", "0.5", "0.9", "0.999")


def terms(c0: mp.mpf, c1: mp.mpf, c2: mp.mpf, v: mp.mpf) -> tuple[mp.mpf, mp.mpf]:
    """Antiderivatives of 1/a and u/a at v."""
    if c2 == 0 and c1 == 0:
        return v / c0, v**2 / (2 * c0)
    if c2 == 0:
        time = mp.log(c0 + c1 * v) / c1
        return time, v / c1 - c0 / c1 * time
    root = mp.sqrt(mp.mpc(c1**2 - 4 * c0 * c2))
    if root == 0:
        time = -2 / (2 * c2 * v + c1)
    else:
        up, down = (-c1 + root) / (2 * c2), (-c1 - root) / (2 * c2)
        time = mp.re((mp.log(v - up) - mp.log(v - down)) / root)
    distance = mp.log(c0 + c1 * v + c2 * v**2) / (2 * c2) - c1 / (2 * c2) * time
    return mp.mpf(time), distance


def between(law: tuple[mp.mpf, ...], slow: mp.mpf, fast: mp.mpf) -> tuple[mp.mpf, mp.mpf]:
    """Time and distance from `fast` down to `slow`."""
    late, early = terms(*law, slow), terms(*law, fast)
    return early[0] - late[0], early[1] - late[1]


def speed_when(law: tuple[mp.mpf, ...], v0: mp.mpf, time: mp.mpf) -> mp.mpf:
    """Speed at a time, by bisection."""
    low, high = mp.mpf(0), v0
    while high - low > v0 * mp.mpf(10) ** (-DIGITS - 8):
        middle = (low + high) / 2
        low, high = (middle, high) if between(law, middle, v0)[0] > time else (low, middle)
    return (low + high) / 2


def case(name: str, *numbers: str) -> dict[str, object]:
    """One law from one launch speed."""
    *law, v0 = (mp.mpf(float(number)) for number in numbers)
    stop, run_out = between(tuple(law), mp.mpf(0), v0)
    marks = []
    for share in SHARES_OF_TIME:
        time = mp.mpf(float(stop * mp.mpf(share)))
        speed = speed_when(tuple(law), v0, time)
        marks.append(
            {"time": float(time), "speed": text(speed), "distance": text(between(tuple(law), speed, v0)[1])}
        )
    c0, c1, c2, launch = (float(number) for number in numbers)
    return {
        "name": name,
        "c0": c0,
        "c1": c1,
        "c2": c2,
        "launch_speed": launch,
        "stopping_time": text(stop),
        "stopping_distance": text(run_out),
        "marks": marks,
    }


def text(number: mp.mpf) -> str:
    """A number at the digits kept."""
    return str(mp.nstr(number, DIGITS))


def main() -> None:
    """Write the file."""
    mp.mp.dps = 60
    document = {
        "source": "makers/hard_glides.py, closed forms in mpmath at 60 digits",
        "cases": [case(*row) for row in CASES],
    }
    path = Path(__file__).resolve().parents[1] / "glide" / "hard_glides.json"
    path.write_text(json.dumps(document, indent=1) + "\n", encoding="utf-8")


if __name__ == "__main__":
    main()
