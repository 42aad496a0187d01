"""A watch over a browser context: what its pages tried to fetch from elsewhere, and which scripts failed."""

from __future__ import annotations

import re
from dataclasses import dataclass, field

from playwright.sync_api import BrowserContext, Route

AT_HOME = re.compile(r"(file|data|blob|about):|https?://(127\.0\.0\.1|\[::1\]|localhost)([:/]|$)")


@dataclass(slots=True)
class Watch:
    """Everything a page did that it must not do."""

    fetched: list[str] = field(default_factory=list)
    failed: list[str] = field(default_factory=list)


def watch(context: BrowserContext) -> Watch:
    """Stop every request of `context` that would leave this machine, and keep what went wrong."""
    seen = Watch()

    def stop(route: Route) -> None:
        seen.fetched.append(route.request.url)
        route.abort()

    context.route(lambda url: not AT_HOME.match(url), stop)
    context.on("weberror", lambda event: seen.failed.append(str(event.error)))
    return seen
