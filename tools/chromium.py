"""Find the Chromium that the browser tests drive; on a Debian machine's root account, install it.

    python tools/chromium.py        prints the path

Looks at ``$CHROMIUM``, then on the PATH. Never downloads a browser by itself: the one place it may
come from is the system's own packages.
"""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
from pathlib import Path

NAMES = ("chromium", "chromium-browser", "google-chrome", "google-chrome-stable")

# Nothing in a test may call home, and a headless machine has no graphics card.
QUIET = (
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
)

MISSING = """no Chromium found, and the browser tests need one. Either
  install it:        apt-get install chromium   (Debian; as root `python tools/chromium.py` does it)
  or name yours:     export CHROMIUM=/path/to/chromium-or-chrome"""


class ChromiumMissingError(RuntimeError):
    """No browser to test with; the message says how to get one."""


def find_chromium() -> Path:
    """Path of the Chromium to use; raises `ChromiumMissingError` where there is none."""
    named = os.environ.get("CHROMIUM")
    if named:
        found = shutil.which(named)
        if found is None:
            raise ChromiumMissingError(f"$CHROMIUM names {named!r}, which is no program that can be run.")
        return Path(found)
    for name in NAMES:
        found = shutil.which(name)
        if found is not None:
            return Path(found)
    raise ChromiumMissingError(MISSING)


def launch_arguments() -> list[str]:
    """Arguments for a test browser; root has no sandbox to offer."""
    return [*QUIET, "--no-sandbox"] if is_root() else list(QUIET)


def is_root() -> bool:
    """Whether this process may install system packages."""
    return hasattr(os, "geteuid") and os.geteuid() == 0


def install_chromium() -> None:
    """Install Debian's Chromium; silent where this account or system cannot."""
    if not is_root() or shutil.which("apt-get") is None:
        return
    quiet = {**os.environ, "DEBIAN_FRONTEND": "noninteractive"}
    for step in (["update", "-q"], ["install", "-q", "-y", "--no-install-recommends", "chromium"]):
        print(f"chromium: apt-get {' '.join(step)}", file=sys.stderr, flush=True)
        done = subprocess.run(["apt-get", *step], env=quiet, stdout=sys.stderr, check=False)
        if done.returncode != 0:
            print(f"chromium: apt-get {step[0]} failed", file=sys.stderr)


def main() -> int:
    """Print the path, installing first where that is possible and needed."""
    try:
        try:
            found = find_chromium()
        except ChromiumMissingError:
            install_chromium()
            found = find_chromium()
    except ChromiumMissingError as problem:
        print(f"chromium: {problem}", file=sys.stderr)
        return 1
    print(found)
    return 0


if __name__ == "__main__":
    sys.exit(main())
