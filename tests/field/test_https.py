"""Over https, with an authority made here: who trusts it, what for, and what the page then survives."""

from __future__ import annotations

import base64
import hashlib
import http.client
import ssl
import stat
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path

import pytest
from axe_playwright_python.sync_playwright import Axe
from cryptography import x509
from cryptography.hazmat.primitives.serialization import Encoding, PublicFormat
from playwright.sync_api import Browser, Page, expect

from evenglide.errors import EvenglideError
from evenglide.store.authority import authority, server_certificate
from tests.conftest import PHONE
from tests.field.phone import Phone
from tests.field.server import Server
from tests.field.studies import sealed_study
from tests.walks.command import run
from tools.chromium import find_chromium, launch_arguments


@pytest.fixture
def settings(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A folder of settings of its own, not there yet."""
    monkeypatch.setenv("EVENGLIDE_SETTINGS", str(tmp_path / "settings"))
    return tmp_path / "settings"


@pytest.fixture
def server(tmp_path: Path, settings: Path) -> Iterator[Server]:
    files = server_certificate(["127.0.0.1", "localhost"], port=1)
    certificate = authority().certificate
    folder = sealed_study(tmp_path / "study", blocks=2)
    with Server(folder, files=files, certificate=certificate) as running:
        yield running


def mark_of(settings: Path) -> str:
    """What names the server's key to Chromium (SHA-256 of its public key, base64)."""
    text = (settings / "server-1.pem").read_bytes()
    key = x509.load_pem_x509_certificates(text)[0].public_key()
    written = key.public_bytes(Encoding.DER, PublicFormat.SubjectPublicKeyInfo)
    return base64.b64encode(hashlib.sha256(written).digest()).decode("ascii")


def trusting() -> ssl.SSLContext:
    """What somebody trusts who has installed the certificate and nothing else."""
    context = ssl.SSLContext(ssl.PROTOCOL_TLS_CLIENT)
    context.load_verify_locations(cadata=authority().certificate)
    return context


def test_the_page_opens_without_its_server_once_the_certificate_is_trusted(
    server: Server, settings: Path, chromium: Browser
) -> None:
    arguments = [*launch_arguments(), f"--ignore-certificate-errors-spki-list={mark_of(settings)}"]
    browser = chromium.browser_type.launch(executable_path=find_chromium(), args=arguments)
    page = browser.new_context(viewport=PHONE).new_page()
    phone = Phone(page, server.pair())
    page.wait_for_function("() => navigator.serviceWorker.controller !== null")
    phone.record("Read it, begin")
    expect(page.locator(".saved")).to_have_text("here 1 · laptop 1", timeout=20_000)
    server.kill()
    page.reload()
    phone.on("prepare")
    phone.record("is ready")
    page.locator(".saved").click()
    expect(page.locator("main")).to_contain_text("goes on without the laptop, and survives a reload")
    server.start()
    expect(page.locator(".saved")).to_have_text("here 2 · laptop 2", timeout=20_000)
    browser.close()


@pytest.mark.parametrize("page", [{"ignore_https_errors": True}], indirect=True)
def test_passing_over_the_warning_is_told_to_be_less(server: Server, page: Page) -> None:
    phone = Phone(page, server.pair())
    assert page.evaluate("() => window.isSecureContext")
    phone.record("Read it, begin")
    page.locator(".saved").click()
    expect(page.locator("main")).to_contain_text("Do not reload it while the laptop is away")
    expect(page.locator("main")).to_contain_text("Passing over the warning of the certificate is not enough")
    page.goto(f"{server.address}/field/certificate")
    expect(page.get_by_role("main")).to_contain_text("Passing over the browser's warning is not the same")
    with page.expect_download() as waiting:
        page.get_by_role("link", name="Load the certificate").click()
    assert waiting.value.path().read_text() == authority().certificate


@pytest.mark.parametrize("page", [{"ignore_https_errors": True}], indirect=True)
@pytest.mark.parametrize("path", ["/field/certificate", "/phones", "/events"])
def test_pages_about_trust_can_be_used_by_everybody(server: Server, page: Page, path: str) -> None:
    server.pair()
    page.goto(f"{server.address}{path}")
    assert Axe().run(page).response["violations"] == []
    assert page.evaluate("() => document.documentElement.scrollWidth <= innerWidth")


def test_whoever_trusts_the_authority_trusts_the_server_by_its_names_only(server: Server) -> None:
    connection = http.client.HTTPSConnection("127.0.0.1", server.port, context=trusting(), timeout=20)
    connection.request("GET", "/field/")
    assert connection.getresponse().status == 200
    connection.close()
    stranger = ssl.create_default_context()
    with pytest.raises(ssl.SSLCertVerificationError):
        http.client.HTTPSConnection("127.0.0.1", server.port, context=stranger, timeout=20).connect()


def verified(issuer: Path, leaf: Path, folder: Path) -> bool:
    """Whether OpenSSL, as another program, accepts a certificate of an authority."""
    command = ["openssl", "verify", "-CAfile", str(issuer), str(leaf)]
    return subprocess.run(command, cwd=folder, capture_output=True, check=False).returncode == 0


def test_the_authority_cannot_vouch_for_a_site_elsewhere(
    settings: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    issuer = settings / "authority.crt"
    server_certificate(["hut.local", "192.168.1.7"], port=2)
    assert verified(issuer, settings / "server-2.pem", tmp_path)
    # Even if its key were stolen: our own check is switched off here, others' are not.
    monkeypatch.setattr("evenglide.store.authority.vouched", lambda name: True)
    for name in ("example.org", "93.184.216.34"):
        server_certificate([name], port=3)
        assert not verified(issuer, settings / "server-3.pem", tmp_path)


def test_keys_are_the_users_alone_and_stay_out_of_the_study(server: Server, settings: Path) -> None:
    keys = sorted(path.name for path in settings.iterdir() if "key" in path.name)
    assert keys == ["authority-key.pem", "server-1-key.pem"]
    assert all(stat.S_IMODE((settings / key).stat().st_mode) == 0o600 for key in keys)
    assert not [path for path in server.folder.rglob("*") if path.suffix in {".pem", ".crt"}]


def test_the_authority_is_made_once(settings: Path) -> None:
    first = authority()
    assert authority() == first
    (settings / "authority-key.pem").write_text("no key")
    with pytest.raises(EvenglideError) as raised:
        authority()
    assert raised.value.problems[0].code == "bad-authority"


def test_the_command_writes_the_certificate_and_the_honest_words(settings: Path, tmp_path: Path) -> None:
    done = run("serve", "--certificate", tmp_path / "hut.crt")
    assert done.exit_code == 0, done.output
    made = x509.load_pem_x509_certificate((tmp_path / "hut.crt").read_bytes())
    fingerprint = hashlib.sha256(made.public_bytes(Encoding.DER)).hexdigest()
    assert fingerprint in done.output.replace(":", "").lower()
    assert "is not the same" in done.output
    assert b"PRIVATE" not in (tmp_path / "hut.crt").read_bytes()


def test_without_its_library_https_says_what_to_do(
    settings: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    folder = sealed_study(tmp_path / "study", blocks=2)
    monkeypatch.setitem(sys.modules, "cryptography", None)
    done = run("serve", folder, "--https", "--no-browser")
    assert done.exit_code == 1
    assert "the package cryptography" in done.stderr and "evenglide sheet" in done.stderr
    assert not settings.exists()
