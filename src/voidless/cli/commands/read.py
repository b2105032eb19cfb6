"""`voidless read`: raw files into results."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from typing import Annotated, Any

import typer

from voidless.cli.answer import answer
from voidless.cli.options import Folder, Json, pairs
from voidless.cli.progress import stages


def command(
    folder: Folder,
    files: Annotated[list[Path], typer.Argument(metavar="FILE...", help="Files or folders of files.")],
    section: Annotated[
        list[str] | None,
        typer.Option(
            "--section", metavar="xy=20,z=30", help="Cross-sections by direction, or one for all. [mm2]"
        ),
    ] = None,
    unit: Annotated[
        list[str] | None,
        typer.Option("--unit", metavar="COLUMN=UNIT", help="Unit of a column that states none."),
    ] = None,
    fact: Annotated[
        list[str] | None,
        typer.Option("--fact", metavar="NAME=VALUE", help="Another answer: reference_density_g_cm3=1.270."),
    ] = None,
    replaces: Annotated[
        str | None,
        typer.Option(metavar="FILE", help="Name or checksum of a stored file that this one corrects."),
    ] = None,
    as_json: Json = False,
) -> None:
    """
    Read result tables, machine curves, weighings and photos; keep the raw files; store the results.

    Where a file does not say what only a person can know (a unit, a section), it is asked, not guessed.

    Example: `voidless read sight-glass results.csv curves/ --section xy=20,z=30`
    """
    from voidless.workflows.read import read_files

    result = read_files(
        folder,
        files,
        sections=_sections(section or []),
        units=pairs(unit or [], "--unit", "Force=N", commas=True),
        facts=pairs(fact or [], "--fact", "reference_density_g_cm3=1.270"),
        replaces=replaces,
        progress=stages(),
    )
    answer(result, as_json, render)


def _sections(given: list[str]) -> dict[str, str]:
    """Return sections by direction; one number alone is for every curve."""
    if len(given) == 1 and "=" not in given[0] and "," not in given[0]:
        return {"": given[0]}
    return pairs(given, "--section", "xy=20,z=30", commas=True)


def render(result: Mapping[str, Any]) -> None:
    """Write what each file was taken for and what came of it."""
    from voidless.cli.text import say, table

    rows = [[f["file"], f["taken_for"], f["status"], len(f["results"])] for f in result["files"]]
    table(["file", "taken for", "status", "results"], rows)
    for file in result["files"]:
        say(
            *(
                f"{file['file']}: {question['what']} – answer with {question['expected']}"
                for question in file["questions"]
            )
        )
        if file.get("error"):
            error = file["error"]
            say(f"{error['where']}: {error['what']} (expected {error['expected']}). {error['remedy']}")
        say(*(f"Note: {file['file']}: {note}" for note in file.get("warnings", ())))
    for row in result.get("summary", ()):
        say(row["text"])
