"""The frame that other tests stand on: the browser they drive, and the network they must not reach."""

from __future__ import annotations

import socket

import pytest
from playwright.sync_api import Page
from pytest_socket import SocketConnectBlockedError

from tools import chromium

UNREACHABLE = ("192.0.2.1", 80)  # RFC 5737, section 3: set aside for documentation, routed nowhere


def test_page_is_a_phone_and_draws(page: Page) -> None:
    page.set_content("<h1>glide</h1>")
    assert page.inner_text("h1") == "glide"
    assert page.evaluate("[innerWidth, innerHeight]") == [390, 844]


@pytest.mark.parametrize("page", [{"viewport": {"width": 1280, "height": 800}}], indirect=True)
def test_page_takes_another_size(page: Page) -> None:
    assert page.evaluate("innerWidth") == 1280


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
    assert chromium.find_chromium() == named


def test_browser_named_wrongly_is_told(monkeypatch) -> None:
    monkeypatch.setenv("CHROMIUM", "/nowhere/browser")
    with pytest.raises(chromium.ChromiumMissingError, match="'/nowhere/browser'"):
        chromium.find_chromium()


def test_missing_browser_is_told_with_its_remedy(tmp_path, monkeypatch) -> None:
    monkeypatch.delenv("CHROMIUM", raising=False)
    monkeypatch.setenv("PATH", str(tmp_path))
    with pytest.raises(chromium.ChromiumMissingError, match="apt-get install chromium"):
        chromium.find_chromium()
