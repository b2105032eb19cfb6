"""Every command and option that README.md, docs/exchange.md and the examples in help name is really there."""

import re
import shlex
from pathlib import Path

import pytest
import typer

from voidless.cli.app import COMMANDS, build_app

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
