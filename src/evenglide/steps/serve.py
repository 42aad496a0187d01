"""Open a sealed study to phones: names, port, and the code that pairs one."""

from __future__ import annotations

import json
import os
import socket
import threading
from dataclasses import dataclass
from urllib.parse import quote, urlsplit

from evenglide.errors import EvenglideError, Problem
from evenglide.steps.sealed_study import decided, sealed_study
from evenglide.store.authority import authority, server_certificate, vouched
from evenglide.store.log import now, read_log
from evenglide.store.pages import write_page
from evenglide.store.pairing import Pairings
from evenglide.store.study_folder import log_path

PORT = 4173
"""Always the same: what a phone keeps belongs to the address, port included."""
USUAL_PORTS = {"http": 80, "https": 443}
SETTINGS = "EVENGLIDE_SERVE"
"""Name of the environment variable by which the command line tells the server what to serve."""
LOOPBACK = "127.0.0.1"
ANY = "0.0.0.0"
STOPPING = threading.Event()
"""Set when the server is asked to stop: what it keeps open for pages has to end by itself."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Opening:
    """How a study is served.

    Parameters
    ----------
    bind : str
        Address to listen at.
    port : int
    hosts : tuple of str
        Names under which the server may be addressed, with port unless it is the usual one.
    address : str
        What a phone, or this laptop, opens.
    home : str
        What this laptop itself opens.
    other : str
        What a phone opens that does not find the name in `address`; "" without one.
    key, chain : str
        Files of the server's key and certificates; "" without https.
    certificate, fingerprint : str
        Of the authority that a phone has to install; "" without https.
    """

    bind: str
    port: int
    hosts: tuple[str, ...]
    address: str
    home: str
    other: str = ""
    key: str = ""
    chain: str = ""
    certificate: str = ""
    fingerprint: str = ""


def opening(folder: str, *, port: int = PORT, lan: bool = False, https: bool = False) -> Opening:
    """Check that a study can be served there.

    Raises
    ------
    EvenglideError
        If it is not sealed; ``port-in-use``: another port would be another place to phones.
    """
    sealed_study(decided(read_log(log_path(folder))), where=log_path(folder))
    bind = ANY if lan else LOOPBACK
    _check_port(bind, port)
    outside = lan_names() if lan else []
    names = [LOOPBACK, "localhost", *outside]
    scheme = "https" if https else "http"
    shown = [one for one in outside if vouched(one)] if https else outside
    addresses = [f"{scheme}://{_called(one, scheme=scheme, port=port)}" for one in shown]
    home = f"{scheme}://{_called(LOOPBACK, scheme=scheme, port=port)}"
    key, chain = server_certificate(names, port=port) if https else ("", "")
    made = authority() if https else None
    return Opening(
        bind=bind,
        port=port,
        hosts=tuple(_called(name, scheme=scheme, port=port) for name in names),
        address=addresses[0] if addresses else home,
        home=home,
        other=addresses[-1] if len(addresses) > 1 else "",
        key=key,
        chain=chain,
        certificate=made.certificate if made else "",
        fingerprint=made.fingerprint if made else "",
    )


def for_this_laptop_only(address: str) -> bool:
    """Whether an address leads back to whoever opens it: no phone reaches this laptop by it."""
    return urlsplit(address).hostname in (LOOPBACK, "localhost")


def settings_text(folder: str, place: Opening) -> str:
    """Write what to serve, and under which names, for the environment of the server."""
    told = {"hosts": place.hosts, "address": place.address}
    trust = {"certificate": place.certificate, "fingerprint": place.fingerprint}
    return json.dumps({"folder": folder, **told, **trust})


def write_certificate(out: str) -> str:
    """Write the certificate that a phone has to install, and return its fingerprint.

    Raises
    ------
    EvenglideError
        ``no-cryptography``, ``bad-authority``, ``not-written``.
    """
    made = authority()
    write_page(out, made.certificate)
    return made.fingerprint


def lan_names() -> list[str]:
    """Names and the address of this machine on its network: the one that lasts first, the address last."""
    own = socket.gethostname().lower()
    names = [f"{own.partition('.')[0]}.local", own]
    # A name in another script stands in no certificate; the address is left then.
    return [one for one in dict.fromkeys([*names, _outward_address()]) if one and one.isascii()]


def _called(name: str, *, scheme: str, port: int) -> str:
    """Name and port as browsers write them: the usual port of a scheme is left out."""
    return name if port == USUAL_PORTS[scheme] else f"{name}:{port}"


def _outward_address() -> str:
    """Address of this machine on its network; "" without one."""
    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as probe:
        try:
            # Nothing is sent: it only asks which address would be used towards the outside.
            probe.connect(("192.0.2.1", 9))
        except OSError:
            return ""
        return str(probe.getsockname()[0])


def code_for_terminal(address: str) -> str:
    """Draw an address as a code to scan, in characters."""
    import io

    import segno

    drawn = io.StringIO()
    segno.make(address, error="m").terminal(drawn, compact=True)
    return drawn.getvalue()


def pair(folder: str, name: str, *, address: str) -> str:
    """Let a phone write to the study in a folder, and return the address that it opens."""
    return pair_address(Pairings(folder), name, address=address)


def pair_address(pairings: Pairings, name: str, *, address: str) -> str:
    """Let a phone write, and return the address that it opens, its token behind the #."""
    return f"{address}/field/#t={quote(pairings.pair(name, since=now()))}"


def _check_port(bind: str, port: int) -> None:
    with socket.socket(socket.AF_INET, socket.SOCK_STREAM) as probe:
        if os.name != "nt":  # there it would let two programs have one port
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
