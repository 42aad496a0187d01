"""A study: one question being settled, with everything a person decided about it.

Quantities are in SI; what a person did not say is None. The document that people write is read in
`document`; these records are what every other room knows.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Literal

from evenglide.typing import Adjust, Scale

MarkKind = Literal["run-out", "timed mark", "gate times", "path", "number"]
Sharing = Literal["shared over surfaces", "fresh on each surface"]
BlockKind = Literal["pairs", "complete blocks"]
Layout = Literal["in parallel", "in sequence"]
OrderRule = Literal["uniform", "balanced"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Treatment:
    """One of the things compared. Times are of one preparation, in seconds."""

    name: str
    reference: bool = False
    hands_on_s: float | None = None
    waiting_s: float | None = None
    removable: bool = True
    note: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Item:
    """One physical piece of gear. Mass: [kg], None if not known."""

    name: str
    mass_kg: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Surface:
    """A condition the gear meets, how launches are marked there, and what launching there costs.

    `margin` holds the low and high end of what does not matter there, on the study's scale, or None.
    """

    name: str
    mark: MarkKind = "run-out"
    after_s: float | None = None
    minutes_per_launch: float | None = None
    not_after: tuple[str, ...] = ()
    margin: tuple[float, float] | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Design:
    """How preparations, blocks and launches are laid out."""

    preparations: Sharing = "shared over surfaces"
    blocks: BlockKind = "pairs"
    layout: Layout = "in parallel"
    directions: tuple[str, ...] = ("out",)
    order: OrderRule = "uniform"
    practice_launches: int = 0
    wear_check: int = 0
    return_to_bare: int = 0
    residual: Literal["pooled", "own pair"] = "pooled"


@dataclass(frozen=True, slots=True, kw_only=True)
class Outing:
    """A day or half-day outside: ISO day, hours as typed, surfaces that can be met."""

    day: str
    start: str
    end: str
    surfaces: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Costs:
    """What it takes to be outside. Rig set-up: [s]; reserve: share of an outing that is kept free.

    `measured` is the folder, seen from the study's own, of a study in whose log times were measured; "" for
    none.
    """

    rig_set_up_s: float | None = None
    reserve: float | None = None
    outings: tuple[Outing, ...] = ()
    measured: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Scatter:
    """Relative scatter expected (ratio scale) or in the response's unit, with the df it is worth.

    `source` says where it comes from: "stated", "unknown", or a table in the study's folder, whose columns
    are called as `columns` says.
    """

    preparations: float | None = None
    launches: float | None = None
    as_if_from: int | None = None
    source: str = "unknown"
    columns: Mapping[str, str] = field(default_factory=dict)


@dataclass(frozen=True, slots=True, kw_only=True)
class Rig:
    """The launcher."""

    kind: str = "hand"
    base_touches_while_pushing: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Study:
    """One question with everything that belongs to it.

    Parameters
    ----------
    title, response : str
    unit : str or None
        Unit of the response where known.
    better : {"higher", "lower"}
    scale : {"ratio", "difference"}
    margin : tuple of float, or None
        What does not matter, on the analysis scale, where a surface states nothing else.
    level : float
    adjust : {"holm", "both", "none"}
    main : str or None
        Surface that the argument is about.
    treatments : tuple of Treatment
        The reference first.
    items : tuple of Item
    item_word : str
        What an item is called: board, sled, ...
    surfaces : tuple of Surface
    design : Design
    costs : Costs
    scatter : Scatter
    looks : int
        Planned analyses, the last included.
    looks_at : tuple of float
        Share of the preparations after which each is made, rising to 1; equal steps if empty. [1]
    rig : Rig
    void_reasons : tuple of str
        Causes for which a launch may be set aside.
    expected_voids : float or None
        Share of launches that is expected to be set aside. [1]
    hidden_from : tuple of str
        Who does not know which treatment is which.
    paid_by : str
        Who pays for it; "" if not said.
    own : mapping
        The person's own table ``[x]``: kept, sealed, never read.
    """

    title: str
    response: str = "distance"
    unit: str | None = None
    better: Literal["higher", "lower"] = "higher"
    scale: Scale = "ratio"
    margin: tuple[float, float] | None = None
    level: float = 0.05
    adjust: Adjust = "holm"
    main: str | None = None
    treatments: tuple[Treatment, ...]
    items: tuple[Item, ...]
    item_word: str = "item"
    surfaces: tuple[Surface, ...]
    design: Design = field(default_factory=Design)
    costs: Costs = field(default_factory=Costs)
    scatter: Scatter = field(default_factory=Scatter)
    looks: int = 1
    looks_at: tuple[float, ...] = ()
    rig: Rig = field(default_factory=Rig)
    void_reasons: tuple[str, ...] = ()
    expected_voids: float | None = None
    hidden_from: tuple[str, ...] = ()
    paid_by: str = ""
    own: Mapping[str, object] = field(default_factory=dict)

    @property
    def reference(self) -> Treatment:
        """The treatment that the others are held against."""
        return self.treatments[0]
