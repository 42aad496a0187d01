"""From a sealed study to the rule it is judged by."""

from __future__ import annotations

from collections.abc import Mapping

from evenglide.analysis.rule import DrawnOrder, Rule
from evenglide.readings.launches import Launches
from evenglide.study.schedule import Schedule, places_in_rounds
from evenglide.study.study import Study


def rule_of_study(study: Study, schedule: Schedule, launches: Launches, *, order_drawn: bool) -> Rule:
    """Fix the rule as the study states it; surfaces without launches count with p = 1.

    Parameters
    ----------
    study : Study
        As sealed.
    schedule : Schedule
        As sealed.
    launches : Launches
        Their treatments are the study's, the reference first.
    order_drawn : bool
        The seal is older than the first launch, and the order was kept.

    Returns
    -------
    Rule
    """
    met = {name: code for code, name in enumerate(launches.surface.labels)}
    unmet = [surface.name for surface in study.surfaces if surface.name not in met]
    return Rule(
        scale=study.scale,
        margin=study.margin,
        surface_margins={
            met[surface.name]: surface.margin
            for surface in study.surfaces
            if surface.name in met and surface.margin is not None
        },
        level=study.level,
        adjust=study.adjust,
        main=None if study.main is None else met.get(study.main),
        stays=tuple(
            launches.treatment.labels.index(treatment.name)
            for treatment in study.treatments
            if not treatment.removable and treatment.name in launches.treatment.labels
        ),
        order_drawn=order_drawn,
        drawn={
            code: order
            for name, order in drawn_orders(study, schedule).items()
            if (code := met.get(name, -1)) >= 0
        },
        unmet=sum(name != study.main for name in unmet) * (len(study.treatments) - 1),
        after_s={
            met[surface.name]: surface.after_s
            for surface in study.surfaces
            if surface.name in met and surface.after_s is not None
        },
        better=study.better,
    )


def drawn_orders(study: Study, schedule: Schedule) -> Mapping[str, DrawnOrder]:
    """Restrictions under which the order was drawn, surface by surface; none where it was free.

    Parameters
    ----------
    study : Study
        Two treatments, where the order was restricted.
    schedule : Schedule
        As sealed.

    Returns
    -------
    mapping of str to DrawnOrder
        By name of the surface.
    """
    if schedule.largest_imbalance is None:
        return {}
    shared = study.design.preparations == "shared over surfaces"
    treated = {one.preparation for one in schedule.launches if one.treatment != study.reference.name}
    found = {}
    for surface in study.surfaces:
        places = places_in_rounds(schedule, surface=None if shared else surface.name)
        found[surface.name] = DrawnOrder(
            largest=schedule.largest_imbalance, places=places, treated=frozenset(treated & places.keys())
        )
    return found
