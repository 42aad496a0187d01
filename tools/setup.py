"""Make or bring up to date a virtual environment for this project, from the locked versions.

    python tools/setup.py run .venv-run     what a user of evenglide needs
    python tools/setup.py dev .venv         that, and everything the tests and checks need

Standard library only, so that any Python 3.11 or newer can run it. Every package is checked against
the hash kept in ``locks/``; nothing is built from source. Does nothing when nothing has changed.
"""

from __future__ import annotations

import argparse
import hashlib
import os
import shutil
import subprocess
import sys
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent
OLDEST = (3, 11)
STAMP = "evenglide-setup.txt"


def main(arguments: list[str] | None = None) -> int:
    """Read the command line, make the environment, say what was done."""
    parser = argparse.ArgumentParser(
        description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter
    )
    parser.add_argument("kind", choices=["run", "dev"], help="which set of packages")
    parser.add_argument("venv", type=Path, help="folder of the environment")
    options = parser.parse_args(arguments)
    try:
        changed = set_up(options.kind, options.venv)
    except SetupError as problem:
        print(f"setup: {problem}", file=sys.stderr)
        return 1
    if changed:
        print(f"setup: {options.venv} is ready ({options.kind})")
    return 0


class SetupError(Exception):
    """Something outside the project stops the set-up; the message says what to do about it."""


def set_up(kind: str, venv: Path) -> bool:
    """Bring `venv` up to date for `kind`; tell whether anything had to be done."""
    if sys.version_info < OLDEST:
        found = ".".join(str(part) for part in sys.version_info[:2])
        raise SetupError(
            f"this is Python {found}; evenglide needs 3.11 or newer. Try: make PYTHON=python3.11"
        )
    lock = ROOT / "locks" / f"{kind}.txt"
    stamp = venv / STAMP
    wanted = fingerprint(lock)
    if stamp.is_file() and stamp.read_text(encoding="utf-8").strip() == wanted and answers(python_in(venv)):
        return False
    stamp.unlink(missing_ok=True)
    uv = shutil.which("uv")
    if not answers(python_in(venv)):
        create(venv, uv)
    install(venv, lock, uv)
    stamp.write_text(wanted + "\n", encoding="utf-8")
    return True


def fingerprint(lock: Path) -> str:
    """One hash over everything that decides what belongs in the environment."""
    digest = hashlib.sha256()
    for path in (lock, ROOT / "pyproject.toml"):
        digest.update(path.read_bytes())
    digest.update(str(ROOT).encode())  # the editable install points at this folder
    digest.update(repr(sys.version_info[:2]).encode())
    return digest.hexdigest()


def python_in(venv: Path) -> Path:
    """Path of the interpreter inside `venv`."""
    return venv / ("Scripts/python.exe" if os.name == "nt" else "bin/python")


def answers(python: Path) -> bool:
    """Whether `python` starts and has the version that runs this file (a moved or upgraded one has not)."""
    if not python.exists():
        return False
    question = "import sys; print(sys.version_info[:2])"
    told = subprocess.run([python, "-c", question], capture_output=True, text=True, check=False)
    return told.returncode == 0 and told.stdout.strip() == repr(sys.version_info[:2])


def create(venv: Path, uv: str | None) -> None:
    """Make an empty environment, afresh where a broken one is in the way."""
    if venv.exists() and not (venv / "pyvenv.cfg").is_file() and any(venv.iterdir()):
        raise SetupError(f"{venv} exists and is not a virtual environment. Name another folder or remove it.")
    if uv is not None:
        call([uv, "venv", "--quiet", "--clear", "--seed", "--python", sys.executable, venv])
        return
    try:
        import ensurepip  # noqa: F401
        import venv as _  # noqa: F401
    except ImportError:
        version = f"{sys.version_info[0]}.{sys.version_info[1]}"
        raise SetupError(
            f"this Python ({sys.executable}) comes without venv and ensurepip.\n"
            f"  On Debian or Ubuntu: apt-get install python{version}-venv\n"
            "  Elsewhere: install Python from your system's packages, or put uv on the PATH."
        ) from None
    call([sys.executable, "-m", "venv", "--clear", venv])


def install(venv: Path, lock: Path, uv: str | None) -> None:
    """Install the locked packages by hash, then this project itself, editable."""
    python = python_in(venv)
    pip = (
        [uv, "pip", "install", "--quiet", "--python", python]
        if uv
        else [python, "-m", "pip", "install", "--quiet"]
    )
    if not uv:
        pip += ["--disable-pip-version-check", "--no-warn-script-location"]
    print(f"setup: installing {lock.name} into {venv} (about 400 MB; minutes on a slow line)", flush=True)
    call([*pip, "--require-hashes", "--only-binary", ":all:", "-r", lock])
    call([*pip, "--no-deps", "--no-build-isolation", "-e", ROOT])


def call(command: list[str | Path | None]) -> None:
    """Run `command`; where it fails, its own words have been shown already."""
    words = [str(word) for word in command]
    if subprocess.run(words, check=False).returncode != 0:
        raise SetupError(f"this step failed: {' '.join(words)}")


if __name__ == "__main__":
    sys.exit(main())
