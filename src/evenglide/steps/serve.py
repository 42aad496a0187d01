"""Open a sealed study to phones: names, port, and the code that pairs one."""

from __future__ import annotations

import json
import socket
from dataclasses import dataclass
from urllib.parse import quote

from evenglide.errors import EvenglideError, Problem
from evenglide.steps.sealed_study import sealed_study
from evenglide.store.log import now, read_log
from evenglide.store.pairing import Pairings
from evenglide.store.study_folder import log_path

PORT = 4173
"""Always the same: what a phone keeps belongs to the address, port included."""
SETTINGS = "EVENGLIDE_SERVE"
"""Name of the environment variable by which the command line tells the server what to serve."""
LOOPBACK = "127.0.0.1"
ANY = "0.0.0.0"


@dataclass(frozen=True, slots=True, kw_only=True)
class Opening:
    """How a study is served.

    Parameters
    ----------
    bind : str
        Address to listen at.
    port : int
    hosts : tuple of str
        Names under which the server may be addressed, with port.
    address : str
        What a phone, or this laptop, opens.
    """

    bind: str
    port: int
    hosts: tuple[str, ...]
    address: str


def opening(folder: str, *, port: int = PORT, lan: bool = False, https: bool = False) -> Opening:
    """Check that a study can be served there.

    Raises
    ------
    EvenglideError
        If it is not sealed; ``port-in-use``: another port would be another place to phones.
    """
    sealed_study(read_log(log_path(folder)), where=log_path(folder))
    bind = ANY if lan else LOOPBACK
    _check_port(bind, port)
    names = [LOOPBACK, "localhost"] + (lan_names() if lan else [])
    scheme = "https" if https else "http"
    return Opening(
        bind=bind,
        port=port,
        hosts=tuple(f"{name}:{port}" for name in names),
        address=f"{scheme}://{names[-1] if lan else LOOPBACK}:{port}",
    )


def settings_text(folder: str, place: Opening) -> str:
    """Write what to serve, and under which names, for the environment of the server."""
    return json.dumps({"folder": folder, "hosts": place.hosts, "address": place.address})


def lan_names() -> list[str]:
    """Names and the address of this machine on its network, the address last."""
    names = [socket.gethostname().lower()]
    names.append(names[0] if names[0].endswith(".local") else f"{names[0]}.local")
    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as probe:
        try:
            # Nothing is sent: it only asks which address would be used towards the outside.
            probe.connect(("192.0.2.1", 9))
            names.append(probe.getsockname()[0])
        except OSError:
            pass
    return names


def pair(folder: str, name: str, *, address: str) -> str:
    """Let a phone write to the study in a folder, and return the address that it opens."""
    return pair_address(Pairings(folder), name, address=address)


def pair_address(pairings: Pairings, name: str, *, address: str) -> str:
    """Let a phone write, and return the address that it opens, its token behind the #."""
    return f"{address}/field/#t={quote(pairings.pair(name, since=now()))}"


def _check_port(bind: str, port: int) -> None:
    with socket.socket(socket.AF_INET, socket.SOCK_STREAM) as probe:
        probe.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        try:
            probe.bind((bind, port))
        except OSError as error:
            raise EvenglideError([_in_use(port, error)]) from error


def _in_use(port: int, error: OSError) -> Problem:
    return Problem(
        code="port-in-use",
        where=f"--port {port}",
        found=f"a port that cannot be used ({error.strerror})",
        expected="a free one",
        remedy="Stop what runs there. Another port would be another place to the phones: what waits on them "
        "stays at the old one, and comes home by a file.",
    )
