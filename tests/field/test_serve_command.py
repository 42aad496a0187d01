"""``evenglide serve`` as a process: what it says, what it refuses, how it ends, what it never writes down."""

from __future__ import annotations

import http.client
import os
import re
import signal
import socket
import subprocess
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest

from tests.field.server import free_port, wait_for
from tests.field.studies import sealed_study
from tests.walks.command import run, run_process

PROMPT_S = 10.0
"""How long an ending may take on a busy machine; without the care for open streams it never came."""


@contextmanager
def serving(folder: Path, *arguments: str) -> Iterator[tuple[subprocess.Popen[bytes], int, Path]]:
    """Run the command itself; what it writes goes into a file."""
    port = free_port()
    written = folder.parent / "written.txt"
    with written.open("wb") as out:
        command = [sys.executable, "-m", "evenglide", "serve", str(folder), "--no-browser", *arguments]
        process = subprocess.Popen(
            [*command, "--port", f"{port}"],
            stdout=out,
            stderr=subprocess.STDOUT,
            env={**os.environ, "EVENGLIDE_SETTINGS": str(folder.parent / "settings")},
            start_new_session=True,
        )
        try:
            scheme = "https" if "--https" in arguments else "http"
            wait_for(process, port, host=f"127.0.0.1:{port}", scheme=scheme)
            yield process, port, written
        finally:
            if process.poll() is None:
                os.killpg(process.pid, signal.SIGKILL)
            process.wait()


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    return sealed_study(tmp_path / "study", blocks=2)


def asked(port: int, path: str, *, source: str = "127.0.0.1", method: str = "GET", **headers: str) -> int:
    connection = http.client.HTTPConnection("127.0.0.1", port, timeout=20, source_address=(source, 0))
    connection.request(
        method, path, headers={name.replace("_", "-"): value for name, value in headers.items()}
    )
    status = connection.getresponse().status
    connection.close()
    return status


def test_a_study_that_is_not_sealed_is_not_served(tmp_path: Path) -> None:
    done = run_process("serve", "nothing-here", "--no-browser", folder=tmp_path)
    assert done.returncode == 1 and b"no-such" not in done.stdout
    assert b"found" in done.stderr and b"Traceback" not in done.stderr


def test_a_study_before_its_seal_says_how_to_go_on(tmp_path: Path, folder: Path) -> None:
    (folder / "log.sqlite").unlink()
    done = run_process("serve", folder, "--no-browser", folder=tmp_path)
    assert done.returncode == 1
    assert b"evenglide seal" in done.stderr


def test_a_port_that_is_taken_is_told_and_no_other_is_chosen(tmp_path: Path, folder: Path) -> None:
    with socket.socket() as taken:
        taken.bind(("127.0.0.1", 0))
        taken.listen()
        port = taken.getsockname()[1]
        done = run_process("serve", folder, "--no-browser", "--port", f"{port}", folder=tmp_path)
    assert done.returncode == 1
    assert f"--port {port}".encode() in done.stderr and b"Another port" in done.stderr


def test_help_names_every_way(tmp_path: Path) -> None:
    done = run("serve", "--help")
    assert done.exit_code == 0
    for option in ("--lan", "--https", "--pair", "--certificate", "--port", "--no-browser"):
        assert option in done.output


def test_ctrl_c_ends_it_although_a_page_listens(folder: Path) -> None:
    with serving(folder) as (process, port, written):
        listening = http.client.HTTPConnection("127.0.0.1", port, timeout=20)
        listening.request("GET", "/stream")
        answer = listening.getresponse()
        assert answer.readline() == b"retry: 2000\n"
        process.send_signal(signal.SIGINT)
        assert process.wait(timeout=PROMPT_S) == 0
        listening.close()
    said = written.read_text()
    assert "Stopped." in said and "Traceback" not in said and "Cancel" not in said


def test_no_token_is_written_anywhere_but_where_it_is_told(folder: Path) -> None:
    with serving(folder, "--pair", "Ada's phone", "--lan") as (process, port, written):
        token = re.findall(r"#t=([\w-]+)", written.read_text())[0]
        assert asked(port, "/field/plan", Authorization=f"Bearer {token}") == 200
        assert asked(port, "/field/plan", Authorization="Bearer wrong") == 401
        assert asked(port, "/nowhere", Authorization=f"Bearer {token}") == 404
        process.send_signal(signal.SIGINT)
        process.wait(timeout=PROMPT_S)
    assert written.read_text().count(token) == 1
    kept = [path for path in folder.rglob("*") if path.is_file() and token.encode() in path.read_bytes()]
    assert kept == []


def test_who_asks_is_told_by_the_connection_never_by_a_header(folder: Path) -> None:
    with serving(folder, "--lan") as (_, port, _written):
        # 127.0.0.2 stands for another machine: it is not this laptop's own address.
        assert asked(port, "/") == 200
        assert asked(port, "/", source="127.0.0.2") == 403
        assert asked(port, "/", source="127.0.0.2", X_Forwarded_For="127.0.0.1") == 403
        assert asked(port, "/", source="127.0.0.2", Forwarded="for=127.0.0.1") == 403
        assert asked(port, "/", X_Forwarded_For="192.0.2.9") == 200


def test_a_phone_paired_and_revoked_elsewhere_is_known_at_once(tmp_path: Path, folder: Path) -> None:
    from evenglide.steps.serve import pair
    from evenglide.store.pairing import Pairings

    with serving(folder) as (_, port, _written):
        address = pair(str(folder), "Ada's phone", address="http://127.0.0.1")
        bearer = f"Bearer {address.partition('#t=')[2]}"
        assert asked(port, "/field/plan", Authorization=bearer) == 200
        Pairings(str(folder)).revoke("Ada's phone")
        assert asked(port, "/field/plan", Authorization=bearer) == 401
        assert asked(port, "/field/records", method="POST", Authorization=bearer) == 401


def test_the_lan_is_named_by_what_lasts(
    tmp_path: Path, folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    from evenglide.steps.serve import opening

    monkeypatch.setattr(socket, "gethostname", lambda: "Hut.example.org")
    monkeypatch.setattr("evenglide.steps.serve._outward_address", lambda: "192.168.1.7")
    place = opening(str(folder), port=free_port(), lan=True)
    assert place.address == f"http://hut.local:{place.port}"
    assert place.other == f"http://192.168.1.7:{place.port}"
    assert f"hut.example.org:{place.port}" in place.hosts
    assert place.bind == "0.0.0.0"


def test_the_usual_port_of_a_scheme_is_left_out_as_browsers_do(
    folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    from evenglide.steps.serve import opening

    monkeypatch.setattr("evenglide.steps.serve._check_port", lambda bind, port: None)
    place = opening(str(folder), port=80)
    assert place.home == "http://127.0.0.1" and set(place.hosts) == {"127.0.0.1", "localhost"}
    assert "127.0.0.1:443" in opening(str(folder), port=443).hosts


def test_a_name_in_another_script_leaves_the_address(monkeypatch: pytest.MonkeyPatch) -> None:
    from evenglide.steps.serve import lan_names

    monkeypatch.setattr(socket, "gethostname", lambda: "Hütte")
    monkeypatch.setattr("evenglide.steps.serve._outward_address", lambda: "192.168.1.7")
    assert lan_names() == ["192.168.1.7"]


PAIRING = """
import sys
from evenglide.store.pairing import Pairings

pairings = Pairings(sys.argv[1])
for number in range(40):
    name = f"{sys.argv[2]} {number}"
    pairings.pair(name, since="")
    pairings.revoke(name)
"""


def test_what_one_program_takes_back_another_does_not_bring_again(folder: Path) -> None:
    from evenglide.store.pairing import Pairings

    command = [sys.executable, "-c", PAIRING, str(folder)]
    programs = [subprocess.Popen([*command, name]) for name in ("Ada", "Bea")]
    assert [one.wait(timeout=60) for one in programs] == [0, 0]
    phones = Pairings(str(folder)).phones
    assert len(phones) == 80 and all(one.revoked for one in phones)


def test_what_is_written_is_on_the_disk_before_it_has_its_name(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A cut of the power must not leave a photo or the list of phones empty under its name."""
    from evenglide.store.pages import write_bytes

    there = []
    flushed = os.fsync
    monkeypatch.setattr(os, "fsync", lambda handle: (there.append(target.exists()), flushed(handle)))
    target = tmp_path / "phones.json"
    write_bytes(str(target), b"{}")
    assert there == [False] and target.read_bytes() == b"{}"
