"""A phone in somebody's wet hand: the field page in Chromium, pressed as people press it."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path

from playwright.sync_api import Locator, Page, expect

LOST, VOID, BOUND, STOPPED = "lost", "void", "bound", "stopped"


class Phone:
    """The field page, opened."""

    def __init__(self, page: Page, address: str) -> None:
        self.page = page
        page.goto(address)
        expect(page.locator("#screen")).to_be_visible()

    @property
    def screen(self) -> str:
        """Name of the screen that is shown."""
        return self.page.locator("#screen").get_attribute("data-screen") or ""

    def reload(self) -> None:
        """Reload the page once what is kept beside the records is written: writes follow one another."""
        self.page.evaluate("() => window.evenglide.records.setAside('before a reload', 1)")
        self.page.reload()

    def on(self, screen: str) -> None:
        expect(self.page.locator("#screen")).to_have_attribute("data-screen", screen)

    def button(self, name: str) -> Locator:
        return self.page.get_by_role("button", name=name, exact=False).first

    def press(self, name: str) -> None:
        """Press a button and wait until what it recorded is saved and shown."""
        self.page.evaluate("() => { window.shown = document.querySelector('#screen'); }")
        self.button(name).click()

    def record(self, name: str) -> None:
        """Press a button that records something, and wait until it is saved."""
        count = self.saved()
        self.button(name).click()
        self.page.wait_for_function(
            "count => Number(document.querySelector('.saved').textContent.match(/\\d+/)[0]) > count",
            arg=count,
        )

    def saved(self) -> int:
        """Number of records that the page says it holds."""
        text = self.page.locator(".saved").text_content() or ""
        return int("".join(filter(str.isdigit, text.partition("·")[0])) or 0)

    def next_launch(self) -> int:
        """Number of the launch that the screen names."""
        text = self.page.locator("#screen .before").first.text_content() or ""
        return int(text.split()[-1])

    def read(self, peg: str, text: str) -> None:
        """Choose a peg and type what the tape says."""
        self.page.locator("main .pegs").get_by_role("button", name=peg, exact=True).click()
        for key in text:
            self.page.locator(".pad").get_by_role("button", name=key, exact=True).click()
        self.record("Save peg")

    def save_file(self, folder: Path) -> Path:
        """Save the records to a file, as somebody does in the evening."""
        self.page.locator(".saved").click()
        with self.page.expect_download() as waiting:
            self.button("Save the records to a file").click()
        path = folder / waiting.value.suggested_filename
        waiting.value.save_as(path)
        return path


def play_day(
    phone: Phone, texts: Mapping[int, str], *, odd: Mapping[int, str] | None = None, until: int | None = None
) -> None:
    """Log launches as the screens ask for them, until all are made or so many.

    Parameters
    ----------
    phone : Phone
    texts : mapping of int to str
        What the tape says of each launch.
    odd : mapping of int to str
        Launches that went otherwise: ``lost``, ``void``, ``bound``, ``stopped``.
    until : int or None
        Last launch to make.
    """
    odd = odd or {}
    launch = 0
    while True:
        screen = phone.screen
        if screen == "morning":
            phone.record("Read it, begin")
        elif screen == "prepare":
            phone.record("is ready")
        elif screen == "set up":
            phone.record("The rig stands")
        elif screen == "ready":
            launch = phone.next_launch()
            if until is not None and launch > until:
                return
            without = phone.button("Launched without beep")
            phone.record("Launched without beep" if without.count() else "Launched")
        elif screen == "landed":
            _landed(phone, odd.get(launch, ""))
        elif screen == "read":
            _read_all(phone, texts, odd)
        elif screen == "end of coat":
            over = phone.button("is over")
            phone.record("is over" if over.count() else "The coats are off")
        else:
            assert screen == "done", screen
            return


def _landed(phone: Phone, happened: str) -> None:
    if happened == VOID:
        phone.press("Set aside")
        phone.record("nose under the snow")
    elif happened == BOUND:
        phone.record("Ran out of lane")
    elif happened == STOPPED:
        phone.record("stopped before the beep")
    else:
        phone.record("Yes, peg")


def _read_all(phone: Phone, texts: Mapping[int, str], odd: Mapping[int, str]) -> None:
    """Read what stands in the ground, the last peg first: any order will do."""
    open_pegs = phone.page.evaluate(
        "() => window.evenglide.day.unread.map((n) => [n, window.evenglide.day.launches.get(n).peg])"
    )
    for number, peg in reversed(open_pegs):
        if odd.get(number) == LOST:
            phone.page.locator("main .pegs").get_by_role("button", name=peg, exact=True).click()
            phone.record("Lost")
        else:
            phone.read(peg, texts[number])
