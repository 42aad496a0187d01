"""``evenglide serve``: a small server on the laptop, for phones and for the desk."""

from __future__ import annotations

import click

from evenglide.cli.problems import problems_told

APP = "evenglide.web.app:create_app"


@click.command()
@click.argument("folder", type=click.Path(), default=".")
@click.option("--port", type=click.IntRange(1, 65535), help="Port (default: 4173, always the same).")
@click.option("--lan", is_flag=True, help="Let phones on the same network in, each with its own code.")
@click.option("--pair", "phone", metavar="NAME", help="Pair a phone of this name.")
@click.option("--no-browser", is_flag=True, help="Do not open a browser here.")
def serve(folder: str, *, port: int | None, lan: bool, phone: str | None, no_browser: bool) -> None:
    """Serve the sealed study in FOLDER until you press Ctrl-C.

    Only this laptop may connect, unless you say --lan. What phones record stays on them when the laptop
    sleeps or the signal drops, and comes when it is back.

    Example: evenglide serve my-study --lan --pair "Ada's phone"
    """
    with problems_told(as_json=False):
        from evenglide.steps.serve import PORT, opening, pair

        place = opening(folder, port=port or PORT, lan=lan)
        address = pair(folder, phone, address=place.address) if phone else None
    import os

    import uvicorn

    from evenglide.steps.serve import SETTINGS, settings_text

    os.environ[SETTINGS] = settings_text(folder, place)
    click.echo(f"Open on {phone}: {address}")
    if lan:
        click.echo(
            "Anybody who has this address may write to the study. Take it back on the page of the phones."
        )
    if not no_browser:
        click.launch(f"http://127.0.0.1:{place.port}/")
    uvicorn.run(APP, factory=True, host=place.bind, port=place.port, log_level="warning", server_header=False)
