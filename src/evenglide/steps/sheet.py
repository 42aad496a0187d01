"""What goes outside with a sealed plan: the field page of a phone, and the list on paper."""

from __future__ import annotations

from dataclasses import dataclass

from evenglide.fieldlog.phone_plan import phone_plan
from evenglide.steps.sealed_study import SealedStudy, sealed_study
from evenglide.store.log import read_log
from evenglide.store.pages import write_page
from evenglide.store.study_folder import log_path, out_path

SHEET_FORMAT = "evenglide.sheet/1"
PHONE_FILE = "phone.html"


@dataclass(frozen=True, slots=True, kw_only=True)
class Sheets:
    """What was written, each None if it was not asked for."""

    phone: str | None
    fingerprint: str

    def to_dict(self) -> dict[str, object]:
        """Return it as the plain ``evenglide.sheet/1`` document."""
        return {"format": SHEET_FORMAT, "fingerprint": self.fingerprint, "phone": self.phone}


def make_sheets(folder: str, *, phone: str | None = None) -> Sheets:
    """Write what goes outside; into the study's folder for results where no place is named."""
    sealed = sealed_study(read_log(log_path(folder)), where=log_path(folder))
    path = phone or out_path(folder, PHONE_FILE)
    write_page(path, phone_html(sealed))
    return Sheets(phone=path, fingerprint=sealed.seal.fingerprint)


def phone_html(sealed: SealedStudy) -> str:
    """Write the field page of a sealed study."""
    from evenglide.report.phone_page import phone_page

    return phone_page(phone_plan(sealed.study, sealed.schedule, fingerprint=sealed.seal.fingerprint))
