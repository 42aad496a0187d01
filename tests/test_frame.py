"""The frame that other tests stand on: the browser they drive, and the network they must not reach."""

from __future__ import annotations

import socket

import pytest
from playwright.sync_api import Browser, Page
from pytest_socket import SocketConnectBlockedError

from tests.browser import watch
from tools import chromium as finder

UNREACHABLE = ("192.0.2.1", 80)  # RFC 5737, section 3: set aside for documentation, routed nowhere


def test_page_is_a_phone_and_draws(page: Page) -> None:
    page.set_content("<h1>glide</h1>")
    assert page.inner_text("h1") == "glide"
    assert page.evaluate("[innerWidth, innerHeight]") == [390, 844]


@pytest.mark.parametrize("page", [{"viewport": {"width": 1280, "height": 800}}], indirect=True)
def test_page_takes_another_size(page: Page) -> None:
    assert page.evaluate("innerWidth") == 1280


def test_request_to_another_machine_is_stopped_and_seen(chromium: Browser) -> None:
    context = chromium.new_context()
    seen = watch(context)
    context.new_page().set_content(
        f'<img src="http://{UNREACHABLE[0]}/a.png"><img src="data:image/gif;base64,">'
    )
    context.close()
    assert seen.fetched == [f"http://{UNREACHABLE[0]}/a.png"]


def test_failing_script_is_seen(chromium: Browser) -> None:
    context = chromium.new_context()
    seen = watch(context)
    page = context.new_page()
    with page.expect_event("pageerror"):
        page.set_content("<script>throw new Error('wet snow')</script>")
    context.close()
    assert len(seen.failed) == 1
    assert "wet snow" in seen.failed[0]


def test_network_is_closed() -> None:
    with (
        socket.socket() as out,
        pytest.warns(UserWarning, match=UNREACHABLE[0]),
        pytest.raises(SocketConnectBlockedError),
    ):
        out.connect(UNREACHABLE)


def test_loopback_is_open() -> None:
    with (
        socket.create_server(("127.0.0.1", 0)) as server,
        socket.create_connection(server.getsockname()) as client,
        server.accept()[0] as accepted,
    ):
        client.sendall(b"here")
        assert accepted.recv(4) == b"here"


def test_browser_named_by_the_environment_wins(tmp_path, monkeypatch) -> None:
    named = tmp_path / "my-browser"
    named.write_text("#!/bin/sh\n")
    named.chmod(0o755)
    monkeypatch.setenv("CHROMIUM", str(named))
    assert finder.find_chromium() == named


def test_browser_named_wrongly_is_told(monkeypatch) -> None:
    monkeypatch.setenv("CHROMIUM", "/nowhere/browser")
    with pytest.raises(finder.ChromiumMissingError, match="'/nowhere/browser'"):
        finder.find_chromium()


def test_missing_browser_is_told_with_its_remedy(tmp_path, monkeypatch) -> None:
    monkeypatch.delenv("CHROMIUM", raising=False)
    monkeypatch.setenv("PATH", str(tmp_path))
    with pytest.raises(finder.ChromiumMissingError, match="apt-get install chromium"):
        finder.find_chromium()
