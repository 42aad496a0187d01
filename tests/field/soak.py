"""Four phones that record without a pause while the server is killed again and again.

python -m tests.field.soak --seconds 60
"""

from __future__ import annotations

import argparse
import http.client
import json
import random
import sys
import tempfile
import threading
import time
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from evenglide.fieldlog.bodies import Noted
from evenglide.fieldlog.events import new_id
from evenglide.store.log import now, read_log
from tests.field.server import Server
from tests.field.studies import sealed_study

PHONES, EVENTS_A_SECOND, BATCH = 4, 50, 50
BETWEEN_KILLS_S = (1.5, 4.0)
PATIENCE_S = 8.0


@dataclass(slots=True)
class SoakedPhone:
    """One phone: what it recorded, and what it was told is kept."""

    device: str
    token: str
    recorded: list[dict[str, Any]] = field(default_factory=list)
    kept: set[str] = field(default_factory=set)
    refused: list[dict[str, str]] = field(default_factory=list)
    failures: int = 0

    def record(self) -> None:
        """Record something."""
        number = len(self.recorded) + 1
        body = Noted(words=f"{number} of {self.device}").to_dict()
        told = {"id": new_id(), "device": self.device, "sequence": number, "device_time": now()}
        self.recorded.append({**told, "body": body})

    def send(self, server: Server, study: str) -> None:
        """Send what is not known to be kept, once; a failure is nothing to a phone."""
        waiting = [one for one in self.recorded if one["id"] not in self.kept][:BATCH]
        if not waiting:
            return
        line = http.client.HTTPConnection("127.0.0.1", server.port, timeout=PATIENCE_S)
        try:
            body = json.dumps({"study": study, "records": waiting})
            headers = {"Authorization": f"Bearer {self.token}", "Content-Type": "application/json"}
            line.request("POST", "/field/records", body, {**headers, "Host": server.hosts[0]})
            answer = line.getresponse()
            told = json.loads(answer.read())
            self.kept.update(told["kept"])
            self.refused += told["refused"]
        except (OSError, http.client.HTTPException, ValueError, KeyError):
            self.failures += 1
            time.sleep(0.05)
        finally:
            line.close()


@dataclass(frozen=True, slots=True, kw_only=True)
class Outcome:
    """How a soak ended.

    Parameters
    ----------
    recorded, stored : int
    missing, extra, gaps : int
        Records that did not arrive, that nobody sent, and numbers of a device that are not there once.
    refused, kills, failures : int
    seconds, left_s : float
        How long was recorded, and how long it took after that until everything had arrived.
    """

    recorded: int
    stored: int
    missing: int
    extra: int
    gaps: int
    refused: int
    kills: int
    failures: int
    seconds: float
    left_s: float


def soak(folder: Path, *, seconds: float, seed: int = 5) -> Outcome:
    """Let the phones record for so long; then wait until everything has arrived."""
    chance = random.Random(seed)
    with Server(folder) as server:
        phones = [
            SoakedPhone(f"phone-soak-{place}", server.pair(f"phone {place}").partition("#t=")[2])
            for place in range(PHONES)
        ]
        study = next(event.body.to_dict()["fingerprint"] for event in read_log(folder / "log.sqlite"))
        begun = time.monotonic()
        threads = [
            threading.Thread(target=_use, args=(phone, server, study, begun + seconds)) for phone in phones
        ]
        for thread in threads:
            thread.start()
        kills = 0
        while time.monotonic() < begun + seconds:
            time.sleep(chance.uniform(*BETWEEN_KILLS_S))
            server.kill()
            server.start()
            kills += 1
        ended = time.monotonic()
        for thread in threads:
            thread.join()
        left = time.monotonic() - ended
    return _outcome(folder, phones, kills=kills, seconds=seconds, left_s=left)


def _use(phone: SoakedPhone, server: Server, study: str, until: float) -> None:
    """Record at an even pace, send in between, and go on sending until all is kept."""
    begun = time.monotonic()
    while time.monotonic() < until:
        due = int((time.monotonic() - begun) * EVENTS_A_SECOND)
        while len(phone.recorded) < due:
            phone.record()
        phone.send(server, study)
        time.sleep(0.1)
    patience = time.monotonic() + 60
    while len(phone.kept) < len(phone.recorded) and time.monotonic() < patience:
        phone.send(server, study)


def _outcome(
    folder: Path, phones: list[SoakedPhone], *, kills: int, seconds: float, left_s: float
) -> Outcome:
    """Hold what was recorded against what the log holds; reading it checks its chain."""
    stored = [event for event in read_log(folder / "log.sqlite") if event.device.startswith("phone-soak")]
    sent = {one["id"] for phone in phones for one in phone.recorded}
    there = {event.id for event in stored}
    gaps = 0
    for phone in phones:
        numbers = sorted(event.sequence for event in stored if event.device == phone.device)
        gaps += numbers != list(range(1, len(phone.recorded) + 1))
    return Outcome(
        recorded=len(sent),
        stored=len(stored),
        missing=len(sent - there),
        extra=len(there - sent) + len(stored) - len(there),
        gaps=gaps,
        refused=sum(len(phone.refused) for phone in phones),
        kills=kills,
        failures=sum(phone.failures for phone in phones),
        seconds=seconds,
        left_s=left_s,
    )


def main(arguments: list[str]) -> int:
    """Soak for as long as was asked, say what happened; 1 if anything was lost."""
    parser = argparse.ArgumentParser(prog="python -m tests.field.soak")
    parser.add_argument("--seconds", type=float, default=60.0)
    seconds = parser.parse_args(arguments).seconds
    with tempfile.TemporaryDirectory() as place:
        outcome = soak(sealed_study(Path(place) / "study", blocks=2), seconds=seconds)
    sys.stdout.write(f"{outcome}\n")
    return 1 if outcome.missing or outcome.extra or outcome.gaps or outcome.refused else 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
