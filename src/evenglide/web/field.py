"""What phones ask for: the page itself, the plan, and to take their records."""

from __future__ import annotations

import hashlib
import json
from dataclasses import asdict
from typing import Annotated, Any

from fastapi import APIRouter, Depends, Header, HTTPException, Request
from pydantic import BaseModel, ConfigDict, Field
from starlette.concurrency import run_in_threadpool
from starlette.responses import HTMLResponse, Response

from evenglide.report.phone_page import asset, asset_names, phone_style, served_index
from evenglide.steps.desk import MOST_RECORDS, Desk
from evenglide.steps.photos import keep_photo
from evenglide.web.drawing import drawn

SHELL_AGE = "max-age=86400"
"""The page may be shown again without asking for a day: a typed address opens it when the laptop sleeps."""

NOT_PAIRED: dict[int | str, dict[str, Any]] = {401: {"description": "Not paired"}}
PHOTO_BODY = {"requestBody": {"required": True, "content": {"image/*": {"schema": {"format": "binary"}}}}}

router = APIRouter(prefix="/field")


class Sent(BaseModel):
    """Records of one phone."""

    model_config = ConfigDict(extra="ignore")

    study: str = Field(max_length=64)
    records: list[Any] = Field(max_length=MOST_RECORDS)


class Kept(BaseModel):
    """What became of them."""

    kept: list[str]
    refused: list[dict[str, str]]
    highest: dict[str, int]
    now: str


class Photo(BaseModel):
    """Under which name a photo is kept."""

    photo: str


def desk_of(request: Request) -> Desk:
    """Return the study that is open."""
    desk: Desk = request.app.state.desk
    return desk


def phone_of(request: Request, authorization: Annotated[str, Header(max_length=200)] = "") -> str:
    """Return the name of the phone that asks; refuse one that is not paired."""
    scheme, _, token = authorization.partition(" ")
    name = desk_of(request).pairings.knows(token) if scheme.lower() == "bearer" and token else None
    if name is None:
        raise HTTPException(401, "This phone is not paired.")
    return name


@router.get("/", include_in_schema=False)
def page() -> Response:
    """Hand out the page; it holds nothing of the study."""
    return Response(served_index(), media_type="text/html", headers={"Cache-Control": SHELL_AGE})


@router.get("/phone.css", include_in_schema=False)
def style() -> Response:
    """Hand out its style sheet, type included."""
    return Response(phone_style(""), media_type="text/css", headers={"Cache-Control": SHELL_AGE})


@router.get("/worker.js", include_in_schema=False)
def worker() -> Response:
    """Hand out what keeps the page for when the laptop sleeps."""
    names = ["./", "phone.css", *sorted(set(asset_names()) - {"worker.js"})]
    mark = hashlib.sha256("".join(asset(name) for name in names[2:]).encode()).hexdigest()[:16]
    text = f"// {mark}\nconst FILES = {json.dumps(names)};\n{asset('worker.js')}"
    return Response(text, media_type="text/javascript")


@router.get("/certificate", include_in_schema=False)
def certificate(request: Request) -> HTMLResponse:
    """Say how a phone comes to trust this laptop; nothing of the study."""
    settings = request.app.state.settings
    if not settings.certificate:
        raise HTTPException(404, "There is no such page.")
    return drawn("certificate", fingerprint=settings.fingerprint)


@router.get("/evenglide.crt", include_in_schema=False)
def certificate_file(request: Request) -> Response:
    """Hand out the certificate that a phone has to install; it is not secret."""
    settings = request.app.state.settings
    if not settings.certificate:
        raise HTTPException(404, "There is no such page.")
    return Response(settings.certificate, media_type="application/x-x509-ca-cert")


@router.get("/{name:path}.js", include_in_schema=False)
def module(name: str) -> Response:
    """Hand out one module of the page."""
    if f"{name}.js" not in set(asset_names()):
        raise HTTPException(404, "There is no such page.")
    return Response(asset(f"{name}.js"), media_type="text/javascript", headers={"Cache-Control": SHELL_AGE})


@router.get("/plan", responses=NOT_PAIRED)
def plan(request: Request, phone: Annotated[str, Depends(phone_of)]) -> dict[str, Any]:
    """Hand out the plan to a phone that is paired."""
    return desk_of(request).plan


@router.post("/records", responses={**NOT_PAIRED, 400: {"description": "No JSON"}})
async def records(request: Request, sent: Sent, phone: Annotated[str, Depends(phone_of)]) -> Kept:
    """Take records in; answered once they are on the disk."""
    received = desk_of(request).receive(sent.study, sent.records, phone=phone)
    told = asdict(received)
    refused = [{"id": identity, "why": why} for identity, why in received.refused]
    return Kept(**{**told, "refused": refused})


@router.post(
    "/photos",
    responses={**NOT_PAIRED, 409: {"description": "No photo, or too large"}},
    openapi_extra=PHOTO_BODY,
)
async def photos(request: Request, phone: Annotated[str, Depends(phone_of)]) -> Photo:
    """Keep a photo, without place and time; what is recorded of it is its name."""
    content = await request.body()
    return Photo(photo=await run_in_threadpool(keep_photo, desk_of(request).folder, content))
