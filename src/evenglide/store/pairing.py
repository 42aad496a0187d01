"""Which phones may write to a study: names and hashes of their tokens, beside the log."""

from __future__ import annotations

import hashlib
import hmac
import json
import os
import secrets
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import asdict, dataclass, replace
from pathlib import Path

from evenglide.errors import EvenglideError, Problem
from evenglide.store.pages import write_bytes

FILE = "phones.json"
FORMAT = "evenglide.phones/1"
TOKEN_BYTES = 16
"""128 bits: nobody guesses one."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Pairing:
    """One phone that may write; of its token only the hash is kept."""

    name: str
    token_sha256: str
    since: str
    revoked: bool = False


class Pairings:
    """The phones of a study, in ``phones.json`` of its folder.

    Another program may pair or revoke while a server runs, so the file is looked at whenever it is asked.

    Parameters
    ----------
    folder : str

    Raises
    ------
    EvenglideError
        ``bad-phones`` if the file holds something else.
    """

    def __init__(self, folder: str) -> None:
        self._path = Path(folder) / FILE
        self._mark = self._mark_now()
        self._phones = self._read()

    @property
    def phones(self) -> tuple[Pairing, ...]:
        """The phones as the file has them now, whoever wrote it."""
        mark = self._mark_now()
        if mark != self._mark:
            self._phones, self._mark = self._read(), mark
        return self._phones

    def pair(self, name: str, *, since: str) -> str:
        """Let a phone write, and return its token; it is told once."""
        token = secrets.token_urlsafe(TOKEN_BYTES)
        with self._alone():
            self._write((*self.phones, Pairing(name=name, token_sha256=_hash(token), since=since)))
        return token

    def revoke(self, name: str) -> bool:
        """Let a phone write no longer; return whether there was one of that name."""
        with self._alone():
            phones = self.phones
            self._write(tuple(replace(one, revoked=True) if one.name == name else one for one in phones))
        return any(one.name == name and not one.revoked for one in phones)

    def knows(self, token: str) -> str | None:
        """Return the name of the phone of a token; None if it may not write."""
        given = _hash(token)
        for one in self.phones:
            if hmac.compare_digest(one.token_sha256, given) and not one.revoked:
                return one.name
        return None

    @contextmanager
    def _alone(self) -> Iterator[None]:
        """Let no other program change the file meanwhile: what one takes back the other must not bring again.

        Where folders cannot be locked (Windows) two that change it at the same moment can still do that.
        """
        if sys.platform == "win32":
            yield
            return
        import fcntl

        folder = os.open(self._path.parent, os.O_RDONLY)
        try:
            fcntl.flock(folder, fcntl.LOCK_EX)
            yield
        finally:
            os.close(folder)

    def _read(self) -> tuple[Pairing, ...]:
        if not self._path.exists():
            return ()
        try:
            kept = json.loads(self._path.read_text(encoding="utf-8"))
            return tuple(Pairing(**one) for one in kept["phones"])
        except (OSError, ValueError, KeyError, TypeError) as error:
            raise EvenglideError([_bad(self._path, error)]) from error

    def _write(self, phones: tuple[Pairing, ...]) -> None:
        kept = {"format": FORMAT, "phones": [asdict(one) for one in phones]}
        text = json.dumps(kept, indent=1, ensure_ascii=False) + "\n"
        write_bytes(str(self._path), text.encode("utf-8"), private=True)

    def _mark_now(self) -> tuple[int, int, int] | None:
        """Tell one state of the file from the next; it is replaced whole, never written into."""
        try:
            found = self._path.stat()
        except OSError:
            return None
        return found.st_mtime_ns, found.st_ino, found.st_size


def _hash(token: str) -> str:
    return hashlib.sha256(token.encode("utf-8", errors="replace")).hexdigest()


def _bad(path: Path, error: Exception) -> Problem:
    return Problem(
        code="bad-phones",
        where=str(path),
        found=f"something else than a list of phones ({type(error).__name__})",
        expected=f"a file of {FORMAT}",
        remedy="Move it away and pair the phones anew; the log does not need it.",
    )
