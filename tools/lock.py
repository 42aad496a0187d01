"""Write ``locks/dev.txt`` and ``locks/run.txt`` anew from ``pyproject.toml``.

    python tools/lock.py                 keeps the versions already chosen where they still fit
    python tools/lock.py --upgrade       moves every package to its newest version

The locks hold for every system and every Python this project supports, carry the hash of every file,
and name no address: where packages come from is the installing machine's own affair.
"""

from __future__ import annotations

import re
import shutil
import subprocess
import sys
import tempfile
import venv
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent
LOCKS = ROOT / "locks"
ADDRESS = re.compile(r"://|^--|file:", re.MULTILINE)
COMPILE = "pip compile pyproject.toml --universal --python-version 3.11 --no-config --quiet"
CONTENT = "--generate-hashes --no-annotate --custom-compile-command"


def main(arguments: list[str]) -> int:
    """Lock the larger set first; the smaller one takes the same versions."""
    with tempfile.TemporaryDirectory() as scratch:
        uv = shutil.which("uv") or borrowed_uv(Path(scratch))
        lock(uv, ["--group", "dev", *arguments], LOCKS / "dev.txt")
        lock(uv, ["--group", "build", "-c", "locks/dev.txt", *arguments], LOCKS / "run.txt")
    return 0


def borrowed_uv(scratch: Path) -> str:
    """Install uv into a throw-away environment; it is needed for locking only."""
    venv.create(scratch / "uv", with_pip=True)
    python = scratch / "uv" / "bin" / "python"
    subprocess.run([python, "-m", "pip", "install", "--quiet", "uv"], check=True)
    return str(python.with_name("uv"))


def lock(uv: str, arguments: list[str], target: Path) -> None:
    """Write one lock and refuse it where an address has crept in."""
    words = [uv, *COMPILE.split(), *CONTENT.split(), "make lock", *arguments, "-o", str(target)]
    subprocess.run(words, cwd=ROOT, check=True)
    found = ADDRESS.search(target.read_text(encoding="utf-8"))
    if found:
        sys.exit(f"lock: {target.name} holds an address or an option: {found.group()!r}. Do not commit it.")


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
