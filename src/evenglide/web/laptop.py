"""The laptop's pages: only the laptop itself sees them."""

from __future__ import annotations

import asyncio
from collections.abc import AsyncIterator, Mapping
from importlib.resources import files
from typing import Annotated, Any

from fastapi import APIRouter, Depends, Form, Header, HTTPException, Query, Request
from markupsafe import Markup
from pydantic import BaseModel, Field
from starlette.concurrency import run_in_threadpool
from starlette.responses import HTMLResponse, RedirectResponse, Response, StreamingResponse

from evenglide.errors import EvenglideError
from evenglide.report.phone_page import tokens_and_type
from evenglide.steps import laptop as steps
from evenglide.steps.photos import read_photo
from evenglide.steps.serve import STOPPING, for_this_laptop_only
from evenglide.web.drawing import drawn
from evenglide.web.field import desk_of

PAGES = (
    ("/", "Home"),
    ("/day", "The day so far"),
    ("/conditions", "Conditions"),
    ("/events", "Every record"),
    ("/keying", "From paper"),
    ("/clip", "From a clip"),
    ("/phones", "Phones"),
    ("/answer", "Answer"),
)
HERE = frozenset({"127.0.0.1", "::1"})
"""Addresses of the laptop itself."""
ONLY_HERE = (
    "These pages are for the laptop itself, which opens them under 127.0.0.1. A phone opens the address in "
    "its own code."
)
SCRIPTS = frozenset({"live.js", "keying.js", "clip.js", "scale.js"})
USUAL_RATE = "30"
"""Frames of most phones' films in a second."""
MOST_FIELDS = 50_000
"""Of a list that is typed in: six for each launch."""
PULSE_S = 1.0
"""How often the log is looked at for records that another program wrote."""
AGAIN_MS = 2000
"""How soon a page asks again after a break. [ms]"""
BREATH_S = 0.2
"""How often an open stream looks whether the server is to stop."""


def is_here(request: Request) -> bool:
    """Whether the laptop itself asks."""
    return request.client is not None and request.client.host in HERE


def only_here(request: Request) -> None:
    """Let nobody but the laptop itself in."""
    if not is_here(request):
        raise HTTPException(403, ONLY_HERE)


router = APIRouter(dependencies=[Depends(only_here)], include_in_schema=False)


def shown(request: Request, name: str, **values: Any) -> HTMLResponse:
    """Draw one page."""
    study = desk_of(request).plan["title"]
    return drawn(name, study=study, pages=PAGES, here=request.url.path, **values)


@router.get("/laptop.css")
def style() -> Response:
    """Hand out the style sheet with its type."""
    text = files("evenglide.web").joinpath("static", "laptop.css").read_text(encoding="utf-8")
    return Response(tokens_and_type() + text, media_type="text/css")


@router.get("/static/{name}")
def script(name: str) -> Response:
    """Hand out one module."""
    if name not in SCRIPTS:
        raise HTTPException(404, "There is no such page.")
    text = files("evenglide.web").joinpath("static", name).read_text(encoding="utf-8")
    return Response(text, media_type="text/javascript")


@router.get("/")
async def home(request: Request) -> HTMLResponse:
    """Show where the study stands, and the ways outside."""
    return shown(request, "home", **steps.home(desk_of(request)))


@router.get("/day")
async def day(request: Request) -> HTMLResponse:
    """Show the day so far."""
    return shown(request, "day", **steps.day_so_far(desk_of(request)))


@router.get("/events")
async def events(
    request: Request, before: Annotated[int | None, Query(ge=1, lt=2**53)] = None
) -> HTMLResponse:
    """Show records with their corrections, the latest or those before one of them."""
    desk = desk_of(request)
    return shown(request, "events", total=desk.catch_up(), events=desk.told(before=before), before=before)


@router.get("/stream")
async def stream(
    request: Request,
    since: Annotated[str, Query(max_length=15)] = "",
    last_event_id: Annotated[str, Header(max_length=15)] = "",
) -> StreamingResponse:
    """Say when something new came, from where the page that asks had heard."""
    desk = desk_of(request)
    heard = next((int(one) for one in (last_event_id, since) if one.isascii() and one.isdigit()), None)

    async def changes() -> AsyncIterator[str]:
        met = desk.catch_up() if heard is None else heard
        yield f"retry: {AGAIN_MS}\nid: {met}\n\n"
        while not (STOPPING.is_set() or await request.is_disconnected()):
            now = desk.catch_up()
            if now != met:
                met = now
                yield f"event: changed\nid: {now}\ndata: {now}\n\n"
            for _ in range(round(PULSE_S / BREATH_S)):
                if not STOPPING.is_set():
                    await asyncio.sleep(BREATH_S)

    return StreamingResponse(changes(), media_type="text/event-stream")


@router.get("/media/{name}")
async def photo(request: Request, name: str) -> Response:
    """Show a photo that a record names."""
    content = read_photo(desk_of(request).folder, name)
    if content is None:
        raise HTTPException(404, "There is no such photo.")
    return Response(content, media_type="image/jpeg")


@router.get("/conditions")
async def conditions(request: Request) -> HTMLResponse:
    """Show what was written down of the place."""
    return shown(request, "conditions", conditions=steps.conditions(desk_of(request)), problem="")


@router.post("/conditions")
async def add_condition(
    request: Request,
    *,
    name: Annotated[str, Form(max_length=80)],
    value: Annotated[str, Form(max_length=20)] = "",
    unit: Annotated[str, Form(max_length=20)] = "",
    words: Annotated[str, Form(max_length=300)] = "",
) -> Response:
    """Write a condition down; what is no number is kept as words."""
    steps.add_condition(desk_of(request), name=name, value=value, unit=unit, words=words)
    return RedirectResponse("/conditions", status_code=303)


@router.get("/phones")
async def phones(request: Request) -> HTMLResponse:
    """Show which phones may write."""
    return _phones(request, paired=None)


@router.post("/phones")
async def pair(request: Request, name: Annotated[str, Form(min_length=1, max_length=60)]) -> HTMLResponse:
    """Pair a phone and show its code, once."""
    if not name.strip():
        raise HTTPException(422, "A phone needs a name, so that it can be told from others.")
    desk = desk_of(request)
    address = steps.pair_phone(desk, name.strip(), address=request.app.state.settings.address)
    return _phones(request, paired={"name": name, "address": address, "code": Markup(steps.code_of(address))})


def _phones(request: Request, *, paired: Mapping[str, object] | None) -> HTMLResponse:
    settings = request.app.state.settings
    trust = {"address": f"{settings.address}/field/certificate", "fingerprint": settings.fingerprint}
    return shown(
        request,
        "phones",
        phones=steps.phones(desk_of(request)),
        paired=paired,
        only_here=for_this_laptop_only(settings.address),
        trust=trust if settings.certificate else None,
    )


@router.post("/phones/revoke")
async def revoke(request: Request, name: Annotated[str, Form(max_length=60)]) -> Response:
    """Let a phone write no longer."""
    desk_of(request).pairings.revoke(name)
    return RedirectResponse("/phones", status_code=303)


@router.get("/keying")
async def keying(request: Request) -> HTMLResponse:
    """Show the list to type in."""
    return _keying(request, typed={}, told="", problems=[])


@router.post("/keying")
async def keyed(request: Request) -> HTMLResponse:
    """Take in what was typed, as the same list on paper would be."""
    form = await request.form(max_fields=MOST_FIELDS)
    desk = desk_of(request)
    typed = {name: value for name, value in form.items() if isinstance(value, str)}
    told, problems = "", []
    try:
        told = steps.take_typed(desk, typed)
        typed = {}
    except EvenglideError as error:
        problems = steps.told_of_typed(error.problems)
    page = _keying(request, typed=typed, told=told, problems=problems)
    page.status_code = 409 if problems else 200
    return page


def _keying(
    request: Request, *, typed: Mapping[str, str], told: str, problems: list[dict[str, Any]]
) -> HTMLResponse:
    prepared = steps.keying(desk_of(request))
    folded = {str(one["number"]) for one in prepared["earlier"]}
    begun = {name.rpartition("-")[2] for name, value in typed.items() if value}
    again = {name.removeprefix("again-"): text for name, text in typed.items() if name.startswith("again-")}
    state = {"typed": typed, "told": told, "problems": problems, "again": again}
    return shown(request, "keying", **prepared, **state, open_earlier=bool(folded & begun))


@router.get("/clip")
async def clip(request: Request) -> HTMLResponse:
    """Show the page that reads a clip."""
    first = {"rate": USUAL_RATE, "near": "", "far": "", "reader": ""}
    return shown(request, "clip", **steps.clip(desk_of(request)), told="", again=first)


class FromClip(BaseModel):
    """A reading from a clip, with camera, pegs and reader, which stay as they are for the next one."""

    launch: int = Field(ge=1, lt=2**53)
    text: str = Field(min_length=1, max_length=20)
    uncertainty: str = Field("", max_length=20)
    clip: str = Field("", max_length=120)
    reader: str = Field("", max_length=60)
    rate: str = Field(USUAL_RATE, max_length=20)
    near: str = Field("", max_length=20)
    far: str = Field("", max_length=20)


@router.post("/clip")
async def read_clip(request: Request, read: Annotated[FromClip, Form()]) -> HTMLResponse:
    """Keep a reading from a clip."""
    desk = desk_of(request)
    kept = read.model_dump(include={"text", "uncertainty", "reader", "clip"})
    told = steps.keep_clip_reading(desk, read.launch, **kept)
    return shown(request, "clip", **steps.clip(desk), told=told, again=read.model_dump())


@router.get("/answer")
async def answer(request: Request) -> HTMLResponse:
    """Show the answer in words; not before its time where treatments are hidden."""
    return shown(request, "answer", **await run_in_threadpool(steps.answer, desk_of(request).folder))


@router.get("/report")
async def report(request: Request) -> Response:
    """Show the whole report; it brings its own policy."""
    page = await run_in_threadpool(steps.report, desk_of(request).folder)
    if page is None:
        return RedirectResponse("/answer", status_code=303)
    return HTMLResponse(page, headers={"Content-Security-Policy": REPORT_POLICY})


REPORT_POLICY = (
    "default-src 'none'; style-src 'unsafe-inline'; img-src data:; font-src data:; base-uri 'none'"
)
