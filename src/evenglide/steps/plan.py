"""Plan a study: the list of launches, drawn with a seed that is told."""

from __future__ import annotations

import secrets
from dataclasses import asdict, dataclass

from evenglide.errors import Problem, StudyError
from evenglide.plan.limits import Plan, plan_study
from evenglide.plan.table import write_schedule
from evenglide.store.folder_state import check_not_sealed
from evenglide.store.study_folder import has_schedule, read_study_file, write_schedule_file
from evenglide.study.document import read_study
from evenglide.study.study import Study

PLAN_FORMAT = "evenglide.plan/1"
SEEDS = 10**9


@dataclass(frozen=True, slots=True, kw_only=True)
class Planned:
    """A plan, its study, and where its list of launches was written."""

    study: Study
    plan: Plan
    path: str

    def to_dict(self) -> dict[str, object]:
        """Return the plan as the plain ``evenglide.plan/1`` document."""
        schedule = self.plan.schedule
        return {
            "format": PLAN_FORMAT,
            "schedule": self.path,
            "seed": schedule.seed,
            "order_rule": schedule.rule,
            "largest_imbalance": schedule.largest_imbalance,
            "reach": [{**asdict(one), "can_reject": one.can_reject} for one in self.plan.reach],
            "effort": asdict(self.plan.effort),
        }


def plan_folder(
    folder: str,
    *,
    blocks: int,
    launches: int,
    seed: int | None = None,
    outings: int | None = None,
    replace: bool = False,
) -> Planned:
    """Plan the study in a folder and write schedule.csv there; without a seed, one is drawn."""
    study = read_study(read_study_file(folder))
    check_not_sealed(folder)
    if has_schedule(folder) and not replace:
        raise StudyError([_exists(folder)])
    chosen = secrets.randbelow(SEEDS) if seed is None else seed
    plan = plan_study(study, blocks=blocks, launches=launches, seed=chosen, outings=outings)
    return Planned(study=study, plan=plan, path=write_schedule_file(folder, write_schedule(plan.schedule)))


def plan_in_words(planned: Planned) -> str:
    """Tell a plan for a terminal."""
    from evenglide.report.plan_text import plan_text

    return plan_text(planned.study, planned.plan)


def _exists(folder: str) -> Problem:
    return Problem(
        code="schedule-exists",
        where=f"{folder}, schedule.csv",
        found="a list of launches",
        expected="none, as it may hold changes by hand",
        remedy="Say --replace to plan anew.",
    )
