"""Check what no other tool looks at: links between the pages, and that all places name one version.

    python tools/check_docs.py

Standard library only. Prints every problem, not just the first.
"""

from __future__ import annotations

import re
import sys
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent
FENCE = re.compile(r"^(```|~~~).*?^\1", re.MULTILINE | re.DOTALL)
INLINE_CODE = re.compile(r"`[^`\n]*`")
LINK = re.compile(r"!?\[[^\]]*\]\(\s*<?([^)\s>]+)>?[^)]*\)")
HEADING = re.compile(r"^#{1,6}\s+(.+?)\s*#*$", re.MULTILINE)


def main() -> int:
    """Print the problems found; fail if there are any."""
    problems = [problem for page in pages() for problem in link_problems(page)]
    problems += version_problems()
    for problem in problems:
        print(f"docs: {problem}")
    return 1 if problems else 0


def pages() -> list[Path]:
    """Every page of the project written in Markdown."""
    return sorted([*ROOT.glob("*.md"), *(ROOT / "docs").rglob("*.md")])


def link_problems(page: Path) -> list[str]:
    """Links of `page` that lead to no file or no heading."""
    text = INLINE_CODE.sub("", FENCE.sub("", page.read_text(encoding="utf-8")))
    problems = []
    for target in LINK.findall(text):
        if re.match(r"[a-z]+:", target):
            continue
        path, _, anchor = target.partition("#")
        goal = (page.parent / path).resolve() if path else page
        if not goal.exists():
            problems.append(f"{page.relative_to(ROOT)} links to {target}, which does not exist")
        elif anchor and goal.suffix == ".md" and anchor not in anchors(goal):
            problems.append(f"{page.relative_to(ROOT)} links to {target}, but no heading there is called so")
    return problems


def anchors(page: Path) -> set[str]:
    """Names by which the headings of `page` can be linked to."""
    text = FENCE.sub("", page.read_text(encoding="utf-8"))
    return {re.sub(r"[^\w\- ]", "", heading.lower()).replace(" ", "-") for heading in HEADING.findall(text)}


def version_problems() -> list[str]:
    """Places that name another version than the package."""
    source = (ROOT / "src/evenglide/constants.py").read_text(encoding="utf-8")
    version = re.findall(r'^VERSION = "(.+)"$', source, re.MULTILINE)[0]
    places = {
        "CITATION.cff": rf"^version: \"?{re.escape(version)}\"?$",
        "CHANGELOG.md": rf"^## {re.escape(version)}\b",
    }
    return [
        f"{name} does not name version {version}"
        for name, pattern in places.items()
        if not re.search(pattern, (ROOT / name).read_text(encoding="utf-8"), re.MULTILINE)
    ]


if __name__ == "__main__":
    sys.exit(main())
