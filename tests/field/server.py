"""A real server process that can be killed as the power kills it."""

from __future__ import annotations

import json
import os
import signal
import socket
import ssl
import subprocess
import sys
import time
import urllib.request
from pathlib import Path

from evenglide.steps.serve import SETTINGS, pair

START_S = 30.0
FINGERPRINT = ":".join(["5A"] * 32)
"""As long as one of SHA-256."""


def free_port() -> int:
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        port: int = probe.getsockname()[1]
        return port


class Server:
    """``evenglide serve`` of one study, on one port for good."""

    def __init__(
        self,
        folder: Path,
        *,
        names: tuple[str, ...] = ("127.0.0.1", "localhost"),
        files: tuple[str, str] | None = None,
        certificate: str = "",
        port: int | None = None,
    ) -> None:
        self.folder = folder
        self.port = port or free_port()
        self.hosts = [f"{name}:{self.port}" for name in names]
        self.scheme = "https" if files else "http"
        self.address = f"{self.scheme}://{names[0]}:{self.port}"
        self.process: subprocess.Popen[bytes] | None = None
        self._files = files
        self._certificate = certificate

    def __enter__(self) -> Server:
        self.start()
        return self

    def __exit__(self, *_: object) -> None:
        self.kill()

    def start(self) -> None:
        """Start it and wait until it answers."""
        told = {"folder": str(self.folder), "hosts": self.hosts, "address": self.address}
        trust = {"certificate": self._certificate, "fingerprint": FINGERPRINT}
        key, chain = self._files or (None, None)
        program = (
            "import uvicorn; uvicorn.run('evenglide.web.app:create_app', factory=True, "
            f"host='127.0.0.1', port={self.port}, log_level='error', proxy_headers=False, "
            f"ssl_keyfile={key!r}, ssl_certfile={chain!r})"
        )
        self.process = subprocess.Popen(
            [sys.executable, "-c", program],
            env={**os.environ, SETTINGS: json.dumps({**told, **trust})},
            stdout=subprocess.DEVNULL,
            stderr=subprocess.DEVNULL,
            start_new_session=True,
        )
        wait_for(self.process, self.port, host=self.hosts[0], scheme=self.scheme)

    def kill(self) -> None:
        """Kill it with no chance to tidy up."""
        if self.process is not None:
            os.killpg(self.process.pid, signal.SIGKILL)
            self.process.wait()
            self.process = None

    def sleep(self) -> None:
        """Stop it as a laptop does whose lid is closed: connections stay, nothing answers."""
        assert self.process is not None
        os.killpg(self.process.pid, signal.SIGSTOP)

    def wake(self) -> None:
        """Let it go on."""
        assert self.process is not None
        os.killpg(self.process.pid, signal.SIGCONT)

    def pair(self, name: str = "a phone") -> str:
        """Address that a phone opens; a running server notices."""
        return pair(str(self.folder), name, address=self.address)


def wait_for(process: subprocess.Popen[bytes], port: int, *, host: str, scheme: str = "http") -> None:
    """Wait until a server answers."""
    # Only whether it answers is asked here; who vouches for it, the tests of https ask.
    anyhow = ssl._create_unverified_context() if scheme == "https" else None
    until = time.monotonic() + START_S
    while time.monotonic() < until:
        try:
            request = urllib.request.Request(f"{scheme}://127.0.0.1:{port}/field/", headers={"Host": host})
            urllib.request.urlopen(request, timeout=1, context=anyhow).close()
        except OSError:
            assert process.poll() is None, "the server ended before it answered"
            time.sleep(0.02)
        else:
            return
    raise AssertionError("the server did not answer")
