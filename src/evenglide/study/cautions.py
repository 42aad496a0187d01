"""Usual cautions for a day of launching, chosen by launcher, ground and treatments.

They remind, they do not replace: rules of the place and people who know the gear come first.

Sources of the facts on wax: Freberg et al., Annals of Occupational Hygiene 58 (2014) 601 and Environmental
Science & Technology 44 (2010) 7723. All others are common practice, no source.
"""

from __future__ import annotations

import re

from evenglide.show.numbers import listed
from evenglide.study.study import Study

DEFER = (
    "These are the usual cautions, not all there are. The rules of the place, and people "
    "qualified for the place and the gear have the last word."
)
GROUNDS = "{grounds}"
"""Stands for the surfaces of a study that a caution is about."""
_LANE = (
    "Keep the lane and its run-off clear: together at least one and a half times the longest glide, twice "
    'that downhill. A spotter and a "clear" call; stop for bystanders, children and dogs. Pad the nose.'
)
_WEATHER = "Shade, water, breaks and gloves: heat and cold harm people, and cold hands spoil timing."
_STORED = (
    "A cocked launcher holds energy: lock the trigger, arm last, use a long lanyard, keep everybody out of "
    "line with springs and cords, wear eye protection, never lean over it. Unload it before carrying or "
    "adjusting."
)
_BY_RIG = {
    "springs": _STORED + " Inspect hooks and springs before each outing.",
    "bungee": _STORED + " Keep the path of the recoil clear and retire nicked cords.",
    "ramp": "Anchor the ramp and keep hands out from under the gear while it is held at the top.",
    "tow": "Agree on a stop signal with whoever tows, and keep feet and hands clear of the line.",
    "hand": "Lift with the legs and change places: hundreds of pushes by hand tire a back.",
}
_BY_GROUND = (
    (
        re.compile(r"\b(sand|shore|beach|sea|surf|tide)\b", re.IGNORECASE),
        "At the water's edge: no launching in breaking waves or on a rising tide without a way out; watch "
        "the sets, your footing, and cords around ankles.",
    ),
    (
        re.compile(r"\b(water|pool|pond|pan|film)\b", re.IGNORECASE),
        "Where there is water ({grounds}): nobody works alone, nobody dives after gear; electric "
        "supplies stay protected and dry.",
    ),
    (
        re.compile(r"\b(ice|icy|snow|powder|rink|groomed)\b", re.IGNORECASE),
        "On ice and snow: a catch net at the end of the lane; on natural ice, have its thickness checked.",
    ),
)
_COATING = re.compile(r"wax|paraffin|rub|coat|spray|solvent|cleaner|fluor|silicone|polish|oil", re.IGNORECASE)
_COATS = (
    "Waxes and coatings: prefer ones without fluorine; iron below the smoke point, outdoors or well aired, "
    "with a respirator against scraping dust. Waxers in closed cabins breathed several mg of particles per "
    "cubic metre. Read the label of the tin."
)
_SOLVENTS = (
    "Solvents, also for stripping: no flame or hot iron near, gloves, nothing runs off into the ground or "
    "into water."
)


def usual_cautions(study: Study) -> tuple[str, ...]:
    """Choose the cautions that belong to a study, what bears on everything first.

    Parameters
    ----------
    study : Study

    Returns
    -------
    tuple of str
        Sentences; the last one says who has the last word.
    """
    chosen = [_LANE, _BY_RIG[study.rig.kind]]
    for words, caution in _BY_GROUND:
        if grounds := [surface.name for surface in study.surfaces if words.search(surface.name)]:
            chosen.append(caution.replace(GROUNDS, listed(grounds)))
    if any(_COATING.search(f"{treatment.name} {treatment.note}") for treatment in study.treatments):
        chosen.append(_COATS)
    if any(treatment.removable and not treatment.reference for treatment in study.treatments):
        chosen.append(_SOLVENTS)
    return (*chosen, _WEATHER, DEFER)
