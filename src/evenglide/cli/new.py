"""``evenglide new``: start a study from a few answers."""

from __future__ import annotations

import sys
from collections.abc import Callable
from typing import Any

import click

from evenglide.cli.output import echo_json
from evenglide.cli.problems import problems_told

GROUNDS = ("shore", "snow", "rink", "turf")
NOBODY = "nobody"
RIGS = ("springs", "ramp", "bungee", "tow", "hand")


@click.command()
@click.argument("folder", type=click.Path(), default=".")
@click.option("--ground", type=click.Choice(GROUNDS), help="Where you launch; brings surfaces along.")
@click.option("--treatment", "treatments", metavar="NAME", multiple=True, help="What is tried (repeatable).")
@click.option("--reference", metavar="NAME", help="What it is held against (default: bare).")
@click.option("--title", metavar="TEXT", help="The question, in one sentence.")
@click.option("--gear", metavar="WORD", help="What one piece of gear is called: board, sled, ...")
@click.option("--item", "items", metavar="NAME", multiple=True, help="A piece of gear (repeatable).")
@click.option("--surface", "surfaces", metavar="NAME", multiple=True, help="A surface (repeatable).")
@click.option("--matters", metavar="AMOUNT", help='Smallest difference that would matter: "5 %", "0.3 m".')
@click.option(
    "--stops", type=float, nargs=2, metavar="M M", help="The same as two stopping points in metres."
)
@click.option("--main", metavar="NAME", help="The surface that the argument is about.")
@click.option("--hidden-from", metavar="WHO", multiple=True, help="Who must not know which is which.")
@click.option("--paid-by", metavar="WHO", help="Who pays for it.")
@click.option("--rig", type=click.Choice(RIGS), help="What pushes the gear.")
@click.option("--ask/--no-ask", default=None, help="Ask for what is missing (default: at a terminal).")
@click.option("--json", "as_json", is_flag=True, help="Print where the study is as one JSON object.")
def new(folder: str, *, ask: bool | None, as_json: bool, **given: Any) -> None:
    """Write a commented study.toml into FOLDER, from a few answers.

    Example: evenglide new my-study --ground snow --treatment "paraffin rub" --stops 6.0 6.3
    """
    answers = {name: value for name, value in given.items() if value not in (None, ())}
    asks = sys.stdin.isatty() and not as_json if ask is None else ask
    with problems_told(as_json=as_json):
        from evenglide.steps.new import new_study

        if asks:
            _ask(answers)
        if missing := [flag for flag in ("ground", "treatments") if flag not in answers]:
            flags = " and ".join(f"--{name.removesuffix('s')}" for name in missing)
            raise click.UsageError(f"Say {flags}, or let --ask ask for it.")
        path = new_study(folder, answers)
        if as_json:
            echo_json({"format": "evenglide.new/1", "study": path})
        else:
            click.echo(f"Study: {path}\nLook through it, it is commented. Then: evenglide plan {folder}")


def _ask(answers: dict[str, Any]) -> None:
    """Ask, in a rider's words, for what was not said; an empty line takes what stands in brackets."""
    from evenglide.study.starting_sets import STARTING_SETS

    _fill(answers, "ground", lambda: click.prompt("Where do you launch?", type=click.Choice(GROUNDS)))
    start = STARTING_SETS[answers["ground"]]
    _fill(answers, "gear", lambda: click.prompt("What do you launch?", default=start.item_word))
    gear = answers["gear"]
    _fill(answers, "items", lambda: _numbered(gear))
    _fill(answers, "reference", lambda: click.prompt("What is the other one held against?", default="bare"))
    _fill(answers, "treatments", lambda: _names("What do you try on it (several with commas)?"))
    _fill(
        answers,
        "surfaces",
        lambda: _names("On which surfaces?", default=[one.name for one in start.surfaces]),
    )
    if "matters" not in answers:
        _fill(answers, "stops", _stops)
    _fill(answers, "main", lambda: _one_of("Which surface is the argument about?", answers["surfaces"]))
    _fill(answers, "hidden_from", _hidden)
    _fill(answers, "rig", lambda: click.prompt("What pushes it?", type=click.Choice(RIGS), default="springs"))
    _fill(answers, "paid_by", lambda: click.prompt("Who pays for it?", default="ourselves"))
    for name in [name for name, value in answers.items() if value in (None, ())]:
        del answers[name]


def _fill(answers: dict[str, Any], name: str, ask: Callable[[], Any]) -> None:
    if name not in answers:
        answers[name] = ask()


def _numbered(gear: str) -> tuple[str, ...]:
    count = click.prompt(
        f"How many of them take turns ({gear} 1, {gear} 2, ...)?", type=click.IntRange(1, 99), default=2
    )
    return tuple(f"{gear} {number}" for number in range(1, count + 1))


def _names(question: str, default: list[str] | None = None) -> tuple[str, ...]:
    told = click.prompt(question, default=None if default is None else ", ".join(default))
    return tuple(name.strip() for name in str(told).split(",") if name.strip())


def _hidden() -> tuple[str, ...]:
    names = _names(f"Who must not know which is which ({NOBODY}, or names)?", default=["reader"])
    return () if names == (NOBODY,) else names


def _one_of(question: str, names: tuple[str, ...]) -> str | None:
    told = click.prompt(question, type=click.Choice([*names, "all alike"]), default="all alike")
    return None if told == "all alike" else str(told)


def _stops() -> tuple[float, float]:
    first = click.prompt("A run stops at so many metres", type=float, default=6.0)
    second = click.prompt("The nearest other stopping point at which you would care", type=float)
    return first, second
