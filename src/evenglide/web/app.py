"""The server: one study, its phones, its laptop."""

from __future__ import annotations

import json
import os
from collections.abc import AsyncIterator, Sequence
from contextlib import asynccontextmanager

from fastapi import FastAPI, Request
from starlette.responses import JSONResponse

from evenglide.errors import EvenglideError
from evenglide.steps.desk import Desk
from evenglide.steps.serve import SETTINGS
from evenglide.web.field import router as field_router
from evenglide.web.guard import Guard, TooLargeError
from evenglide.web.laptop import router as laptop_router


def create_app(folder: str | None = None, hosts: Sequence[str] = (), address: str = "") -> FastAPI:
    """Make the server.

    Parameters
    ----------
    folder : str or None
        Folder of the study; None: it stands in the environment, with the names.
    hosts : sequence of str
        Names, with port, under which the server may be addressed.
    address : str
        What phones open.
    """
    if folder is None:
        told = json.loads(os.environ[SETTINGS])
        folder, hosts, address = told["folder"], told["hosts"], told["address"]
    place: str = folder

    @asynccontextmanager
    async def lifespan(app: FastAPI) -> AsyncIterator[None]:
        app.state.desk = Desk(place)
        app.state.address = address
        yield
        app.state.desk.close()

    # Its own pages about the interface load scripts from elsewhere: they are off.
    app = FastAPI(title="evenglide", docs_url=None, redoc_url=None, lifespan=lifespan)
    app.add_middleware(Guard, hosts=hosts)
    app.include_router(field_router)
    app.include_router(laptop_router)
    app.add_exception_handler(EvenglideError, _told)
    app.add_exception_handler(TooLargeError, _too_large)
    return app


async def _told(_: Request, error: Exception) -> JSONResponse:
    assert isinstance(error, EvenglideError)
    return JSONResponse(error.to_dict(), status_code=409)


async def _too_large(_: Request, __: Exception) -> JSONResponse:
    return JSONResponse({"detail": "That is more than this server takes in one request."}, status_code=413)
