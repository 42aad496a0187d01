"""The server in this process, asked as by this laptop or as by another machine."""

from __future__ import annotations

import asyncio
import threading
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import httpx
import pytest
from fastapi import FastAPI

from evenglide.steps.desk import Desk
from evenglide.steps.serve import pair
from evenglide.web.app import Settings, create_app
from tests.field.studies import sealed_study

HOST = "127.0.0.1:4173"
ADDRESS = f"http://{HOST}"
HERE, ELSEWHERE = "127.0.0.1", "192.0.2.7"


class Served:
    """A server with a loop of its own in a thread of its own, since the tests' thread drives a browser."""

    def __init__(self, app: FastAPI) -> None:
        self.app = app
        self._loop = asyncio.new_event_loop()
        self._thread = threading.Thread(target=self._loop.run_forever)
        self._life = app.router.lifespan_context(app)

    def __enter__(self) -> Served:
        self._thread.start()
        self._run(self._life.__aenter__())
        return self

    def __exit__(self, *_: object) -> None:
        self._run(self._life.__aexit__(None, None, None))
        self._loop.call_soon_threadsafe(self._loop.stop)
        self._thread.join()
        self._loop.close()

    @property
    def desk(self) -> Desk:
        desk: Desk = self.app.state.desk
        return desk

    def get(self, path: str, **given: Any) -> httpx.Response:
        return self.ask("GET", path, **given)

    def post(self, path: str, **given: Any) -> httpx.Response:
        return self.ask("POST", path, **given)

    def ask(self, method: str, path: str, *, source: str = HERE, **given: Any) -> httpx.Response:
        """Ask as from an address; an error inside the server is an error of the test."""
        return self._run(self._asked(method, path, source=source, **given))

    async def _asked(self, method: str, path: str, *, source: str, **given: Any) -> httpx.Response:
        way = httpx.ASGITransport(self.app, client=(source, 50_000))
        async with httpx.AsyncClient(transport=way, base_url=ADDRESS) as client:
            return await client.request(method, path, **given)

    def _run(self, work: Any) -> Any:
        return asyncio.run_coroutine_threadsafe(work, self._loop).result(timeout=60)

    def token(self, name: str = "Ada's phone") -> str:
        """Pair a phone, and return its token."""
        return pair(self.desk.folder, name, address=ADDRESS).partition("#t=")[2]

    def paired(self, name: str = "Ada's phone") -> dict[str, str]:
        """What a paired phone sends along."""
        return {"Authorization": f"Bearer {self.token(name)}"}


def app_of(folder: Path, *, certificate: str = "") -> FastAPI:
    return create_app(Settings(folder=str(folder), hosts=(HOST,), address=ADDRESS, certificate=certificate))


@pytest.fixture
def served(tmp_path: Path) -> Iterator[Served]:
    """The server of a sealed study."""
    with Served(app_of(sealed_study(tmp_path / "study", blocks=2))) as opened:
        yield opened
