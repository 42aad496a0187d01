"""Reading the file of a table, whatever its name ends in."""

from __future__ import annotations

import hashlib
import os
from pathlib import Path

from evenglide.errors import OptionError, Problem, TableError
from evenglide.intake.delimited import read_delimited
from evenglide.intake.options import JudgeOptions
from evenglide.intake.problems import table_error
from evenglide.intake.sheet import Sheet
from evenglide.show.typed import did_you_mean, quoted

MAX_FILE_BYTES = 50_000_000
"""Five times the largest table that is promised to be quick."""

ZIP_SIGNATURES = (b"PK\x03\x04", b"PK\x05\x06")
"""First bytes of a zip archive, with and without members (PKWARE APPNOTE 6.3.10, 4.3.7 and 4.3.16)."""
COMPOUND_FILE_SIGNATURE = bytes.fromhex("d0cf11e0a1b11ae1")
"""First bytes of a compound file, in which old and encrypted workbooks come ([MS-CFB] 2.2)."""
ENCRYPTED_STREAM = "EncryptedPackage".encode("utf-16-le")
"""Name of the stream that an encrypted workbook keeps in a compound file ([MS-OFFCRYPTO] 1.3.2)."""


def read_table(path: str | os.PathLike[str], options: JudgeOptions) -> tuple[Sheet, str]:
    """Read a table: a workbook if the file is a zip archive, else text.

    Parameters
    ----------
    path : path
    options : JudgeOptions

    Returns
    -------
    sheet : Sheet
    sha256 : str
        Of the bytes of the file, 64 hexadecimal digits.

    Raises
    ------
    OptionError
        If the options contradict each other, or the kind of the file.
    TableError
        If the file cannot be read, or is no table.
    """
    options.checked()
    content = read_bytes(Path(path))
    made = _read(content, sheet=options.sheet, encoding=options.encoding)
    return made, hashlib.sha256(content).hexdigest()


def read_list(
    path: str | os.PathLike[str], *, sheet: str | None = None, encoding: str | None = None
) -> Sheet:
    """Read a filled-in list of launches.

    Parameters
    ----------
    path : path
    sheet : str or None
        Worksheet of a workbook.
    encoding : str or None
        Encoding of a text file; known to be one.

    Returns
    -------
    Sheet

    Raises
    ------
    OptionError, TableError
        As `read_table`.
    """
    return _read(read_bytes(Path(path)), sheet=sheet, encoding=encoding)


def read_bytes(path: Path) -> bytes:
    """Read a whole file of a bounded size.

    Raises
    ------
    TableError
        ``no-such-file``, ``not-a-file``, ``unreadable-file`` or ``too-large``.
    """
    try:
        if path.is_dir():
            raise table_error(
                "not-a-file",
                where=_shown(path),
                found="a folder",
                expected="a file",
                remedy="Name the file that holds the launches.",
            )
        with path.open("rb") as file:
            content = file.read(MAX_FILE_BYTES + 1)
    except FileNotFoundError:
        raise _no_such_file(path) from None
    except (OSError, ValueError) as error:  # ValueError: a name that no file can have
        raise table_error(
            "unreadable-file",
            where=_shown(path),
            found=f"a file that cannot be read ({getattr(error, 'strerror', None) or error})",
            expected="a file that may be read",
            remedy="Check the name and the permissions of the file.",
        ) from None
    if len(content) > MAX_FILE_BYTES:
        raise table_error(
            "too-large",
            where=_shown(path),
            found=f"more than {MAX_FILE_BYTES:,} bytes",
            expected=f"at most {MAX_FILE_BYTES:,} bytes",
            remedy="Keep only the rows of launches and the columns that are named.",
        )
    return content


def _read(content: bytes, *, sheet: str | None, encoding: str | None) -> Sheet:
    """Tell by its first bytes what a file is, and read it."""
    if content.startswith(ZIP_SIGNATURES):
        _refuse(encoding, "--encoding", kind="a workbook, which says itself how its text is coded")
        from evenglide.store.workbook import read_workbook  # slow to import, and most tables are text

        return read_workbook(content, sheet=sheet)
    if content.startswith(COMPOUND_FILE_SIGNATURE):
        raise _compound_file(content)
    _refuse(sheet, "--sheet", kind="a text file, which has no worksheets")
    return read_delimited(content, encoding=encoding)


def _refuse(value: str | None, flag: str, *, kind: str) -> None:
    """Refuse an option that means nothing for this kind of file."""
    if value is not None:
        raise OptionError(
            [
                Problem(
                    code="option-against-file",
                    where=flag,
                    found=f"{flag} {quoted(value)} for {kind}",
                    expected=f"no {flag} for such a file",
                    remedy=f"Leave {flag} out, or name another file.",
                )
            ]
        )


def _compound_file(content: bytes) -> TableError:
    from evenglide.store.workbook import encrypted_workbook, other_kind

    if ENCRYPTED_STREAM in content:
        return encrypted_workbook()
    return other_kind("a workbook of the old kind (.xls), or another old document")


def _shown(path: Path) -> str:
    """Write a path so that any terminal can show it."""
    return str(path).encode("utf-8", "backslashreplace").decode("utf-8").replace("\0", "\\0")


def _no_such_file(path: Path) -> TableError:
    """Say which names in the same folder are near."""
    try:
        neighbours = sorted(entry.name for entry in path.parent.iterdir())
    except OSError:
        neighbours = []
    return table_error(
        "no-such-file",
        where=_shown(path),
        found="no file of this name",
        expected="a table: CSV, TSV or XLSX",
        remedy=did_you_mean(path.name, neighbours, otherwise="Check the name and the folder."),
    )
