"""One sentence for each kind of event, for people who look through a log."""

from __future__ import annotations

from evenglide.fieldlog.bodies import (
    AtLeast,
    Block,
    Body,
    CoatDamaged,
    Condition,
    Conflicting,
    Corrected,
    Elsewhere,
    Guess,
    Incident,
    Landed,
    Launched,
    Look,
    Merged,
    Noted,
    PegLost,
    Posted,
    Prepared,
    Read,
    ReturnToBare,
    Reveal,
    RoundEnded,
    Sealed,
    Session,
    SetAside,
    SetUp,
    Skipped,
    Stopped,
    UnknownBody,
    WearCheck,
)
from evenglide.show.numbers import count, duration, listed

SHORT_HASH = 12
"""Characters of a hash that are shown."""
TELL_TREATMENTS = ("treatment", "grams", "batch", "cure_s", "hands_on_s", "strips", "ticks")
"""What is recorded of a preparation by which somebody sees what went on it: nothing weighs nothing."""
HIDDEN = "(hidden)"


def without_treatment(body: Body) -> Body:
    """Leave out of an event what tells which treatment a preparation got.

    A guess stays, and so do remarks: they are what somebody typed who was not told.

    Examples
    --------
    >>> in_words(without_treatment(Prepared(preparation="p1", item="slider 1", treatment="wax", grams=3.0)))
    'p1: slider 1 with its treatment was made ready.'
    """
    if isinstance(body, Prepared):
        told = body.model_fields_set.difference(TELL_TREATMENTS)
        return Prepared(**{name: getattr(body, name) for name in told})
    if isinstance(body, Corrected):
        changes = {name: HIDDEN if name in TELL_TREATMENTS else new for name, new in body.changes.items()}
        return body.model_copy(update={"changes": changes})
    return body


def in_words(body: Body) -> str:
    """Tell what an event says.

    Parameters
    ----------
    body : Body

    Returns
    -------
    str
        One sentence.

    Examples
    --------
    >>> in_words(Stopped(launch=7))
    'Launch 7 stopped before the time of its mark.'
    """
    for told in (_of_launches, _of_marks, _of_gear, _of_the_plan, _of_the_day, _of_the_log):
        sentence = told(body)
        if sentence is not None:
            return sentence
    kind = body.kind if isinstance(body, UnknownBody) and body.kind else "no kind"
    return f"A record of a kind that this version does not know ({kind}); kept as it came."


def _of_launches(body: Body) -> str | None:
    match body:
        case Launched():
            said = [f"{body.order:g} in the order made"] if body.order is not None else []
            said += [f"peg {body.peg}"] if body.peg else []
            said += [f"beep right to {body.beep_error_s:g} s"] if body.beep_error_s is not None else []
            return f"Launch {body.launch} was made{_brackets(said)}."
        case Read() if body.unread or body.value is None:
            return f"Launch {body.launch}: “{body.text}” was written, which is no number; it does not count."
        case Read():
            unit = f" {body.unit}" if body.unit else ""
            said = [body.reader] if body.reader else []
            said += [body.method] if body.method else []
            said += [f"give or take {body.uncertainty:g}{unit}"] if body.uncertainty is not None else []
            return f"Launch {body.launch} went {body.text}{unit}{_brackets(said)}."
        case AtLeast():
            unit = f" {body.unit}" if body.unit else ""
            bound = "what was read" if body.value is None else f"{body.value:g}{unit}"
            return f"Launch {body.launch} left the lane while gliding: at least {bound}."
        case Stopped():
            return f"Launch {body.launch} stopped before the time of its mark."
        case SetAside():
            known = {True: "; its distance was known", False: "; its distance was not known", None: ""}
            return f"Launch {body.launch} was set aside: {body.cause}{known[body.value_seen]}."
        case PegLost():
            return f"The mark of launch {body.launch} was lost before it was read."
    return None


def _of_marks(body: Body) -> str | None:
    match body:
        case Landed():
            said = [f"peg {body.peg}"] if body.peg else []
            said += [f"clip {body.clip}"] if body.clip else []
            return f"Launch {body.launch} came to its mark{_brackets(said)}."
        case RoundEnded():
            return f"Round {body.block} ended: its coats were taken off{_brackets(body.ticks)}."
        case Skipped():
            which = listed([str(number) for number in body.launches]) or "none"
            return f"Launches that will not be made: {which}{_because(body.why)}."
        case Elsewhere():
            which = listed([str(number) for number in body.launches]) or "none"
            return f"Launches that are recorded elsewhere: {which}{_because(body.how)}."
    return None


def _of_gear(body: Body) -> str | None:
    match body:
        case Prepared():
            said = [f"round {body.block}"] if body.block else []
            said += [f"{body.grams:g} g"] if body.grams is not None else []
            said += [f"batch {body.batch}"] if body.batch else []
            said += [f"cured {duration(body.cure_s)}"] if body.cure_s is not None else []
            said += [f"stripped {body.strips} times"] if body.strips is not None else []
            said += [f"by {body.who}"] if body.who else []
            what = f"{body.item or 'its item'} with {body.treatment or 'its treatment'}"
            return f"{body.preparation}: {what} was made ready{_brackets(said)}."
        case CoatDamaged():
            return (
                f"The coat of {body.preparation} was damaged{_brackets([body.words] if body.words else [])}."
            )
        case Guess():
            who = body.who or "Somebody"
            return f"{who} takes {body.preparation} for {body.treatment}."
        case WearCheck():
            return f"A wear check of {body.preparation}{_launch(body.launch)}."
        case ReturnToBare():
            return f"A launch that shows whether {body.preparation} is off again{_launch(body.launch)}."
        case SetUp():
            said = [f"level {body.level}"] if body.level else []
            said += [f"zero at {body.zero_point_m:g} m"] if body.zero_point_m is not None else []
            said += [f"photo {_short(body.photo)}"] if body.photo else []
            place = f" on {body.surface}" if body.surface else ""
            way = f", {body.direction}" if body.direction else ""
            return f"Rig set-up {body.set_up}{place}{way}{_brackets(said)}."
    return None


def _of_the_plan(body: Body) -> str | None:
    match body:
        case Sealed():
            return f"The plan was sealed: {body.fingerprint[:SHORT_HASH]}..."
        case Posted():
            when = f" on {body.when}" if body.when else ""
            return f"The seal was posted: {body.where}{when}."
        case Look() if body.launches is not None and body.planned is None:
            made = count(body.launches, "launch", "launches")
            return f"The {made} so far were analysed when no check was planned."
        case Look():
            return f"Half-way check {body.planned or body.number}: the launches so far were analysed."
        case Reveal():
            return "Those who did not know were told which treatment was which."
    return None


def _of_the_day(body: Body) -> str | None:
    match body:
        case Session():
            said = [part for part in (body.place, body.weather, listed(body.people)) if part]
            return f"An outing begins{_brackets(said)}."
        case Block():
            return f"Round {body.block} begins."
        case Condition():
            unit = f" {body.unit}" if body.unit else ""
            value = [] if body.value is None else [f"{body.value:g}{unit}"]
            return f"{body.name}: {', '.join([*value, *([body.words] if body.words else [])])}."
        case Noted() if body.launch is not None:
            return f"Launch {body.launch}, remark: {body.words}"
        case Noted():
            return f"Remark: {body.words}"
        case Incident():
            return f"Incident: {body.words}"
    return None


def _of_the_log(body: Body) -> str | None:
    match body:
        case Corrected(withdrawn=True):
            return f"Taken back: {body.target}{_why(body)}."
        case Corrected():
            unit = f" {body.unit}" if body.unit else ""
            said = [] if body.text is None else [f"“{body.text}”{unit}"]
            said += [f"{body.value:g}{unit}"] if body.text is None and body.value is not None else []
            said += [f"{name} {value}" for name, value in body.changes.items()]
            return f"Corrected: {body.target} should say {listed(said) or 'the same'}{_why(body)}."
        case Merged():
            last = f"{body.old_last_hash[:SHORT_HASH]}..."
            return f"Another copy of this log was taken in (up to {body.device}, {last})."
        case Conflicting():
            return f"Something else came under the id {body.event}; it is kept and not applied."
    return None


def _brackets(said: list[str]) -> str:
    return f" ({', '.join(said)})" if said else ""


def _short(name: str) -> str:
    """Shorten the name of a photo that was kept, which is a hash; people's own numbers are short."""
    return name if len(name) <= SHORT_HASH else f"{name[:SHORT_HASH]}..."


def _launch(number: int | None) -> str:
    return "" if number is None else f": launch {number}"


def _why(body: Corrected) -> str:
    return _because(body.why)


def _because(why: str) -> str:
    return f" ({why})" if why else ""
