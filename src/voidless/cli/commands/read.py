"""`voidless read`: raw files into results."""

from __future__ import annotations

import sys
from collections.abc import Mapping, Sequence
from pathlib import Path, PurePath
from typing import Annotated, Any

import typer

from voidless.cli.answer import answer
from voidless.cli.options import Folder, Json, pairs
from voidless.cli.progress import stages
from voidless.errors import InputError

_MOST_ROWS = 30
"""Most results of a read that are shown one by one."""


def command(
    folder: Folder,
    files: Annotated[
        list[Path] | None,
        typer.Argument(
            metavar="FILE...", help="Files or folders of files; with --again names of stored ones."
        ),
    ] = None,
    section: Annotated[
        list[str] | None,
        typer.Option(
            "--section", metavar="xy=20,z=30", help="Cross-sections by direction, or one for all. [mm2]"
        ),
    ] = None,
    unit: Annotated[
        list[str] | None,
        typer.Option(
            "--unit",
            metavar="COLUMN[@PATTERN]=UNIT",
            help="Unit of a column that states none, in every file or in those of a name.",
        ),
    ] = None,
    fact: Annotated[
        list[str] | None,
        typer.Option(
            "--fact",
            metavar="NAME[@PATTERN]=VALUE",
            help="Another answer: reference_density_g_cm3=1.270, or volume_cm3@tank*.csv=250 for files of a name.",
        ),
    ] = None,
    replaces: Annotated[
        list[str] | None,
        typer.Option(
            metavar="FILE[@PATTERN]",
            help="Name or checksum of a stored file that this one corrects, or the one of a name; once for each.",
        ),
    ] = None,
    distinct: Annotated[
        list[str] | None,
        typer.Option(
            metavar="PATTERN",
            help="Files whose readings are their own, though equal ones are stored already.",
        ),
    ] = None,
    kind: Annotated[
        list[str] | None,
        typer.Option(
            "--as", metavar="KIND=PATTERN", help="What files of a name really are: flexure_curve=*bend*.csv."
        ),
    ] = None,
    method: Annotated[
        list[str] | None,
        typer.Option(
            "--method",
            metavar="NAME[@PATTERN]",
            help="How rows were measured that state no method: iso179_1ea@charpy*.csv.",
        ),
    ] = None,
    instrument: Annotated[
        list[str] | None,
        typer.Option(
            "--instrument",
            metavar="LABEL[@PATTERN]",
            help="A logged instrument that results rest on, of every file or of those of a name.",
        ),
    ] = None,
    at: Annotated[
        str | None,
        typer.Option(
            "--at", metavar="TIME", help="When it was measured (ISO 8601), for checks of instruments."
        ),
    ] = None,
    dry: Annotated[
        bool, typer.Option("--dry", help="Say what each file is and gives, and store nothing.")
    ] = False,
    again: Annotated[
        bool,
        typer.Option(
            "--again", help="Derive results anew from the raw files that are stored, and say what changed."
        ),
    ] = False,
    as_json: Json = False,
) -> None:
    """
    Read result tables, machine curves, weighings, readings and photos; keep the raw files; store the results.

    Several files are listed with what they were taken for before they are stored; `--as` corrects, `--dry` only lists.
    Where a file does not say what only a person can know (a unit, a section), it is asked, not guessed.

    Example: `voidless read sight-glass results.csv curves/ --section xy=20,z=30`

    Example: `voidless read sight-glass --again z-trials.csv --section z=29.6`
    """
    from voidless.workflows.log import moment
    from voidless.workflows.read import NothingStoredError, read_again, read_files

    answers: dict[str, Any] = {
        "sections": _sections(section or []),
        "units": pairs(unit or [], "--unit", "Force=N", commas=True),
        "facts": pairs(fact or [], "--fact", "reference_density_g_cm3=1.270"),
        "kinds": [_kind(text) for text in kind or []],
        "methods": [_at_pattern(text, "--method", "iso179_1ea@charpy*.csv") for text in method or []],
    }
    if again:
        if replaces:
            raise InputError("voidless read", "--again and --replaces", "one of the two", "Leave one out.")
        answer(read_again(folder, files or (), progress=stages(), dry=dry, **answers), as_json, _render_again)
        return
    if not files:
        raise InputError(
            "voidless read", "no file is named", "files or folders", "Name them, or add --again."
        )
    try:
        result = read_files(
            folder,
            files,
            replaces=[_at_pattern(text, "--replaces", "list.csv@list-2.csv") for text in replaces or []],
            progress=stages(),
            dry=dry,
            confirm=(lambda _: True) if as_json else _confirm,
            instruments=[_at_pattern(text, "--instrument", "CELL@z_*.csv") for text in instrument or []],
            measured_at=moment(at, "voidless read --at") if at else None,
            distinct=distinct or (),
            **answers,
        )
    except NothingStoredError as fault:
        if not as_json and len(fault.details["files"]) > 1:
            render(fault.details)  # what is asked of each; the first is the error
        raise
    answer(result, as_json, render)


def _render_again(result: Mapping[str, Any]) -> None:
    """Write which results changed when they were derived again."""
    from voidless.cli.text import number, say, table

    table(
        ["file", "taken for", "status", "changes"],
        [
            [f["file"], f["taken_for"], f["status"], len(f["changes"]) + len(f["build_facts"])]
            for f in result["files"]
        ],
    )
    for file in result["files"]:
        say(*_faults(file))
        for row in file["changes"]:
            of = " ".join(filter(None, (row["run"], row["build"], row["specimen"], row["response"])))
            before, after = (
                f"{number(row[value], 6)} ± {number(row[spread], 2)}"
                for value, spread in (("before", "uncertainty_before"), ("after", "uncertainty"))
            )
            say(f"{file['file']}: {of}: {before} -> {after}")
        for row in file["build_facts"]:
            before = "not said" if row["before"] is None else row["before"]
            say(f"{file['file']}: {row['build']} {row['fact']}: {before} -> {row['after']}")
        say(
            *(
                f"{file['file']}: {found['words']}"
                for found in file["findings"]
                if file["status"] == "changed"
            )
        )
        say(*(f"Note: {file['file']}: {note}" for note in file["warnings"]))
    if result["dry"]:
        say("Nothing was stored.")


def _values(files: Sequence[Mapping[str, Any]]) -> None:
    """Write what was measured, rounded by its uncertainty; of many results the first."""
    from voidless.cli.text import say, table

    rows = [row for file in files for row in file["results"]]
    if not rows:
        return
    marks = {"lower": "at least ", "upper": "at most "}
    table(
        ["of", "result", "value", "±", "unit"],
        [
            [
                " ".join(filter(None, (row["run"], row["build"], row["specimen"]))),
                " ".join(filter(None, (row["response"], row["feature"]))),
                marks.get(row["bound"], "") + row["shown"][0],
                row["shown"][1],
                "" if row["unit"] == "1" else row["unit"],
            ]
            for row in rows[:_MOST_ROWS]
        ],
    )
    if len(rows) > _MOST_ROWS:
        say(f"and {len(rows) - _MOST_ROWS} more; `--json` and the page of results list them all.")


def _faults(file: Mapping[str, Any]) -> list[str]:
    """Return what is asked of a file and what is wrong with it."""
    asked = [
        f"{file['file']}: {question['what']} – answer with {question['expected']}"
        for question in file["questions"]
    ]
    error = file.get("error")
    wrong = (
        f"{error['where']}: {error['what']} (expected {error['expected']}). {error['remedy']}"
        if error
        else ""
    )
    return [*dict.fromkeys(asked), wrong] if wrong else list(dict.fromkeys(asked))


def _notes(files: Sequence[Mapping[str, Any]]) -> list[str]:
    """Return notes in the order of their files, what is said of several files once."""
    found: dict[str, list[str]] = {}
    for file in files:
        for note in file["warnings"]:
            found.setdefault(note, []).append(file["file"])
    return [
        f"Note: {names[0]}: {note}"
        if len(names) == 1
        else f"Note: {len(names)} files, {names[0]} to {names[-1]}: {note}"
        for note, names in found.items()
    ]


def _sections(given: list[str]) -> dict[str, str]:
    """Return sections by direction; one number alone is for every curve."""
    if len(given) == 1 and "=" not in given[0] and "," not in given[0]:
        return {"": given[0]}
    return pairs(given, "--section", "xy=20,z=30", commas=True)


def _kind(text: str) -> tuple[str, str]:
    word, sign, pattern = (part.strip() for part in text.partition("="))
    if not sign or not word or not pattern:
        raise InputError("--as", f"{text!r} is not KIND=PATTERN", "sizes=*callipers*.csv", "Write it so.")
    return word, pattern


def _at_pattern(text: str, option: str, sample: str) -> tuple[str, str]:
    """Return pattern and name of `NAME[@PATTERN]`."""
    name, sign, pattern = (part.strip() for part in text.partition("@"))
    if not name or (sign and not pattern):
        raise InputError(option, f"{text!r} is not NAME[@PATTERN]", sample, "Write it so.")
    return pattern or "*", name


def _alike(files: Sequence[Mapping[str, Any]]) -> list[list[Mapping[str, Any]]]:
    """Return files in runs: photos of one folder that came to the same and hold no result stand together."""
    runs: list[list[Mapping[str, Any]]] = []
    for file in files:
        same = runs and file["taken_for"] == "photo" and _came_to(runs[-1][-1]) == _came_to(file)
        if same:
            runs[-1].append(file)
        else:
            runs.append([file])
    return runs


def _came_to(file: Mapping[str, Any]) -> tuple[Any, ...]:
    return PurePath(file["file"]).parent, *(
        file.get(name) for name in ("taken_for", "why", "status", "results")
    )


def _confirm(files: Sequence[Mapping[str, str]]) -> bool:
    """Show what several files are taken for and ask before they are stored, where a person looks on."""
    if len(files) < 2 or not sys.stdin.isatty():
        return True
    from voidless.cli.text import table

    rows = []
    for run in _alike(files):
        name = run[0]["file"] if len(run) == 1 else f"{run[0]['file']} and {len(run) - 1} more like it"
        rows.append([name, run[0]["taken_for"], run[0]["why"]])
    table(["file", "taken for", "because"], rows)
    return typer.confirm(
        "Store them so? (No stores nothing; correct with --as KIND=PATTERN)", default=True, err=True
    )


def render(result: Mapping[str, Any]) -> None:
    """Write what each file was taken for and what came of it."""
    from voidless.cli.text import say, table

    because = ["because"] if result.get("dry") else []
    rows = []
    for files in _alike(result["files"]):
        first, last = files[0], PurePath(files[-1]["file"]).name
        name = str(first["file"]) if len(files) == 1 else f"{first['file']} to {last}, {len(files)} files"
        count = len(first["results"]) + len(first["findings"])
        rows.append([name, first["taken_for"], *(first["why"] for _ in because), first["status"], count])
    table(["file", "taken for", *because, "status", "results"], rows)
    _values(result["files"])
    for file in result["files"]:
        say(*_faults(file))
        say(*(f"{file['file']}: {words}" for words in file["told"]))
        say(*(f"{file['file']}: {found['words']}" for found in file["findings"]))
    say(*_notes(result["files"]))
    say(*(f"From now on: {note}" for note in result.get("own", ())))
    if result["unplaced"]:
        how = "columns run and build place them, or names such as R01_B01_bar.csv"
        say(f"Note: {result['unplaced']} result(s) belong to no build: reported, not learned from; {how}.")
    if result["answer_with"]:
        say("To answer, with your own numbers and words: " + " ".join(result["answer_with"]))
    if result.get("dry"):
        say("Nothing was stored. Correct with --as KIND=PATTERN, then read again without --dry.")
    for row in result.get("summary", ()):
        say(row["text"])
