"""``evenglide serve``: a small server on the laptop, for phones and for the desk."""

from __future__ import annotations

import sys
from contextlib import suppress
from types import FrameType
from typing import TYPE_CHECKING

import click

from evenglide.cli.problems import problems_told

if TYPE_CHECKING:
    from evenglide.steps.serve import Opening

APP = "evenglide.web.app:create_app"
END_S = 2
"""How long open connections may take to end after Ctrl-C. [s]"""
WARNING = (
    "Passing over the browser's warning is not the same: the page opens then, but the browser does not keep "
    "it, and it does not open without the laptop."
)


@click.command()
@click.argument("folder", type=click.Path(), default=".")
@click.option("--port", type=click.IntRange(1, 65535), help="Port (default: 4173, always the same).")
@click.option("--lan", is_flag=True, help="Let phones on the same network in, each with its own code.")
@click.option("--https", is_flag=True, help="Serve over https, with a certificate made on this laptop.")
@click.option("--pair", "phone", metavar="NAME", help="Pair a phone of this name.")
@click.option(
    "--certificate",
    metavar="OUT.crt",
    type=click.Path(),
    help="Write the certificate that a phone has to install for --https, and end.",
)
@click.option("--no-browser", is_flag=True, help="Do not open a browser here.")
def serve(
    folder: str,
    *,
    port: int | None,
    lan: bool,
    https: bool,
    phone: str | None,
    certificate: str | None,
    no_browser: bool,
) -> None:
    """Serve the sealed study in FOLDER until you press Ctrl-C.

    Only this laptop may connect, unless you say --lan. What phones record stays on them when the laptop
    sleeps or the signal drops, and comes when it is back. Over plain http a phone goes on in the open tab;
    with --https, once its certificate is installed there, the page opens without the laptop too.

    Example: evenglide serve my-study --lan --pair "Ada's phone"
    """
    with problems_told(as_json=False):
        from evenglide.steps.serve import PORT, opening, pair, write_certificate

        if certificate is not None:
            fingerprint = write_certificate(certificate)
            click.echo(f"Certificate for phones: {certificate}\nIts fingerprint (SHA-256): {fingerprint}")
            click.echo(f"Send it to the phone and install it there as an authority. {WARNING}")
            return
        place = opening(folder, port=port or PORT, lan=lan, https=https)
        address = pair(folder, phone, address=place.address) if phone else None
    _tell(place, phone=phone, address=address, lan=lan)
    if not no_browser:
        click.launch(f"{place.home}/")
    _run(folder, place)


def _tell(place: Opening, *, phone: str | None, address: str | None, lan: bool) -> None:
    """Say what to open where, and what that means."""
    click.echo(f"Open here: {place.home}/")
    if address is not None:
        click.echo(f"Open on {phone}: {address}")
        if sys.stdout.isatty():
            from evenglide.steps.serve import code_for_terminal

            click.echo(code_for_terminal(address))
    if lan:
        click.echo(
            "Whoever has a phone's address may write to the study. Take it back on the page of phones."
        )
        if place.other:
            click.echo(
                f"If a phone does not find this laptop by its name, put {place.other} in front of /field/. "
                "To the phone that is another place: stay with the one you began with."
            )
    if place.fingerprint:
        click.echo(f"Install the certificate on the phone first: {place.address}/field/certificate")
        click.echo(f"Its fingerprint (SHA-256): {place.fingerprint}\n{WARNING}")


def _run(folder: str, place: Opening) -> None:
    """Serve until somebody presses Ctrl-C."""
    import os

    import uvicorn

    from evenglide.steps.serve import SETTINGS, STOPPING, settings_text

    class Server(uvicorn.Server):
        def handle_exit(self, sig: int, frame: FrameType | None) -> None:
            STOPPING.set()  # pages that listen for news would keep it open
            super().handle_exit(sig, frame)

    os.environ[SETTINGS] = settings_text(folder, place)
    config = uvicorn.Config(
        APP,
        factory=True,
        host=place.bind,
        port=place.port,
        log_level="warning",
        server_header=False,
        proxy_headers=False,  # who asks is told by the connection, never by a header
        ssl_keyfile=place.key or None,
        ssl_certfile=place.chain or None,
        timeout_graceful_shutdown=END_S,
    )
    server = Server(config)
    with suppress(KeyboardInterrupt):  # it ends in order first, and passes the signal on then
        server.run()
    if server.started:
        click.echo("Stopped. What was recorded is in the log.")
