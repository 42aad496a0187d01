"""Seal a plan before the first launch, and record where its text was posted."""

from __future__ import annotations

from dataclasses import dataclass

from evenglide.answer.looking import check_looks
from evenglide.constants import VERSION
from evenglide.fieldlog.bodies import Body, Posted, Sealed
from evenglide.fieldlog.sealing import sealed_body
from evenglide.plan.table import read_schedule
from evenglide.store.folder_state import check_not_sealed, read_state
from evenglide.store.log import Log
from evenglide.store.study_folder import log_path, read_schedule_file, read_study_file
from evenglide.study.document import read_study
from evenglide.study.seal import Seal, make_seal, text_to_post

SEAL_FORMAT = "evenglide.sealed/1"


@dataclass(frozen=True, slots=True, kw_only=True)
class SealedPlan:
    """A seal, the text to post, where it was posted so far, and whether it was made just now."""

    seal: Seal
    text: str
    posted: tuple[str, ...]
    new: bool

    def to_dict(self) -> dict[str, object]:
        """Return the seal as the plain ``evenglide.sealed/1`` document."""
        facts = {"fingerprint": self.seal.fingerprint, "seed": self.seal.seed, "version": self.seal.version}
        return {"format": SEAL_FORMAT, **facts, "text": self.text, "posted": self.posted, "new": self.new}


def seal_folder(folder: str, *, posted: str | None = None, when: str = "") -> SealedPlan:
    """Seal the plan in a folder, or record where the seal that it has was posted.

    Sealing again what is sealed already adds nothing; it is refused if the files have changed since.
    """
    state, _ = read_state(folder)
    body = state.seal
    if body is None or not posted:
        files = read_study_file(folder), read_schedule_file(folder)
        if body is not None and files != (body.study_text.encode(), body.schedule_text.encode()):
            check_not_sealed(folder)
        body = body or _new_seal(*files)
    study = read_study(body.study_text)
    schedule = read_schedule(body.schedule_text, study)
    bodies: list[tuple[str | None, Body]] = [] if state.seal else [(None, body)]
    if posted:
        bodies.append((None, Posted(where=posted, when=when)))
    if bodies:
        with Log(log_path(folder), create=True) as log:
            log.record(bodies)
    seal = make_seal(body.study_text, body.schedule_text, schedule=schedule, version=body.software)
    places = tuple(one.said.where for one in state.postings) + ((posted,) if posted else ())
    return SealedPlan(
        seal=seal, text=text_to_post(seal, study, schedule), posted=places, new=state.seal is None
    )


def _new_seal(study: bytes, schedule: bytes) -> Sealed:
    """Seal two files; reading them as bytes tells with its place what is no UTF-8."""
    asked = read_study(study)
    read = read_schedule(schedule, asked)
    check_looks(asked, read)
    return sealed_body(make_seal(study.decode(), schedule.decode(), schedule=read, version=VERSION))
