"""Bytes to text: a byte order mark decides, else what was asked for, else UTF-8, else refused."""

from __future__ import annotations

import codecs

from evenglide.errors import TableError
from evenglide.intake.problems import table_error
from evenglide.intake.remarks import Remark
from evenglide.show.typed import quoted

MARKS: tuple[tuple[bytes, str], ...] = (
    (codecs.BOM_UTF8, "utf-8-sig"),
    (codecs.BOM_UTF32_LE, "utf-32"),
    (codecs.BOM_UTF32_BE, "utf-32"),
    (codecs.BOM_UTF16_LE, "utf-16"),
    (codecs.BOM_UTF16_BE, "utf-16"),
)
"""Byte order marks; UTF-32 before UTF-16, whose little-endian mark begins alike."""
LOOKED_AT = 4000
"""Bytes looked at when guessing which encoding to suggest."""


def is_known_encoding(name: str) -> bool:
    """Tell whether Python can turn bytes into text under this name."""
    try:
        b"a".decode(name)
    except UnicodeError:  # known, though it cannot read this one byte
        return True
    except (LookupError, ValueError):
        return False
    return True


def decode(content: bytes, encoding: str | None) -> tuple[str, tuple[Remark, ...]]:
    """Turn the bytes of a table into text.

    Parameters
    ----------
    content : bytes
    encoding : str or None
        A known encoding that was asked for.

    Returns
    -------
    text : str
        Without a byte order mark.
    remarks : tuple of Remark
        ``encoding-by-mark`` where the mark overruled the option.

    Raises
    ------
    TableError
        ``not-decodable`` or ``binary``.
    """
    marked = next((name for mark, name in MARKS if content.startswith(mark)), None)
    try:
        text = content.decode(marked or encoding or "utf-8")
    except UnicodeError as error:
        raise _not_decodable(error, content, marked=marked, asked=encoding) from None
    if "\0" in text:
        raise _binary(text, content)
    if marked and encoding and not _same(marked, encoding):
        return text, (Remark(code="encoding-by-mark", facts={"encoding": marked, "asked": encoding}),)
    return text, ()


def _same(marked: str, asked: str) -> bool:
    """Whether two names mean the same, byte order and marks aside."""
    family = codecs.lookup(asked).name.removesuffix("-le").removesuffix("-be").removesuffix("-sig")
    return family == marked.removesuffix("-sig")


def _not_decodable(
    error: UnicodeError, content: bytes, *, marked: str | None, asked: str | None
) -> TableError:
    """Say where decoding stopped and which option may help."""
    where = "the file"
    found = f"bytes that are not {marked or asked or 'UTF-8'}"
    if isinstance(error, UnicodeDecodeError):
        line = content.count(b"\n", 0, error.start) + 1
        where = f"byte {error.start + 1} (line {line})"
        found = f"the byte 0x{content[error.start]:02x}, which is not {marked or asked or 'UTF-8'} here"
    likely = (
        f"Name the encoding, such as --encoding {_unmarked(content) or 'cp1252'}, or save the file as UTF-8."
    )
    return table_error(
        "not-decodable",
        where=where,
        found=found,
        expected="text in UTF-8, text with a byte order mark, or an encoding that is named",
        remedy="Save the file as UTF-8." if marked else likely,
    )


def _unmarked(content: bytes) -> str | None:
    """Recognise UTF-16 without a byte order mark: in Latin letters, every other byte is nought."""
    head = content[:LOOKED_AT]
    first, second = head[0::2].count(0), head[1::2].count(0)
    if max(first, second) <= len(head) / 4 or min(first, second) > 0:
        return None
    return "utf-16-le" if second else "utf-16-be"


def _binary(text: str, content: bytes) -> TableError:
    """Tell unmarked UTF-16 from what is no text at all."""
    name = _unmarked(content)
    remedy = "Save the table as CSV or XLSX and name that file."
    if name:
        remedy = f"This looks like UTF-16 without a byte order mark: try --encoding {name}."
    return table_error(
        "binary",
        where=f"character {text.index(chr(0)) + 1}",
        found=f"a NUL character, so no plain text: the file begins with {quoted(text[:12])}",
        expected="a table as text (CSV, TSV) or an XLSX workbook",
        remedy=remedy,
    )
