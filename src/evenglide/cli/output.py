"""Printing so that every console can show it: words, or one JSON object."""

from __future__ import annotations

import codecs
import json
import sys
from collections.abc import Mapping

import click


def show_anything() -> None:
    """Let consoles that lack a character show its code instead of breaking off."""
    for stream in (sys.stdout, sys.stderr):
        reconfigure = getattr(stream, "reconfigure", None)
        if reconfigure is not None:
            reconfigure(errors="backslashreplace")


def echo_json(document: Mapping[str, object]) -> None:
    """Print one JSON object, in ASCII where the console or pipe is not in UTF-8."""
    in_ascii = codecs.lookup(sys.stdout.encoding or "utf-8").name != "utf-8"
    click.echo(json.dumps(document, ensure_ascii=in_ascii, allow_nan=False, indent=1))
