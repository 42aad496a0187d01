"""What strangers may try on the network: each attempt is refused, and nothing is told or written."""

from __future__ import annotations

import json
import socket
from collections.abc import Iterator
from pathlib import Path

import pytest
from fastapi.routing import APIRoute
from playwright.sync_api import Page, expect

from evenglide.fieldlog.bodies import Noted
from evenglide.fieldlog.events import new_id
from evenglide.steps.desk import Desk
from evenglide.store.log import read_log
from evenglide.web.field import router as field_router
from evenglide.web.guard import LARGEST_BODY
from evenglide.web.laptop import router as laptop_router
from tests.field.served import ADDRESS, ELSEWHERE, HERE, HOST, Served, served
from tests.field.server import Server
from tests.field.studies import STUDY, sealed_study

__all__ = ["served"]
OPEN = {
    *("/field/", "/field/phone.css", "/field/worker.js", "/field/{name:path}.js"),
    *("/field/certificate", "/field/evenglide.crt"),
}
"""Handed out to anybody who asks under our name: the page itself, which holds nothing of a study, and the
certificate, which is no secret."""


def routes(router: object) -> list[tuple[str, str]]:
    found = [one for one in router.routes if isinstance(one, APIRoute)]  # type: ignore[attr-defined]
    return sorted((method, one.path) for one in found for method in one.methods)


def filled(path: str) -> str:
    """A path that a route takes."""
    return path.replace("{name:path}", "app").replace("{name}", "live.js")


def record(words: str = "a stranger was here") -> dict:
    return {
        "id": new_id(),
        "device": "stranger",
        "sequence": 1,
        "device_time": "2026-01-17T10:00:00Z",
        "body": Noted(words=words).to_dict(),
    }


def size_of_log(served: Served) -> int:
    return len(read_log(Path(served.desk.folder) / "log.sqlite"))


# ---------------------------------------------------------------------------- without a token, from elsewhere


def test_there_are_routes_to_try() -> None:
    assert len(routes(laptop_router)) > 14 and len(routes(field_router)) == 9


@pytest.mark.parametrize(("method", "path"), routes(laptop_router))
def test_no_page_of_the_laptop_is_for_another_machine(served: Served, method: str, path: str) -> None:
    paired = served.paired()
    before = size_of_log(served)
    for headers in ({}, paired, {"X-Forwarded-For": HERE}, {"X-Real-IP": HERE}, {"Forwarded": f"for={HERE}"}):
        answer = served.ask(method, filled(path), source=ELSEWHERE, headers=headers, data={"name": "x"})
        assert answer.status_code == 403, path
        assert served.desk.plan["title"] not in answer.text
    assert size_of_log(served) == before and len(served.desk.pairings.phones) == 1


@pytest.mark.parametrize(
    ("method", "path"), [one for one in routes(field_router) if one[1] not in OPEN], ids=str
)
@pytest.mark.parametrize("source", [HERE, ELSEWHERE])
@pytest.mark.parametrize("sent", ["", "Bearer ", "Bearer wrong", "Basic {}", "Bearer {}x", "bearer\t{}"])
def test_nothing_of_a_study_without_a_token(
    served: Served, method: str, path: str, source: str, sent: str
) -> None:
    token = served.token()
    headers = {"Authorization": sent.format(token)} if sent else {}
    body = {"study": served.desk.plan["study"], "records": [record()]}
    before = size_of_log(served)
    answer = served.ask(method, path, source=source, headers=headers, json=body if method == "POST" else None)
    assert answer.status_code == 401
    assert answer.json() == {"detail": "This phone is not paired."}
    assert size_of_log(served) == before


def test_what_is_open_tells_nothing_of_the_study(served: Served) -> None:
    secret = [served.desk.plan["title"], served.desk.plan["study"], "paraffin", "slider 1", "melt pan"]
    for path in OPEN:
        text = served.get(filled(path), source=ELSEWHERE).text
        assert [one for one in secret if one in text] == [], path
    for path in ("/openapi.json", "/docs", "/redoc"):
        assert served.get(path, source=ELSEWHERE).status_code == 404


def test_a_phone_that_was_revoked_is_refused_at_once(served: Served) -> None:
    ada, bob = served.paired("Ada"), served.paired("Bob")
    assert served.get("/field/plan", headers=ada).status_code == 200
    assert served.post("/phones/revoke", data={"name": "Ada"}).status_code == 303
    body = {"study": served.desk.plan["study"], "records": [record()]}
    assert served.get("/field/plan", headers=ada).status_code == 401
    assert served.post("/field/records", headers=ada, json=body).status_code == 401
    assert served.post("/field/photos", headers=ada, content=b"x").status_code == 401
    assert served.get("/field/plan", headers=bob).status_code == 200


def test_a_token_is_told_once_and_in_no_other_answer(served: Served) -> None:
    shown = served.post("/phones", data={"name": "Ada"}).text
    token = shown.partition("#t=")[2].partition("<")[0]
    headers = {"Authorization": f"Bearer {token}"}
    assert served.get("/field/plan", headers=headers).status_code == 200
    asked = [served.ask(method, filled(path)) for method, path in routes(laptop_router) if path != "/stream"]
    asked += [served.ask(method, filled(path), headers=headers) for method, path in routes(field_router)]
    assert [str(one.url) for one in asked if token in one.text or token in str(one.headers)] == []


# ------------------------------------------------------------------------------------ names, sites, sizes


@pytest.mark.parametrize(
    "host", ["example.org", "example.org:4173", "127.0.0.1", "127.0.0.1:80", "", f"x{HOST}"]
)
def test_under_another_name_nothing_is_answered(served: Served, host: str) -> None:
    for path in ("/", "/field/", "/field/plan"):
        answer = served.get(path, headers={"Host": host, **served.paired()})
        assert answer.status_code == 421 and "<" not in answer.text


@pytest.mark.parametrize(
    "headers",
    [
        {"Origin": "null"},
        {"Origin": "http://example.org"},
        {"Origin": "http://127.0.0.1:9999"},
        {"Origin": f"http://{HOST}.example.org"},
        {"Origin": f"http://example.org#{HOST}"},
        {"Origin": "file://"},
        {"Origin": ""},
        {"Origin": ADDRESS, "Sec-Fetch-Site": "cross-site"},
        {"Sec-Fetch-Site": "same-site"},
    ],
    ids=str,
)
def test_another_site_writes_nothing(served: Served, headers: dict[str, str]) -> None:
    before = size_of_log(served)
    assert served.post("/conditions", data={"name": "wind"}, headers=headers).status_code == 403
    assert served.post("/phones", data={"name": "x"}, headers=headers).status_code == 403
    assert size_of_log(served) == before and not served.desk.pairings.phones
    assert served.post("/conditions", data={"name": "wind"}, headers={"Origin": ADDRESS}).status_code == 303


def test_another_site_asks_nothing_either_but_may_link_to_the_beginning(served: Served) -> None:
    # Asking for an answer before the end is written down: a picture on another site must not do it.
    embedded = {"Sec-Fetch-Site": "cross-site", "Sec-Fetch-Mode": "no-cors"}
    linked = {"Sec-Fetch-Site": "cross-site", "Sec-Fetch-Mode": "navigate"}
    for path in ("/answer", "/report", "/", "/field/", "/day"):
        assert served.get(path, headers=embedded).status_code == 403
    for path in ("/answer", "/report"):
        assert served.get(path, headers=linked).status_code == 403
    for path in ("/", "/field/"):
        assert served.get(path, headers=linked).status_code == 200
    assert not any(event.body.kind == "look" for event in read_log(Path(served.desk.folder) / "log.sqlite"))


def test_our_own_forms_work_in_a_browser_and_another_sites_do_not(tmp_path: Path, page: Page) -> None:
    with Server(sealed_study(tmp_path / "study", blocks=2)) as server:
        page.goto(f"{server.address}/conditions")
        page.get_by_label("What").fill("wind")
        page.get_by_label("In words").fill("from behind")
        page.get_by_role("button", name="Write it down").click()
        expect(page.get_by_role("listitem").filter(has_text="from behind")).to_be_visible()
        hidden = "<input name=name value=elsewhere><button>Win</button>"
        page.goto(f"data:text/html,<form method=post action={server.address}/conditions>{hidden}</form>")
        page.get_by_role("button").click()
        expect(page.locator("body")).to_have_text("Another site may not write here.")
        told = [event.body.to_dict() for event in read_log(server.folder / "log.sqlite")]
        assert [one["name"] for one in told if one["kind"] == "condition"] == ["wind"]


@pytest.mark.parametrize("path", ["/field/records", "/field/photos", "/conditions", "/keying"])
@pytest.mark.parametrize("announced", [True, False])
def test_a_body_that_is_too_large_is_refused(served: Served, path: str, announced: bool) -> None:
    before = size_of_log(served)
    read: list[int] = []

    async def parts() -> object:
        for _ in range(40):
            read.append(LARGEST_BODY // 8)
            yield b"0" * read[-1]

    content = b"0" * (LARGEST_BODY + 1) if announced else parts()
    kind = "application/x-www-form-urlencoded" if "field" not in path else "application/json"
    answer = served.post(path, content=content, headers={**served.paired(), "Content-Type": kind})
    # The form parser has a limit of its own, which a field of that size meets first.
    assert answer.status_code == (413 if announced or "field" in path else 400)
    assert sum(read) <= 2 * LARGEST_BODY
    assert size_of_log(served) == before


def test_a_long_list_that_is_typed_in_is_no_attack(served: Served) -> None:
    typed = {f"reading-{number}": "" for number in range(2, 3000)} | {"reading-1": "5.2"}
    assert served.post("/keying", data=typed).status_code == 200


def test_a_server_process_stops_reading_what_was_not_announced(tmp_path: Path) -> None:
    with Server(sealed_study(tmp_path / "study", blocks=2)) as server, socket.socket() as line:
        bearer = server.pair().partition("#t=")[2]
        line.settimeout(20)
        line.connect(("127.0.0.1", server.port))
        head = (
            f"POST /field/photos HTTP/1.1\r\nHost: {server.hosts[0]}\r\nAuthorization: Bearer {bearer}\r\n"
            "Transfer-Encoding: chunked\r\n\r\n"
        )
        line.sendall(head.encode())
        part = b"10000\r\n" + b"0" * 0x10000 + b"\r\n"
        sent = 0
        try:
            while sent < 64 * 2**20:
                line.sendall(part)
                sent += 0x10000
        except OSError:
            pass
        assert LARGEST_BODY // 2 < sent < 64 * 2**20


def test_records_that_are_too_many_are_refused(served: Served) -> None:
    body = {"study": served.desk.plan["study"], "records": [record() for _ in range(501)]}
    assert served.post("/field/records", json=body, headers=served.paired()).status_code == 422


# ------------------------------------------------------------------------------------------ paths and markup

UPWARDS = [
    "../desk.py",
    "..%2f..%2fsteps%2fdesk.py",
    "%2e%2e/%2e%2e/steps/desk",
    "..%5c..%5cdesk",
    "%2fetc%2fpasswd",
    "....//....//phones",
    "live.js%00",
    "screens/../../phone_page",
    "~root",
]


@pytest.mark.parametrize("upwards", UPWARDS)
@pytest.mark.parametrize("place", ["/static/", "/media/", "/field/", "/field/screens/"])
def test_no_path_leads_out_of_its_folder(served: Served, place: str, upwards: str) -> None:
    for ending in ("", ".js", ".jpg"):
        answer = served.get(f"{place}{upwards}{ending}")
        assert answer.status_code in (404, 405)
        assert "import" not in answer.text and "root:" not in answer.text


def test_a_photo_is_asked_for_by_its_hash_alone(served: Served) -> None:
    media = Path(served.desk.folder) / "media"
    media.mkdir()
    (media / "private.jpg").write_bytes(b"x")
    (media.parent / f"{'a' * 64}.jpg").write_bytes(b"x")
    assert served.get("/media/private.jpg").status_code == 404
    assert served.get(f"/media/{'a' * 64}.jpg").status_code == 404
    assert served.get("/media/..%2fphones.json").status_code == 404


MARKUP = "<img src=x onerror='window.pwned=1'>"


def marked() -> str:
    """The study, with markup in every name that somebody types."""
    text = STUDY
    for name in ("paraffin rub", "slider 1", "slider 2", "cold powder", "melt pan", "nose under the snow"):
        text = text.replace(name, f"{name} {MARKUP}")
    return text.replace("Does a", f"{MARKUP} Does a").replace('gear = "slider"', f'gear = "{MARKUP}"')


@pytest.fixture
def marked_server(tmp_path: Path) -> Iterator[Server]:
    with Server(sealed_study(tmp_path / "study", text=marked(), blocks=2)) as running:
        yield running


def test_markup_in_names_stays_text_everywhere(marked_server: Server, page: Page) -> None:
    server = marked_server
    page.goto(server.pair(f"phone {MARKUP}"))
    expect(page.locator("#screen")).to_be_visible()
    bodies = [
        {"kind": "noted", "words": MARKUP},
        {"kind": "condition", "name": MARKUP, "words": MARKUP, "unit": MARKUP},
        {"kind": "read", "launch": 1, "text": MARKUP, "unread": True, "reader": MARKUP, "method": MARKUP},
        {"kind": "prepared", "preparation": MARKUP, "item": MARKUP, "who": MARKUP},
        {"kind": "set_up", "set_up": 1, "photo": "' onerror='window.pwned=1", "level": MARKUP},
        {"kind": MARKUP, "launch": 2},
    ]
    for body in bodies:
        page.evaluate("body => window.evenglide.record(body)", body)
        assert page.locator("img").count() == 0
    for asked in ("away", "wrong", "short", "stop", "read"):
        page.evaluate("asked => window.evenglide.ask(asked)", asked)
        assert page.locator("img").count() == 0
    expect(page.locator(".saved")).to_have_text(f"here {len(bodies)} · laptop {len(bodies)}", timeout=20_000)
    seen = 0
    for path in ("", "day", "conditions", "events", "keying", "clip", "phones", "answer"):
        page.goto(f"{server.address}/{path}")
        assert page.locator("img").count() == 0, path
        seen += (page.locator("body").text_content() or "").count(MARKUP)
        assert page.evaluate("() => window.pwned === undefined")
    assert seen > 20


def test_a_device_that_names_itself_in_markup_is_told_as_text(served: Served) -> None:
    body = {"study": served.desk.plan["study"], "records": [{**record(), "device": MARKUP}]}
    assert served.post("/field/records", json=body, headers=served.paired(MARKUP)).status_code == 200
    gap = {**record(), "device": MARKUP, "sequence": 9}
    served.post("/field/records", json={**body, "records": [gap]}, headers=served.paired(MARKUP))
    for path in ("/events", "/day", "/phones"):
        text = served.get(path).text
        assert "<img" not in text and "&lt;img" in text


def test_no_record_makes_the_server_stumble(served: Served) -> None:
    headers = served.paired()
    deep: object = "x"
    for _ in range(200):
        deep = [deep]
    odd = [
        *(None, 1, "x", [], {}, {"id": 1}, {**record(), "sequence": True}, {**record(), "sequence": 2**60}),
        {**record(), "body": {"kind": ["x"]}},
        {**record(), "body": {"kind": "read", "launch": -1, "text": 5}},
        {**record(), "body": {"kind": "x", "deep": deep}},
        {**record(), "body": {"kind": "noted", "words": "\ud800"}},
        {**record(), "id": "\ud800"},
        {
            **record(),
            "body": {
                "kind": "sealed",
                "version": 1,
                "study_text": "",
                "schedule_text": "",
                "fingerprint": "",
            },
        },
    ]
    content = json.dumps({"study": served.desk.plan["study"], "records": odd})
    answer = served.post(
        "/field/records", content=content, headers={**headers, "Content-Type": "application/json"}
    )
    assert answer.status_code == 200
    assert len(answer.json()["kept"]) + len(answer.json()["refused"]) == len(odd)
    for path in ("/", "/day", "/events"):
        assert served.get(path).status_code == 200


@pytest.mark.parametrize("odd", ["\ud800", {"\ud800": 1}, [["\ud800"]], "0" * 10_000])
def test_what_does_not_fit_is_told_without_giving_it_back(served: Served, odd: object) -> None:
    headers = {**served.paired(), "Content-Type": "application/json"}
    content = json.dumps({"study": odd, "records": odd})
    answer = served.post("/field/records", content=content, headers=headers)
    assert answer.status_code == 422 and len(answer.content) < 1000


def test_a_phone_cannot_seal_another_study(served: Served) -> None:
    folder = served.desk.folder
    ours = next(one.body for one in read_log(Path(folder) / "log.sqlite") if one.body.kind == "sealed")
    theirs = {**ours.to_dict(), "fingerprint": "0" * 64}
    body = {"study": served.desk.plan["study"], "records": [{**record(), "device": "", "body": theirs}]}
    for device in ("0", "stranger"):  # the first would come before ours in the order of replay
        body["records"][0]["device"] = device
        answer = served.post("/field/records", json=body, headers=served.paired()).json()
        assert (answer["kept"], len(answer["refused"])) == ([], 1)
    seal = next(one.id for one in read_log(Path(folder) / "log.sqlite") if one.body.kind == "sealed")
    for change in ({"changes": {"fingerprint": "0" * 64}}, {"withdrawn": True}):
        body["records"] = [
            {**record(), "body": {"kind": "corrected", "version": 1, "target": seal, **change}}
        ]
        assert served.post("/field/records", json=body, headers=served.paired()).json()["kept"]
    again = Desk(folder)
    again.close()
    assert again.plan["study"] == served.desk.plan["study"]


def test_every_answer_carries_the_policy(served: Served) -> None:
    for path in ("/", "/field/", "/field/plan", "/nowhere", "/static/live.js"):
        headers = served.get(path).headers
        assert "script-src 'self'" in headers["content-security-policy"]
        assert headers["x-content-type-options"] == "nosniff"
