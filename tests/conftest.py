"""What every test may ask for: a quiet Chromium, and a page that may not leave this machine."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

import pytest
from hypothesis import HealthCheck, settings
from playwright.sync_api import Browser, Page, sync_playwright

from tests.browser import watch
from tools.chromium import ChromiumMissingError, find_chromium, launch_arguments

# The same cases on every run and no clock in any verdict: a busy machine must not fail a test.
settings.register_profile(
    "evenglide",
    derandomize=True,
    deadline=None,
    suppress_health_check=[HealthCheck.too_slow],
    print_blob=True,
)
settings.load_profile("evenglide")

PHONE = {"width": 390, "height": 844}


@pytest.fixture(scope="session")
def chromium() -> Iterator[Browser]:
    """One browser for the whole run; a missing one fails the test, it never skips it."""
    try:
        path = find_chromium()
    except ChromiumMissingError as problem:
        pytest.fail(str(problem), pytrace=False)
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=path, args=launch_arguments())
        yield browser
        browser.close()


@pytest.fixture
def page(chromium: Browser, request: pytest.FixtureRequest) -> Iterator[Page]:
    """A fresh phone-sized page; afterwards, no script may have failed and nothing may have been fetched.

    Parametrise it indirectly with the options of a browser context, say another viewport or
    ``java_script_enabled=False``::

        @pytest.mark.parametrize("page", [{"viewport": {"width": 1280, "height": 800}}], indirect=True)
    """
    options: dict[str, Any] = {"viewport": PHONE, **getattr(request, "param", {})}
    context = chromium.new_context(**options)
    seen = watch(context)
    yield context.new_page()
    context.close()
    assert seen.fetched == [], "the page asked another machine for something"
    assert seen.failed == [], "a script on the page failed"
