"""Everything a user can reach is described: names in docstrings, commands in their help and the pages."""

from __future__ import annotations

import inspect
import re
import typing
from collections.abc import Callable, Iterator

import click
import pytest

import evenglide
import evenglide.cli.main
from tests.house.tree import project_files

HEADER = re.compile(r"^(\w[\w ]*)\n-{3,}$", re.MULTILINE)


def sections(docstring: str) -> dict[str, str]:
    """A docstring in numpydoc's form as its parts; what comes before the first heading is called ''."""
    pieces = HEADER.split(inspect.cleandoc(docstring))
    return {"": pieces[0], **dict(zip(pieces[1::2], pieces[2::2], strict=True))}


def described(section: str) -> set[str]:
    """Names that a section of a docstring describes."""
    rows = re.findall(r"^(\S[^:\n]*?)(?: ?:.*)?$", section, re.MULTILINE)
    return {name.strip().lstrip("*") for row in rows for name in row.split(",")}


def parameters(thing: Callable[..., object]) -> set[str]:
    """Names of the arguments of `thing`, without those of a type parameter or an instance."""
    return {name for name in inspect.signature(thing).parameters if name not in {"self", "cls"}}


def gaps(thing: object) -> list[str]:
    """What the docstring of a public thing leaves untold."""
    if not (inspect.isclass(thing) or inspect.isroutine(thing)):
        return []
    if not thing.__doc__ or thing.__doc__.startswith(f"{thing.__name__}("):
        return ["has no docstring"]
    parts = sections(thing.__doc__)
    found = [] if parts[""].split("\n")[0].strip().endswith(".") else ["its first line is no sentence"]
    if inspect.isclass(thing) and (typing.is_typeddict(thing) or issubclass(thing, BaseException)):
        return found
    told = described(parts.get("Parameters", "")) | described(parts.get("Attributes", ""))
    found += [f"{name} is not described" for name in sorted(parameters(thing) - told)]
    if inspect.isroutine(thing) and returns(thing) and not {"Returns", "Yields"} & parts.keys():
        found.append("what it returns is not described")
    return found


def returns(function: Callable[..., object]) -> bool:
    """Whether `function` gives something back, as far as its signature tells."""
    return inspect.signature(function).return_annotation not in (None, "None")


def test_public_names_are_described() -> None:
    assert len(evenglide.__all__) == len(set(evenglide.__all__)) > 0
    found = {name: problems for name in evenglide.__all__ if (problems := gaps(getattr(evenglide, name)))}
    assert found == {}


def whole(distance: float) -> float:
    """Give it back.

    Parameters
    ----------
    distance : float
        How far. [m]

    Returns
    -------
    float
        The same. [m]
    """
    return distance


def without_units(distance, mass):
    """Give it back.

    Parameters
    ----------
    distance : float
        How far.
    """


def untold(distance): ...


@pytest.mark.parametrize(
    ("thing", "found"),
    [
        (whole, []),
        (without_units, ["mass is not described", "what it returns is not described"]),
        (untold, ["has no docstring"]),
    ],
)
def test_a_gap_is_seen(thing: object, found: list[str]) -> None:
    assert gaps(thing) == found


def commands(command: click.Command, path: str) -> Iterator[tuple[str, click.Command]]:
    """Every command below `command` with the words that call it."""
    yield path, command
    if isinstance(command, click.Group):
        with click.Context(command) as context:
            for name in command.list_commands(context):
                child = command.get_command(context, name)
                assert child is not None, name
                yield from commands(child, f"{path} {name}")


def entry() -> click.Group:
    """The command group behind `evenglide`."""
    groups = [thing for thing in vars(evenglide.cli.main).values() if isinstance(thing, click.Group)]
    assert len(groups) == 1, "one group of commands is expected in evenglide.cli.main"
    return groups[0]


def test_every_command_and_option_has_help() -> None:
    silent = []
    for words, command in commands(entry(), "evenglide"):
        if not command.help or "\\" in command.help:  # a formatter's mark that shows
            silent.append(words)
        silent += [
            f"{words} {option.opts[0]}"
            for option in command.params
            if isinstance(option, click.Option) and not option.help and not option.hidden
        ]
    assert silent == []


def test_every_command_stands_in_the_pages() -> None:
    pages = "\n".join(
        path.read_text(encoding="utf-8")
        for path in project_files("README.md", "docs")
        if path.suffix == ".md"
    )
    names = [words for words, _ in commands(entry(), "evenglide") if words != "evenglide"]
    assert names
    assert [words for words in names if not re.search(rf"\b{re.escape(words)}\b", pages)] == []
