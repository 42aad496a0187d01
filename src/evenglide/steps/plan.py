"""Plan a study: what each hour outside buys; or the list of launches, drawn with a seed that is told."""

from __future__ import annotations

import secrets
from collections.abc import Sequence
from dataclasses import asdict, dataclass

from evenglide.errors import OptionError, Problem, StudyError
from evenglide.plan.candidates import spread_of
from evenglide.plan.limits import Plan, plan_study
from evenglide.plan.results import OFFER_FORMAT, Candidate, Offer
from evenglide.plan.table import write_schedule
from evenglide.show.typed import quoted
from evenglide.steps.measured import timed
from evenglide.steps.pilot import pilot_of
from evenglide.store.folder_state import check_not_sealed
from evenglide.store.pages import write_page
from evenglide.store.study_folder import has_schedule, read_study_file, write_schedule_file
from evenglide.study.document import read_study
from evenglide.study.study import Study

PLAN_FORMAT = "evenglide.plan/1"
RECOMMENDED = "recommended"
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


@dataclass(frozen=True, slots=True, kw_only=True)
class Offered:
    """What a study could be planned as."""

    offer: Offer
    folder: str

    def to_dict(self) -> dict[str, object]:
        """Return the offer as the plain ``evenglide.plan-offer/1`` document."""
        return {"format": OFFER_FORMAT, **asdict(self.offer)}


def plan_folder(
    folder: str,
    *,
    blocks: int,
    launches: int,
    seed: int | None = None,
    outings: int | None = None,
    spread: Sequence[int] | None = None,
    replace: bool = False,
) -> Planned:
    """Plan the study in a folder and write schedule.csv there; without a seed, one is drawn."""
    study = timed(folder, read_study(read_study_file(folder))).study
    check_not_sealed(folder)
    if has_schedule(folder) and not replace:
        raise StudyError([_exists(folder)])
    chosen = secrets.randbelow(SEEDS) if seed is None else seed
    plan = plan_study(study, blocks=blocks, launches=launches, seed=chosen, outings=outings, spread=spread)
    return Planned(study=study, plan=plan, path=write_schedule_file(folder, write_schedule(plan.schedule)))


def offer_folder(folder: str) -> Offered:
    """Work out what each hour outside buys for the study in a folder; nothing is written."""
    from evenglide.plan.offer import make_offer

    known = timed(folder, read_study(read_study_file(folder)))
    offer = make_offer(known.study, pilot=pilot_of(folder, known.study), measured=known.measured)
    return Offered(offer=offer, folder=folder)


def choose_layout(folder: str, choice: str, *, seed: int | None = None, replace: bool = False) -> Planned:
    """Write the list of launches of one of the layouts that are offered, by its number."""
    chosen = _chosen(offer_folder(folder).offer, choice)
    return plan_folder(
        folder,
        blocks=chosen.rounds,
        launches=chosen.launches,
        seed=seed,
        spread=spread_of(chosen),
        replace=replace,
    )


def write_offer_page(offered: Offered, out: str) -> None:
    """Write what is offered as one HTML file."""
    from evenglide.report.plan_page import plan_page_html

    write_page(out, plan_page_html(offered.offer))


def plan_in_words(planned: Planned) -> str:
    """Tell a plan for a terminal."""
    from evenglide.report.plan_text import plan_text

    return plan_text(planned.study, planned.plan)


def offer_in_words(offered: Offered) -> str:
    """Tell an offer for a terminal."""
    from evenglide.report.offer_text import offer_text

    return offer_text(offered.offer, folder=offered.folder)


def _chosen(offer: Offer, choice: str) -> Candidate:
    if choice == RECOMMENDED:
        return offer.recommended
    try:
        return offer.candidate(int(choice))
    except (ValueError, KeyError):
        raise OptionError([_no_such_layout(choice, len(offer.candidates))]) from None


def _no_such_layout(choice: str, count: int) -> Problem:
    return Problem(
        code="no-such-layout",
        where="--choose",
        found=quoted(choice),
        expected=f'"{RECOMMENDED}", or the number of a layout, 1 to {count}',
        remedy="Say evenglide plan without numbers to see the layouts.",
    )


def _exists(folder: str) -> Problem:
    return Problem(
        code="schedule-exists",
        where=f"{folder}, schedule.csv",
        found="a list of launches",
        expected="none, as it may hold changes by hand",
        remedy="Say --replace to plan anew.",
    )
