"""The locks hold what the project asks for, and the smaller is a part of the larger."""

from __future__ import annotations

import re
import tomllib

from tests.house.tree import ROOT


def locked(name: str) -> set[str]:
    """Every row of a lock, version and condition included."""
    text = (ROOT / "locks" / f"{name}.txt").read_text(encoding="utf-8")
    return {row.rstrip(" \\") for row in re.findall(r"^[a-z0-9].*$", text, re.MULTILINE)}


def asked_for(requirements: list[object]) -> set[str]:
    """Names alone, spelled as a lock spells them."""
    words = [re.match(r"[\w.-]+", entry) for entry in requirements if isinstance(entry, str)]
    return {re.sub(r"[-_.]+", "-", word.group()).lower() for word in words if word}


def test_locks_hold_what_is_asked_for() -> None:
    document = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))
    run = asked_for(document["project"]["dependencies"]) | asked_for(document["dependency-groups"]["build"])
    dev = run | asked_for(document["dependency-groups"]["dev"])
    for name, wanted in (("run", run), ("dev", dev)):
        assert wanted - {row.partition("==")[0] for row in locked(name)} == set(), "run `make lock`"


def test_tests_run_on_the_versions_users_get() -> None:
    assert locked("run") - locked("dev") == set()
