"""The field page as one file: the plan, the modules, the type, and nothing from anywhere else.

The modules are plain ES modules, served as they are by a server. A file loads no modules: there each
becomes a function that returns what it exports, in the order in which they need each other.
"""

from __future__ import annotations

import base64
import hashlib
import json
import re
from collections.abc import Callable, Iterator, Mapping
from importlib.resources import files
from importlib.resources.abc import Traversable
from typing import Any

from jinja2 import Environment, StrictUndefined
from markupsafe import Markup

from evenglide.report.look import DARK, FONT, LIGHT, tokens_css
from evenglide.report.typeface import subset_font

ENTRY = "app.js"
IMPORT = re.compile(r'^import \{ ([\w, ]+) \} from "(\.{1,2}/[\w./]+)";$', re.MULTILINE)
EXPORT = re.compile(r"^export (?=(?:async )?function (\w+)|class (\w+)|const (\w+))", re.MULTILINE)
CHARACTERS = "⌫✓→…–·•“”’°"


def phone_page(plan: Mapping[str, Any]) -> str:
    """Write the field page as one HTML file.

    Parameters
    ----------
    plan : mapping
        ``evenglide.phone-plan/1``.

    Returns
    -------
    str
    """
    # "<" is written as an escape, so that nothing in the plan can end the element it stands in.
    text = json.dumps(plan, ensure_ascii=False).replace("<", "\\u003c")
    script = inlined_modules()
    digest = base64.b64encode(hashlib.sha256(script.encode()).digest()).decode("ascii")
    policy = (
        f"default-src 'none'; script-src 'sha256-{digest}'; style-src 'unsafe-inline'; font-src data:; "
        "img-src data: blob:; base-uri 'none'; form-action 'none'"
    )
    template = Environment(autoescape=True, undefined=StrictUndefined).from_string(asset("index.html.j2"))
    return template.render(
        title=f"{plan['title']} - outside",
        policy=Markup(policy),
        paper=LIGHT["paper"],
        style=Markup(phone_style(text)),
        plan=Markup(text),
        script=Markup(f"<script>{script}</script>"),
    )


def served_index() -> str:
    """Write the page as a server hands it out: it asks for its modules, its style and its plan."""
    template = Environment(autoescape=True, undefined=StrictUndefined).from_string(asset("served.html.j2"))
    return template.render(paper=LIGHT["paper"])


def phone_style(text: str) -> str:
    """Write the style sheet with its type, cut down to what a plan and the page can say.

    Parameters
    ----------
    text : str
        Everything in the plan.

    Returns
    -------
    str
    """
    light, dark = (
        "".join(f"--{name}:{colour};" for name, colour in tokens.items()) for tokens in (LIGHT, DARK)
    )
    # Dark ink on light paper is what can be read in the sun, so night has to be asked for.
    tokens = f":root{{color-scheme:light;{light}}}:root[data-light=night]{{color-scheme:dark;{dark}}}"
    return _face(text) + tokens + asset("phone.css")


def tokens_and_type() -> str:
    """Write colours and type as the laptop's pages use them."""
    return _face("") + ":root{color-scheme:light dark}" + tokens_css()


def _face(text: str) -> str:
    """Write the type, cut down to what is said, for a style sheet."""
    font = base64.b64encode(subset_font(text + CHARACTERS)).decode("ascii")
    return (
        f"@font-face{{font-family:'{FONT}';font-weight:400 600;font-display:block;"
        f"src:url(data:font/woff2;base64,{font}) format('woff2')}}"
    )


def inlined_modules() -> str:
    """Put all modules into one script, each a function that returns what it exports.

    Returns
    -------
    str
    """
    parts = ['"use strict";\nconst modules = {};']
    for name, source in modules_in_order():
        body = IMPORT.sub(_taken_from(name), source)
        exports = [next(filter(None, found.groups())) for found in EXPORT.finditer(source)]
        body = EXPORT.sub("", body)
        parts.append(f'modules["{name}"] = (() => {{\n{body}\nreturn {{ {", ".join(exports)} }};\n}})();')
    return "\n".join(parts)


def _taken_from(importer: str) -> Callable[[re.Match[str]], str]:
    """Write an import of one module as what an earlier function returned."""

    def taken(found: re.Match[str]) -> str:
        return f'const {{ {found[1]} }} = modules["{_address(importer, found[2])}"];'

    return taken


def modules_in_order() -> list[tuple[str, str]]:
    """List the modules, each after those it imports: name and source."""
    found: dict[str, str] = {}

    def visit(name: str) -> None:
        if name in found:
            return
        source = asset(name)
        for _, address in IMPORT.findall(source):
            visit(_address(name, address))
        found[name] = source

    visit(ENTRY)
    return list(found.items())


def asset_names() -> Iterator[str]:
    """Names of the modules and style sheets that a server may hand out."""
    for place in (_root(), _root().joinpath("screens")):
        prefix = "screens/" if place.name == "screens" else ""
        yield from (prefix + one.name for one in place.iterdir() if one.name.endswith(".js"))


def asset(name: str) -> str:
    """Return the text of one file of the page."""
    return _root().joinpath(*name.split("/")).read_text(encoding="utf-8")


def _root() -> Traversable:
    return files("evenglide.report").joinpath("phone")


def _address(importer: str, relative: str) -> str:
    """Name of a module from the name of the one that imports it."""
    parts = importer.split("/")[:-1]
    for part in relative.split("/"):
        if part == "..":
            parts.pop()
        elif part != ".":
            parts.append(part)
    return "/".join(parts)
