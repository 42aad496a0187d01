"""Tags for gear whose treatment is hidden: a bird and a number of dots, which say nothing in themselves.

No letters, numbers in order or colours: those suggest which is the treated one, and colours look alike to
one man in twelve (common practice, no source).
"""

from __future__ import annotations

from evenglide.plan.orders import Source, shuffled

BIRDS = (
    *("heron", "plover", "wren", "swift", "dunlin", "avocet", "bittern", "osprey", "dipper", "linnet"),
    *("curlew", "gannet", "fulmar", "puffin", "kestrel", "merlin", "swallow", "martin", "siskin", "pipit"),
    *("wigeon", "teal", "smew", "knot", "ruff", "snipe", "whimbrel", "petrel", "shearwater", "crane"),
    *(
        "stork",
        "egret",
        "hoopoe",
        "nuthatch",
        "starling",
        "sparrow",
        "lapwing",
        "razorbill",
        "kittiwake",
        "tern",
    ),
)
MOST_DOTS = 3
DOT = "•"


class Tags:
    """Deals tags; each bird once before any comes again."""

    def __init__(self, uniform: Source) -> None:
        self._uniform = uniform
        self._birds: list[str] = []

    def deal(self, count: int) -> tuple[str, ...]:
        """Deal tags for preparations launched together: different birds, different numbers of dots.

        Parameters
        ----------
        count : int

        Returns
        -------
        tuple of str
            Such as ``"•• heron"``.
        """
        dots = shuffled([DOT * number for number in range(1, max(count, MOST_DOTS) + 1)], self._uniform)
        return tuple(f"{dots[at]} {self._bird()}" for at in range(count))

    def _bird(self) -> str:
        if not self._birds:
            self._birds = list(shuffled(BIRDS, self._uniform))
        return self._birds.pop()
