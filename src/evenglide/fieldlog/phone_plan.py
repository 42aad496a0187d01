"""What a phone takes outside: the sealed plan as plain values, without the names of treatments.

The key (which preparation carries which treatment) stands apart, so that a page can keep it from everybody
but the preparer. It is hidden from eyes, not from somebody who opens the file with an editor.
"""

from __future__ import annotations

from typing import Any

from evenglide.study.cautions import usual_cautions
from evenglide.study.schedule import Schedule, ScheduledLaunch
from evenglide.study.study import Outing, Study, Surface, Treatment

PLAN_FORMAT = "evenglide.phone-plan/1"
WHEN_TIME_IS_SHORT = (
    "Cut launches of each coat first, of both coats alike; then leave out the last surface; never half a "
    "round."
)


def phone_plan(study: Study, schedule: Schedule, *, fingerprint: str) -> dict[str, Any]:
    """Write the plan that a phone needs.

    Parameters
    ----------
    study : Study
    schedule : Schedule
        As sealed.
    fingerprint : str
        Of the seal; records are kept under it.

    Returns
    -------
    dict
        Plain values, ``evenglide.phone-plan/1``.
    """
    return {
        "format": PLAN_FORMAT,
        "study": fingerprint,
        "title": study.title,
        "gear": study.item_word,
        "response": study.response,
        "unit": study.unit,
        "hidden": bool(study.hidden_from),
        "hidden_from": list(study.hidden_from),
        "treatments": [_treatment(one) for one in study.treatments],
        "key": {one.preparation: one.treatment for one in schedule.launches},
        "surfaces": [_surface(one) for one in study.surfaces],
        "rig_set_up_s": study.costs.rig_set_up_s,
        "outings": [_outing(one) for one in study.costs.outings],
        "void_reasons": list(study.void_reasons),
        "cautions": list(usual_cautions(study)),
        "when_time_is_short": WHEN_TIME_IS_SHORT,
        "launches": [_launch(one) for one in schedule.launches],
    }


def _treatment(treatment: Treatment) -> dict[str, Any]:
    return {
        "name": treatment.name,
        "reference": treatment.reference,
        "hands_on_s": treatment.hands_on_s,
        "waiting_s": treatment.waiting_s,
    }


def _surface(surface: Surface) -> dict[str, Any]:
    return {
        "name": surface.name,
        "mark": surface.mark,
        "after_s": surface.after_s,
        "minutes_per_launch": surface.minutes_per_launch,
    }


def _outing(outing: Outing) -> dict[str, Any]:
    return {"day": outing.day, "from": outing.start, "to": outing.end, "surfaces": list(outing.surfaces)}


def _launch(launch: ScheduledLaunch) -> dict[str, Any]:
    return {
        "number": launch.number,
        "kind": launch.kind,
        "outing": launch.outing,
        "block": launch.block,
        "set_up": launch.set_up,
        "surface": launch.surface,
        "direction": launch.direction,
        "preparation": launch.preparation,
        "item": launch.item,
        "tag": launch.tag,
    }
