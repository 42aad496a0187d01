"""What must stand in no file: places of one machine, package registries, numbers of somebody's tracker."""

from __future__ import annotations

import re

import pytest

from tests.house.tree import ROOT, named, project_files, text_of

# Each pattern is written so that it does not match its own line.
FORBIDDEN = {
    "a path of one machine": re.compile(
        r"(?<![\w.\-/*])/(?:root|work|home|opt|Users)/|\b[A-Z]:\\(?:Users)\b"
    ),
    "a package registry": re.compile(
        r"py[p]i\.(?:org|python)|pythonhos[t]ed|np[m]js\.|cra[t]es\.io|conda\.ana[c]onda"
    ),
    "a number in a tracker": re.compile(
        r"\b(?:issue|ticket|pull request|PR|fixes|closes) ?#\d", re.IGNORECASE
    ),
    "a folder outside the project": re.compile(r"\.\./share[d]\b|/share[d]/"),
}
PAGE = re.compile(r"(?<![\w/.*-])(?:[\w-]+/)*[\w-]+\.md\b")


def findings(text: str) -> list[str]:
    """Kinds of forbidden words in `text`, each with the words."""
    return [
        f"{kind}: {found.group()}" for kind, pattern in FORBIDDEN.items() if (found := pattern.search(text))
    ]


def test_no_forbidden_word_in_any_file() -> None:
    texts = {named(path): text for path in project_files() if (text := text_of(path)) is not None}
    assert "pyproject.toml" in texts
    assert {name: found for name, text in texts.items() if (found := findings(text))} == {}


@pytest.mark.parametrize(
    "text",
    [
        "see /ro" + "ot/x",
        "open('/ho" + "me/me/study')",
        r"C:\Us" + r"ers\me",
        "https://py" + "pi.org/simple",
        "closes" + " #12",
        "from ../sha" + "red/design",
    ],
)
def test_forbidden_words_are_found(text: str) -> None:
    assert len(findings(text)) == 1


@pytest.mark.parametrize("text", ["/usr/bin/env bash", "#0072B2", "work/out", "a shared coat", "m/s"])
def test_honest_words_pass(text: str) -> None:
    assert findings(text) == []


def test_pages_named_in_the_code_exist() -> None:
    pages = {path.name for path in project_files() if path.suffix == ".md"}
    code = [path for path in project_files("src", "tests", "tools", "bench", "truth") if path.suffix == ".py"]
    missing = {
        named(path): gone
        for path in code
        if (
            gone := {
                page
                for page in PAGE.findall(path.read_text(encoding="utf-8"))
                if page.split("/")[-1] not in pages
            }
        )
    }
    assert missing == {}


def test_locks_name_no_address_and_hash_every_package() -> None:
    for lock in (ROOT / "locks" / "run.txt", ROOT / "locks" / "dev.txt"):
        text = lock.read_text(encoding="utf-8")
        assert re.search(r"://|^--|file:", text, re.MULTILINE) is None, lock.name
        packages = re.findall(
            r"^[a-z0-9][^\n]*==[^\n]*\\\n(?= +--hash=sha256:[0-9a-f]{64})", text, re.MULTILINE
        )
        assert len(packages) == len(re.findall(r"^[^#\s]", text, re.MULTILINE)) > 20, lock.name
