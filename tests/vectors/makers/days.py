"""Write ``days.json``: ``python -m tests.vectors.makers.days``. Whoever changes it changes a format."""

from __future__ import annotations

import json
from pathlib import Path

from tests.fieldlog.elsewhere_days import ELSEWHERE_DAYS, elsewhere_day
from tests.fieldlog.odd_days import ODD_DAYS, odd_day
from tests.fieldlog.random_days import vector

DAYS = 30


def main() -> None:
    """Draw the days and what the laptop makes of them."""
    plans: list[object] = []
    days = []
    drawn_days = [(f"day {seed}", vector(seed)) for seed in range(DAYS)]
    drawn_days += [(name, odd_day(name)) for name in ODD_DAYS]
    drawn_days += [(name, elsewhere_day(name)) for name in ELSEWHERE_DAYS]
    for name, drawn in drawn_days:
        if drawn["plan"] not in plans:
            plans.append(drawn["plan"])
        days.append(
            {
                "name": name,
                "plan": plans.index(drawn["plan"]),
                "drafts": drawn["drafts"],
                "expected": drawn["expected"],
            }
        )
    text = json.dumps({"format": "evenglide.days/1", "plans": plans, "days": days}, ensure_ascii=False)
    Path(__file__).parents[1].joinpath("days.json").write_text(text + "\n", encoding="utf-8")


if __name__ == "__main__":
    main()
