"""Every command and option that README.md, docs/exchange.md and the examples in help name is really there."""

import re
import shlex
from pathlib import Path

import pytest
import typer

from voidless.cli.app import COMMANDS, build_app
from voidless.twin.context import DEFAULT_CONTEXT

ROOT = Path(__file__).parents[2]
PAGES = sorted([ROOT / "README.md", ROOT / "docs" / "exchange.md", *(ROOT / "docs").glob("how-to/*.md")])
OPTION = re.compile(r"(?<![\w-])(--[a-z][a-z-]*)")


def _options():
    """Return the options of every command by its name."""
    group = typer.main.get_command(build_app())
    return {
        name: {option for parameter in command.params for option in parameter.opts if option.startswith("--")}
        | {"--help"}
        for name, command in group.commands.items()
    }


def _code(text):
    """Return code of a page: fenced lines, and code inside a line with its line breaks joined."""
    fenced = re.findall(r"```[a-z]*\n(.*?)```", text, re.DOTALL)
    inline = re.findall(r"`([^`]+)`", re.sub(r"```.*?```", "", text, flags=re.DOTALL))
    return [line for block in fenced for line in block.splitlines()] + [" ".join(c.split()) for c in inline]


def _commands(text):
    """Return (command, options) of every piece of code that calls the program or begins with a command."""
    found = []
    for line in _code(text):
        for piece in line.split("#")[0].split(";"):
            words = piece.replace("[", " ").replace("]", " ").split()
            if words[:1] == ["voidless"]:
                words = words[1:]
            elif not (len(words) > 1 and words[0] in COMMANDS):
                continue
            if words:
                found.append((words[0], OPTION.findall(piece)))
    return found


@pytest.mark.parametrize("page", PAGES, ids=lambda path: path.name)
def test_commands_of_a_page_exist_with_their_options(page):
    known = _options()
    named = _commands(page.read_text(encoding="utf-8"))
    assert named, "the page names no command: is this test still reading it?"
    for verb, options in named:
        if verb.startswith("-"):
            continue
        assert verb in known, verb
        assert set(options) <= known[verb], (verb, options)


def test_exchange_page_names_every_command_and_no_other():
    text = (ROOT / "docs" / "exchange.md").read_text(encoding="utf-8")
    section = text.split("## Command line")[1].split("\n## ")[0]
    assert {verb for verb, _ in _commands(section)} >= set(COMMANDS)


def test_readme_uses_every_command_but_the_demo_alone():
    text = (ROOT / "README.md").read_text(encoding="utf-8")
    assert {verb for verb, _ in _commands(text)} >= set(COMMANDS) - {"demo"}


@pytest.mark.parametrize("verb", COMMANDS)
def test_example_in_help_has_options_that_exist(verb):
    known = _options()
    for example in re.findall(r"`(voidless [^`]*)`", COMMANDS[verb].__doc__):
        words = shlex.split(" ".join(example.split()))
        assert words[1] in known
        assert {word for word in words if word.startswith("--")} <= known[words[1]] | {"list"}


def _rows(page):
    """Return the cells of every row of the tables of a page, heads left out."""
    lines = (ROOT / "docs/how-to" / page).read_text(encoding="utf-8").splitlines()
    return [[cell.strip() for cell in line.strip("|").split("|")] for line in lines if line.startswith("| ")]


def test_every_condition_is_explained():
    """A person can state each of them, so each is told what it is."""
    told = {name for row in _rows("look-before-printing.md") for name in re.findall(r"`(\w+)`", row[0])}
    assert told == set(DEFAULT_CONTEXT)


@pytest.mark.parametrize(
    ("page", "verb"), [("look-before-printing.md", "predict"), ("judge-a-part.md", "part")]
)
def test_pages_explain_what_the_screen_says(page, verb):
    """The words that a row explains are words of the screen."""
    source = (ROOT / f"src/voidless/cli/commands/{verb}.py").read_text(encoding="utf-8")
    said = re.sub(r'"\s+f?"', "", source)
    rows = [
        row[0] for row in _rows(page) if "`" not in row[0] and row[0] not in ("the screen says", "condition")
    ]
    assert len(rows) >= 6
    for row in rows:
        for piece in filter(None, (part.strip() for part in re.split(r"\.\.\.|; |, | N$", row))):
            assert piece in said, piece
