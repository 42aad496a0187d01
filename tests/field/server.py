"""A real server process that can be killed as the power kills it."""

from __future__ import annotations

import json
import os
import signal
import socket
import subprocess
import sys
import time
import urllib.request
from pathlib import Path

from evenglide.steps.serve import SETTINGS, pair

START_S = 30.0


def free_port() -> int:
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        port: int = probe.getsockname()[1]
        return port


class Server:
    """``evenglide serve`` of one study, on one port for good."""

    def __init__(self, folder: Path, *, names: tuple[str, ...] = ("127.0.0.1", "localhost")) -> None:
        self.folder = folder
        self.port = free_port()
        self.hosts = [f"{name}:{self.port}" for name in names]
        self.address = f"http://{names[0]}:{self.port}"
        self.process: subprocess.Popen[bytes] | None = None

    def __enter__(self) -> Server:
        self.start()
        return self

    def __exit__(self, *_: object) -> None:
        self.kill()

    def start(self) -> None:
        """Start it and wait until it answers."""
        told = json.dumps({"folder": str(self.folder), "hosts": self.hosts, "address": self.address})
        program = (
            "import uvicorn; uvicorn.run('evenglide.web.app:create_app', factory=True, "
            f"host='127.0.0.1', port={self.port}, log_level='error')"
        )
        self.process = subprocess.Popen(
            [sys.executable, "-c", program],
            env={**os.environ, SETTINGS: told},
            stdout=subprocess.DEVNULL,
            stderr=subprocess.DEVNULL,
            start_new_session=True,
        )
        until = time.monotonic() + START_S
        while time.monotonic() < until:
            try:
                request = urllib.request.Request(
                    f"http://127.0.0.1:{self.port}/field/", headers={"Host": self.hosts[0]}
                )
                urllib.request.urlopen(request, timeout=1).close()
            except OSError:
                assert self.process.poll() is None, "the server ended before it answered"
                time.sleep(0.02)
            else:
                return
        raise AssertionError("the server did not answer")

    def kill(self) -> None:
        """Kill it with no chance to tidy up."""
        if self.process is not None:
            os.killpg(self.process.pid, signal.SIGKILL)
            self.process.wait()
            self.process = None

    def pair(self, name: str = "a phone") -> str:
        """Address that a phone opens. The server reads the pairings when it starts."""
        address = pair(str(self.folder), name, address=self.address)
        if self.process is not None:
            self.kill()
            self.start()
        return address
