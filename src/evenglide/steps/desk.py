"""What a server may do with a sealed study: take records in, say how the day stands, answer.

One desk, one writer. It reads only what came since it was asked last, whoever wrote it.
"""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from evenglide.fieldlog.bodies import Body, Corrected, SetUp
from evenglide.fieldlog.day import Day
from evenglide.fieldlog.events import Draft, Event
from evenglide.fieldlog.oddities import FarReading, far_readings, readings_by_surface
from evenglide.fieldlog.pace import Pace, pace_of
from evenglide.fieldlog.phone_plan import phone_plan
from evenglide.fieldlog.running import RunningDay
from evenglide.fieldlog.state import Fact
from evenglide.fieldlog.telling import in_words, without_treatment
from evenglide.intake.phone_log import draft_of
from evenglide.intake.sheet import Sheet
from evenglide.readings.from_log import readings_from_log
from evenglide.readings.so_far import SurfaceSoFar, so_far
from evenglide.steps.photos import is_photo
from evenglide.steps.sealed_study import SealedStudy, decided, sealed_study
from evenglide.steps.take_in import TakenIn, take_in_sheet
from evenglide.store.log import Log, now
from evenglide.store.pairing import Pairings
from evenglide.store.study_folder import log_path

MOST_RECORDS = 500
"""Records in one request at most; a phone sends 50."""
RECENT = 200
"""Events on one page."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Received:
    """What became of records that were sent.

    Parameters
    ----------
    kept : tuple of str
        Ids that are in the log now, saying the same.
    refused : tuple of (str, str)
        Ids that the phone must keep, and why.
    highest : mapping of str to int
        Highest number met of each device.
    now : str
        What the clock here says.
    """

    kept: tuple[str, ...]
    refused: tuple[tuple[str, str], ...]
    highest: Mapping[str, int]
    now: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Going:
    """How the day goes: how long things take, each surface by its name, and readings to look at once more.

    `read`: values by surface, from the smallest.
    """

    pace: Pace
    surfaces: Mapping[str, SurfaceSoFar]
    far: tuple[FarReading, ...]
    read: Mapping[str, tuple[float, ...]]


class Desk:
    """A sealed study, open for a day.

    Parameters
    ----------
    folder : str

    Raises
    ------
    EvenglideError
        If it is not sealed, or its log cannot be opened.
    """

    def __init__(self, folder: str) -> None:
        self.folder = folder
        self.pairings = Pairings(folder)
        self._log = Log(log_path(folder))
        try:
            arrived = self._log.at_opening()
            # What was decided is all that is wanted here; how the day stands is kept apart, up to date.
            told = decided(event for _, event in arrived)
            self.sealed: SealedStudy = sealed_study(told, where=log_path(folder))
        except BaseException:
            self._log.close()
            raise
        self.plan: dict[str, Any] = phone_plan(
            self.sealed.study, self.sealed.schedule, fingerprint=self.sealed.seal.fingerprint
        )
        self._day = RunningDay(self.plan)
        self._met = 0
        self._highest: dict[str, int] = {}
        self._arrived: dict[str | None, list[tuple[int, str]]] = {None: []}
        self._place: dict[str, int] = {}
        self._going: tuple[int, Going] | None = None
        self.heard: dict[str, str] = {}
        self._hear(arrived)

    def close(self) -> None:
        """Close the log; its journal is written into it."""
        self._log.close()

    def receive(self, study: str, records: Sequence[Any], *, phone: str = "") -> Received:
        """Take in what a phone sends; what cannot be kept is told, one by one."""
        self.heard[phone] = now()[:16].replace("T", " ")
        if study != self.plan["study"]:
            refused = tuple((_id_of(one), "another study") for one in records)
            return Received(kept=(), refused=refused, highest={}, now=now())
        drafts: list[Draft] = []
        unfit: list[tuple[str, str]] = []
        for record in records:
            draft = draft_of(record)
            if draft is None:
                unfit.append((_id_of(record), "no record"))
            else:
                drafts.append(draft)
        added = self._log.append(drafts, study=study)
        conflicts = set(added.conflicts)
        self.catch_up()
        return Received(
            kept=tuple(one.id for one in drafts if one.id not in conflicts),
            refused=(*unfit, *((one, "another record has this id") for one in added.conflicts)),
            highest={one.device: self._highest.get(one.device, 0) for one in drafts},
            now=now(),
        )

    def catch_up(self) -> int:
        """Hear what came since, whoever wrote it; return how many events there are."""
        self._hear(self._log.after(self._met))
        return self._met

    def day(self) -> Day:
        """Say where the day stands."""
        return self._day.day()

    def gaps(self) -> dict[str, int]:
        """Records missing between those that came, for each device."""
        return {device: count for device, count in self._day.gaps().items() if count}

    @property
    def folded(self) -> int:
        """Records folded so far, for whoever asks what a request costs."""
        return self._day.folded

    def _hear(self, arrived: Sequence[tuple[int, Event]]) -> None:
        if not arrived:
            return
        self._day.add([event for _, event in arrived])
        for arrival, event in arrived:
            self._met = max(self._met, arrival)
            self._place[event.id] = arrival
            for kind in (None, event.body.kind):
                self._arrived.setdefault(kind, []).append((arrival, event.id))
            self._highest[event.device] = max(self._highest.get(event.device, 0), event.sequence)

    def record(self, body: Body) -> None:
        """Record something on this machine."""
        self._log.record([(None, body)])
        self.catch_up()

    def take_in_list(self, sheet: Sheet, *, source: str) -> TakenIn:
        """Take in a list that was typed here.

        Raises
        ------
        EvenglideError
            What cannot be understood; nothing was written then.
        """
        taken = take_in_sheet(self._log, sheet, source=source)
        self.catch_up()
        return taken

    def told(
        self, *, newest: int = RECENT, kind: str | None = None, before: int | None = None
    ) -> list[dict[str, Any]]:
        """Tell the latest events, of one kind or before one of them perhaps, with what became of them."""
        arrived = self._arrived.get(kind, [])
        end = len(arrived) if before is None else bisect_left(arrived, (before, ""))
        latest = arrived[max(0, end - newest) : end]
        return [self._told(arrival, self._day.fact(identity)) for arrival, identity in reversed(latest)]

    def _told(self, arrival: int, fact: Fact) -> dict[str, Any]:
        entry, body = fact.entry, fact.body
        return {
            "arrival": arrival,
            "device": entry.device,
            "sequence": entry.sequence,
            "device_time": entry.device_time,
            "words": self._words(entry.body),
            "withdrawn": fact.withdrawn,
            "corrections": fact.corrections,
            "now": self._words(body) if fact.corrections else "",
            "photo": body.photo if isinstance(body, SetUp) and is_photo(body.photo) else "",
        }

    def _words(self, body: Body) -> str:
        """Tell a body; where treatments are hidden, no treatment is named but in somebody's guess."""
        if self.plan["hidden"]:
            body = without_treatment(body)
        if isinstance(body, Corrected) and body.target in self._place:
            body = body.model_copy(update={"target": f"record {self._place[body.target]}"})
        return in_words(body)

    def place_of(self, event: str) -> int:
        """Say as which record an event came that is known."""
        return self._place[event]

    def so_far(self) -> Going:
        """Say how the day goes: pace, scatter on one coat, drift of the rig; nothing of treatments.

        It is reckoned anew when something came; what it costs grows with the plan, not with the log.
        """
        if self._going is None or self._going[0] != self._met:
            self._going = self._met, self._so_far()
        return self._going[1]

    def _so_far(self) -> Going:
        study, schedule, state = self.sealed.study, self.sealed.schedule, self._day.state()
        launches = readings_from_log(study, schedule, state).launches
        found = () if launches is None else so_far(launches, scale=study.scale)
        pace = pace_of(self.plan, self._day.timed())
        by_surface = readings_by_surface(self.plan, state.launches)
        return Going(
            pace=pace,
            surfaces={one.surface: one for one in found},
            far=far_readings(self.plan, state.launches),
            read={name: tuple(sorted(value for *_, value in told)) for name, told in by_surface.items()},
        )


def _id_of(record: Any) -> str:
    """Id of something that was sent, as far as it can be told back."""
    identity = record.get("id") if isinstance(record, dict) else None
    return identity.encode("utf-8", "replace").decode("utf-8") if isinstance(identity, str) else ""
