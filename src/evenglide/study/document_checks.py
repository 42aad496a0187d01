"""What must hold between the keys of study.toml, beyond each value by itself."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from decimal import Decimal
from itertools import pairwise

from evenglide.show.typed import did_you_mean, listing, quoted
from evenglide.study.document_models import StudyDocument, SurfaceTable
from evenglide.study.document_problems import Findings, Path
from evenglide.study.margin import Margin
from evenglide.typing import Scale
from evenglide.units.quantities import length_factor

FEWEST = {"treatment": 2, "item": 1, "surface": 1}


def check(document: StudyDocument, findings: Findings) -> None:
    """Note everything that does not fit together."""
    for key, fewest in FEWEST.items():
        _check_names(document, findings, key=key, fewest=fewest)
    _check_reference(document, findings)
    surfaces = document.surface or []
    for at, surface in enumerate(surfaces):
        _check_mark(surface, ("surface", at), findings)
    if not findings.blames(("surface",)):
        _check_surface_names(document, findings)
        _check_circles(surfaces, findings)
    _check_amounts(document, findings)
    _check_design(document, findings)
    _check_looks(document, findings)
    for at, outing in enumerate((document.costs and document.costs.outings) or []):
        if outing.start and outing.end and outing.start >= outing.end:
            path: Path = ("costs", "outings", at, "to")
            findings.add("bad-hour", path, expected=f"an hour after {outing.start}", remedy="Correct it.")


# ------------------------------------------------------------------------------------------ names


def _check_names(document: StudyDocument, findings: Findings, *, key: str, fewest: int) -> None:
    entries = getattr(document, key)
    if entries is None or findings.blames((key,)):
        return
    if len(entries) < fewest:
        count = f"{len(entries)} {key}{'' if len(entries) == 1 else 's'}"
        expected = f"at least {fewest}"
        findings.add("too-few", (key,), found=count, expected=expected, remedy=f"Add a table [[{key}]].")
    first: dict[str, int] = {}
    for at, entry in enumerate(entries):
        folded = (entry.name or "").casefold()
        if folded and first.setdefault(folded, at) != at:
            findings.add(
                "same-name",
                (key, at, "name"),
                found=f"{quoted(entry.name)}, as in {key}[{first[folded]}]",
                expected="a name of its own; letter case does not tell two apart",
                remedy="Rename one of the two.",
            )


def _check_reference(document: StudyDocument, findings: Findings) -> None:
    treatments = document.treatment or []
    if len(treatments) < FEWEST["treatment"] or findings.blames(("treatment",)):
        return
    named = [at for at, treatment in enumerate(treatments) if treatment.reference]
    unsure = any(findings.blames_below(("treatment", at, "reference")) for at in range(len(treatments)))
    if len(named) == 1 or (unsure and not named):
        return
    names = [treatment.name or "" for at, treatment in enumerate(treatments) if at in named]
    findings.add(
        "no-reference" if not named else "two-references",
        ("treatment",) if not named else ("treatment", named[1], "reference"),
        found="no treatment with reference = true" if not named else f"references {listing(names)}",
        expected="exactly one treatment that the others are held against",
        remedy="Write reference = true in one table [[treatment]], and in no other.",
    )


def _check_surface_names(document: StudyDocument, findings: Findings) -> None:
    """Names of surfaces that are used elsewhere must be names of surfaces."""
    names = [surface.name for surface in document.surface or [] if surface.name]
    used: list[tuple[Path, str]] = []
    if document.study and document.study.main:
        used.append((("study", "main"), document.study.main))
    for at, surface in enumerate(document.surface or []):
        used += _listed(("surface", at, "not_after"), surface.not_after)
    for at, outing in enumerate((document.costs and document.costs.outings) or []):
        used += _listed(("costs", "outings", at, "surfaces"), outing.surfaces)
    for path, name in used:
        if name not in names:
            findings.add(
                "unknown-surface",
                path,
                found=quoted(name),
                expected=f"one of the surfaces {listing(names)}",
                remedy=did_you_mean(name, names, otherwise="Correct the name, or add the surface."),
            )


def _listed(path: Path, names: Iterable[str] | None) -> list[tuple[Path, str]]:
    return [((*path, at), name) for at, name in enumerate(names or [])]


def _check_circles(surfaces: Sequence[SurfaceTable], findings: Findings) -> None:
    """Rules of what may not come before what must leave some order of the surfaces."""
    before = {surface.name: set(surface.not_after or ()) for surface in surfaces if surface.name}
    left = dict(before)
    while left:
        free = [
            name for name in left if not any(name in later for other, later in left.items() if other != name)
        ]
        free = [name for name in free if name not in left[name]]
        if not free:
            break
        for name in free:
            del left[name]
    circle = [name for name in left if left[name] & left.keys()]
    if circle:
        at = next(at for at, surface in enumerate(surfaces) if surface.name in circle)
        findings.add(
            "not-after-circle",
            ("surface", at, "not_after"),
            found=f"rules among {listing([name for name in circle if name])} that no order can keep",
            expected="rules that leave at least one order of the surfaces",
            remedy="Take out one of these rules.",
        )


# --------------------------------------------------------------------------------- marks and amounts


def _check_mark(surface: SurfaceTable, path: Path, findings: Findings) -> None:
    after: Path = (*path, "after")
    if findings.blames((*path, "mark")) or findings.blames(after):
        return
    if surface.mark == "timed mark" and surface.after is None:
        findings.add(
            "no-mark-time",
            after,
            expected="the time after release at which the mark is taken",
            remedy='Add it, such as after = "7 s".',
        )
    elif surface.mark != "timed mark" and surface.after is not None:
        findings.add(
            "mark-time-unused",
            after,
            expected='a time only where mark = "timed mark"',
            remedy='Write mark = "timed mark", or take the time out.',
        )


def _check_amounts(document: StudyDocument, findings: Findings) -> None:
    """Margins and scatters are all percentages, or all in one unit."""
    study, scatter = document.study, document.scatter
    stated: list[tuple[Path, Margin | None]] = [(("study", "matters"), study.matters if study else None)]
    stated += [(("surface", at, "matters"), one.matters) for at, one in enumerate(document.surface or [])]
    if scatter:
        stated += [
            (("scatter", "preparations"), scatter.preparations),
            (("scatter", "launches"), scatter.launches),
        ]
    amounts = [(path, amount) for path, amount in stated if amount is not None]
    scale, unit = settled_scale(document), settled_unit(document)
    for path, amount in amounts:
        if amount.scale == "difference" and amount.unit is None and needs_unit(document):
            findings.add(
                "no-unit",
                path,
                expected='a percentage such as "10 %", or a number with its unit such as "0.25 m"',
                remedy="Add the unit: 5 could be five per cent or five metres.",
            )
        elif amount.scale != scale:
            findings.add("another-kind", path, **_other_kind(amount, scale))
        elif scale == "difference" and factor(amount.unit, unit) is None:
            findings.add(
                "another-unit",
                path,
                expected=f"an amount in {unit}",
                remedy="Write all amounts in the unit of the response.",
            )


def _other_kind(amount: Margin, scale: Scale) -> dict[str, str]:
    if scale == "ratio":
        return {
            "expected": "a percentage, as this study compares ratios",
            "remedy": 'Write all amounts in %, or all in one unit with scale = "difference".',
        }
    return {
        "expected": "a number with its unit, as this study compares differences",
        "remedy": f"Write all amounts in one unit, or all in % (here: {amount.text}).",
    }


def settled_scale(document: StudyDocument) -> Scale:
    """Scale of the study: as stated, else of the first amount that is clear about it, else ratios."""
    if document.study and document.study.scale:
        return document.study.scale
    stated = _amounts(document)
    clear = [
        amount for amount in stated if amount.scale == "ratio" or amount.unit or not needs_unit(document)
    ]
    return next((amount.scale for amount in [*clear, *stated]), "ratio")


def settled_unit(document: StudyDocument) -> str | None:
    """Unit of the response: as stated, else of the first amount that has one."""
    if document.study and document.study.unit:
        return document.study.unit
    return next((amount.unit for amount in _amounts(document) if amount.unit), None)


def _amounts(document: StudyDocument) -> list[Margin]:
    """Every amount that was stated: margins first, the study's before those of surfaces."""
    study, scatter = document.study, document.scatter
    amounts = [study.matters if study else None, *(surface.matters for surface in document.surface or [])]
    amounts += [scatter.preparations, scatter.launches] if scatter else []
    return [amount for amount in amounts if amount is not None]


def needs_unit(document: StudyDocument) -> bool:
    """Whether an amount must name its unit: everywhere but where only bare numbers are recorded."""
    return any(surface.mark != "number" for surface in document.surface or [])


def factor(unit: str | None, wanted: str | None) -> Decimal | None:
    """By how much an amount is multiplied to be in the wanted unit; None where it cannot be."""
    if unit == wanted or unit is None:
        return Decimal(1)
    one, other = length_factor(unit), length_factor(wanted)
    return None if one is None or other is None else one / other


# ------------------------------------------------------------------------------------------- design


def _check_design(document: StudyDocument, findings: Findings) -> None:
    """Items and treatments must fit the layout."""
    design, treatments, items = document.design, document.treatment or [], document.item or []
    directions = (design and design.directions) or []
    if len({name.casefold() for name in directions}) < len(directions):
        expected = "two different directions"
        findings.add("same-name", ("design", "directions"), expected=expected, remedy="Rename one.")
    layout = settled_layout(document)
    if design and design.order == "balanced" and (layout != "in sequence" or len(treatments) != 2):
        findings.add(
            "balanced-order",
            ("design", "order"),
            expected='"uniform", unless two treatments follow each other on one item',
            remedy='Write order = "uniform", or leave the key out.',
        )
    size = block_size(document)
    if (
        layout == "in parallel"
        and len(treatments) > 1
        and items
        and not stays(document)
        and len(items) != size
    ):
        findings.add(
            "items-against-layout",
            ("item",),
            found=f"{len(items)} item{'s' * (len(items) != 1)}",
            expected=f"{size} items, one for each preparation of a round",
            remedy='Add or take out items, or write layout = "in sequence" in [design].',
        )


def _check_looks(document: StudyDocument, findings: Findings) -> None:
    """Half-way checks must come one after the other, the last at the end."""
    looks = document.looks
    if looks is None or looks.at is None or findings.blames_below(("looks", "at")):
        return
    if looks.at[-1] != 1:
        findings.add(
            "looks-not-at-end",
            ("looks", "at", len(looks.at) - 1),
            expected="1: the last analysis is the one of all launches",
            remedy="Add 1 at the end of the list.",
        )
    for place, (early, late) in enumerate(pairwise(looks.at), start=1):
        if late <= early:
            findings.add(
                "looks-not-rising",
                ("looks", "at", place),
                expected="a larger part than the one before it",
                remedy="Write the parts in rising order, each once.",
            )
    if looks.number is not None and looks.number != len(looks.at):
        findings.add(
            "looks-against-number",
            ("looks", "number"),
            expected=f"{len(looks.at)}, as many as at has parts",
            remedy="Leave number out, or correct one of the two.",
        )


def settled_layout(document: StudyDocument) -> str:
    """Layout as stated, else in sequence where there is a single item."""
    if document.design and document.design.layout:
        return document.design.layout
    return "in sequence" if len(document.item or []) == 1 else "in parallel"


def block_size(document: StudyDocument) -> int:
    """Preparations in a round."""
    complete = document.design is not None and document.design.blocks == "complete blocks"
    return len(document.treatment or []) if complete else 2


def stays(document: StudyDocument) -> bool:
    """Whether some treatment never comes off, so that each item carries one treatment for good."""
    return any(treatment.removable is False for treatment in document.treatment or [])
