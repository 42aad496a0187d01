"""What goes outside with a sealed plan: the field page of a phone, and the list on paper."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from evenglide.fieldlog.phone_plan import phone_plan
from evenglide.steps.sealed_study import SealedStudy, sealed_study
from evenglide.store.log import read_log
from evenglide.store.pages import write_bytes, write_page
from evenglide.store.study_folder import log_path, out_path

SHEET_FORMAT = "evenglide.sheet/1"
PHONE_FILE, PAPER_FILE = "phone.html", "launches.pdf"


@dataclass(frozen=True, slots=True, kw_only=True)
class Sheets:
    """What was written; None for what was not asked for."""

    phone: str | None
    paper: str | None
    fingerprint: str

    def to_dict(self) -> dict[str, object]:
        """Return it as the plain ``evenglide.sheet/1`` document."""
        return {
            "format": SHEET_FORMAT,
            "fingerprint": self.fingerprint,
            "phone": self.phone,
            "paper": self.paper,
        }


def make_sheets(folder: str, *, phone: str | None = None, paper: str | None = None) -> Sheets:
    """Write what goes outside; both, into the study's folder for results, where no place is named."""
    sealed = sealed_study(read_log(log_path(folder)), where=log_path(folder))
    if phone is None and paper is None:
        phone, paper = out_path(folder, PHONE_FILE), out_path(folder, PAPER_FILE)
    if phone is not None:
        write_page(phone, phone_html(sealed))
    if paper is not None:
        write_bytes(paper, paper_pdf(sealed))
    return Sheets(phone=phone, paper=paper, fingerprint=sealed.seal.fingerprint)


def paper_pdf(sealed: SealedStudy) -> bytes:
    """Draw the list on paper of a sealed study."""
    from evenglide.report.paper_sheet import paper_sheet

    return paper_sheet(_plan(sealed))


def phone_html(sealed: SealedStudy) -> str:
    """Write the field page of a sealed study."""
    from evenglide.report.phone_page import phone_page

    return phone_page(_plan(sealed))


def _plan(sealed: SealedStudy) -> dict[str, Any]:
    return phone_plan(sealed.study, sealed.schedule, fingerprint=sealed.seal.fingerprint)
