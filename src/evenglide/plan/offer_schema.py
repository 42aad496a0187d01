"""The published JSON Schema of an offer, made from the classes that hold it."""

from __future__ import annotations

from evenglide.plan.results import OFFER_FORMAT, Offer
from evenglide.show.schemas import document_schema


def offer_schema() -> dict[str, object]:
    """Return the JSON Schema of ``evenglide.plan-offer/1``. Fields may be added to it, never renamed.

    Returns
    -------
    dict
        JSON Schema, draft 2020-12.
    """
    return document_schema(Offer, OFFER_FORMAT, "What each hour outside buys: layouts with their chances.")
