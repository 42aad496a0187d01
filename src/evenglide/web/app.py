"""The server: one study, its phones, its laptop."""

from __future__ import annotations

import json
import os
from collections.abc import AsyncIterator
from contextlib import asynccontextmanager
from dataclasses import dataclass

from fastapi import FastAPI, Request
from fastapi.exceptions import RequestValidationError
from starlette.exceptions import HTTPException
from starlette.responses import JSONResponse, Response

from evenglide.errors import EvenglideError
from evenglide.steps.desk import Desk
from evenglide.steps.serve import SETTINGS
from evenglide.web.drawing import drawn
from evenglide.web.field import router as field_router
from evenglide.web.guard import Guard
from evenglide.web.laptop import is_here
from evenglide.web.laptop import router as laptop_router


@dataclass(frozen=True, slots=True, kw_only=True)
class Settings:
    """What is served, and under which names.

    Parameters
    ----------
    folder : str
        Of the study.
    hosts : tuple of str
        Names, with port, under which the server may be addressed.
    address : str
        What phones open.
    certificate, fingerprint : str
        Of the authority that a phone has to install; "" without https.
    """

    folder: str
    hosts: tuple[str, ...]
    address: str
    certificate: str = ""
    fingerprint: str = ""


def create_app(settings: Settings | None = None) -> FastAPI:
    """Make the server; without settings it reads them from the environment."""
    told = settings or Settings(**json.loads(os.environ[SETTINGS]))

    @asynccontextmanager
    async def lifespan(app: FastAPI) -> AsyncIterator[None]:
        app.state.desk = Desk(told.folder)
        app.state.settings = told
        yield
        app.state.desk.close()

    # Its own pages about the interface load scripts from elsewhere: they are off. So is its description:
    # nobody without a token learns anything.
    app = FastAPI(title="evenglide", openapi_url=None, docs_url=None, redoc_url=None, lifespan=lifespan)
    app.add_middleware(Guard, hosts=told.hosts)
    app.include_router(field_router)
    app.include_router(laptop_router)
    app.add_exception_handler(EvenglideError, _told)
    app.add_exception_handler(RequestValidationError, _unfit)
    app.add_exception_handler(HTTPException, _refused)
    return app


async def _told(request: Request, error: Exception) -> Response:
    assert isinstance(error, EvenglideError)
    plain = JSONResponse(error.to_dict(), status_code=409)
    return _for_people(request, plain, [str(one) for one in error.problems])


async def _unfit(request: Request, error: Exception) -> Response:
    """Say what does not fit, without giving back what was sent: it may not even be text."""
    assert isinstance(error, RequestValidationError)
    told = [{"loc": one["loc"], "msg": one["msg"], "type": one["type"]} for one in error.errors()]
    plain = JSONResponse({"detail": told}, status_code=422)
    return _for_people(request, plain, [f"{one['loc'][-1]}: {one['msg']}." for one in told])


async def _refused(request: Request, error: Exception) -> Response:
    assert isinstance(error, HTTPException)
    plain = JSONResponse({"detail": error.detail}, status_code=error.status_code, headers=error.headers)
    return _for_people(request, plain, [str(error.detail)])


def _for_people(request: Request, plain: Response, told: list[str]) -> Response:
    """Answer a browser that opens a page with a page; it names nothing of the study."""
    if "text/html" not in request.headers.get("accept", ""):
        return plain
    page = drawn("problem", told=told, here=is_here(request))
    page.status_code = plain.status_code
    return page
