"""Drawing a page from its template; whatever stands in it is text, never markup."""

from __future__ import annotations

from functools import cache
from typing import Any

from jinja2 import Environment, PackageLoader, StrictUndefined
from starlette.responses import HTMLResponse


def drawn(name: str, **values: Any) -> HTMLResponse:
    """Draw one page."""
    return HTMLResponse(_templates().get_template(f"{name}.html.j2").render(**values))


@cache
def _templates() -> Environment:
    return Environment(
        loader=PackageLoader("evenglide.web", "templates"), autoescape=True, undefined=StrictUndefined
    )
