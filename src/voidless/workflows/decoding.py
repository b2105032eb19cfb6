"""Blind codes that files name in place of specimens, turned into run, build and specimen."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import replace
from functools import cached_property
from typing import NamedTuple

from voidless.campaign.types import Observation
from voidless.errors import InputError, QuestionError
from voidless.measure.files.labels import direction_of, labels
from voidless.measure.results import Answers, FileResult, Kind, RawFile, Status
from voidless.measure.take import take_files
from voidless.records.labels import BUILD, RUN, canonical_label
from voidless.specimens.codes import ALPHABET, BLIND_CODE, looks_like_code
from voidless.workflows.blinding import test_order
from voidless.workflows.opening import OpenCampaign

__all__ = ["decoded_files"]

_EXPECTED = "a code as the campaign's test sheets have it"
_READ_AGAIN = (
    f"Look at the specimen again: codes hold none but {ALPHABET}. A label of one's own needs run and build beside it, "
    "and no codes in the same file."
)
_SIGNS = re.compile(r"[^0-9A-Za-z]+")
_SHOWN = 8


class _Place(NamedTuple):
    """Where a result belongs; empty where it is not said."""

    run: str
    build: str
    specimen: str


def decoded_files(opened: OpenCampaign, raw: Sequence[RawFile], answers: Answers) -> list[FileResult]:
    """
    Return what each of several files gives, with blind codes turned into the specimens that they stand for.

    Parameters
    ----------
    opened : OpenCampaign
        The campaign whose codes count.
    raw : sequence of RawFile
        The files that are read together.
    answers : Answers
        What a person says because no file says it.

    Notes
    -----
    Codes are drawn run by run, so that two builds may share one: with run or build beside it only theirs count. A
    label of one's own that only looks like a code stays, unless nothing else says where it belongs, or its file
    names codes: then it is more likely a code that was misread.
    """
    codes = _Codes(opened)
    return [
        _decoded(codes, found) if found.status is Status.OK else found for found in take_files(raw, answers)
    ]


class _Codes:
    """What the codes of a campaign stand for, worked out when first needed."""

    def __init__(self, opened: OpenCampaign) -> None:
        self.opened = opened

    @cached_property
    def places(self) -> Mapping[str, Sequence[_Place]]:
        """Specimens by code."""
        found: dict[str, list[_Place]] = {}
        for build in self.opened.store.builds():
            for code, specimen in test_order(self.opened.store, self.opened.orders, build):
                found.setdefault(code, []).append(_Place(build.run, build.label, specimen))
        return found

    @cached_property
    def runs(self) -> frozenset[str]:
        """Labels of the campaign's runs."""
        return frozenset(run.label for run in self.opened.store.runs())

    def code_in(self, place: _Place, words: Sequence[str]) -> str:
        """Return the one code among the words of a label; empty where there is none."""
        if looks_like_code(place.run) and place.run not in self.runs and place.run in self.places:
            return place.run  # R234, which a file's name gives as its run
        known = {code for word in words if looks_like_code(word) and (code := word.upper()) in self.places}
        return known.pop() if len(known) == 1 else ""

    def of(self, code: str, place: _Place, where: str) -> _Place:
        """Return the specimen of a code; with run or build beside it, only theirs count."""
        run = "" if place.run == code else _canonical(place.run, RUN)
        build = _canonical(place.build, BUILD)
        fits = [each for each in self.places[code] if run in ("", each.run) and build in ("", each.build)]
        if not fits:
            # Which run the code is of stays unsaid: whoever tests is not to learn it from a slip.
            beside = " ".join(filter(None, (place.run, place.build)))
            raise InputError(
                where, f"code {code} stands beside {beside}, which it is not of", "the run and build of the code",
                "Look at the specimen again; or leave run and build out, for the code alone says them.",
            )  # fmt: skip
        if len(fits) > 1:
            shared = ", ".join(f"{each.build} ({each.run})" for each in fits)
            raise QuestionError(
                where, f"builds {shared} share code {code}", "the build beside the code",
                "Fill the columns run and build of its rows, or put them into the file's name.",
            )  # fmt: skip
        return fits[0]


def _canonical(label: str, letter: str) -> str:
    return canonical_label(label, letter) if label.strip() else ""


def _decoded(codes: _Codes, found: FileResult) -> FileResult:
    """Return what a file gave with its codes turned into specimens; with a fault nothing of it counts."""
    told = [_place(vars(item)) for item in found.observations]
    words = {place: _words(place, found) for place in (*told, *map(_place, found.reduced))}
    if not any(looks_like_code(word) for place in words for word in (place.run, *words[place])):
        return found
    code_of = {place: code for place in words if (code := codes.code_in(place, words[place]))}
    try:
        _check_misread(codes, found, words, code_of)
        _check_several(found, code_of)
        meant = {place: codes.of(code, place, found.file) for place, code in code_of.items()}
    except QuestionError as question:
        return _nothing_of(replace(found, status=Status.QUESTION, questions=(question,)))
    except InputError as fault:
        return _nothing_of(replace(found, status=Status.REFUSED, error=fault))
    return replace(
        found,
        observations=tuple(
            _moved(item, meant[place], code_of[place]) if place in meant else item
            for item, place in zip(found.observations, told, strict=True)
        ),
        reduced=tuple(_entry_moved(item, meant.get(_place(item))) for item in found.reduced),
    )


def _place(item: Mapping[str, object]) -> _Place:
    return _Place(*(str(item.get(name) or "") for name in _Place._fields))


def _words(place: _Place, found: FileResult) -> list[str]:
    """Return the label of a row whole, and that of a file's name by its words without directions."""
    named = labels(found.file).specimen
    if found.taken_for is Kind.ARCHIVE or (named and place.specimen.startswith(named)):
        return [word for word in _SIGNS.split(place.specimen) if not direction_of(word)]
    return [place.specimen]


def _check_misread(
    codes: _Codes, found: FileResult, words: Mapping[_Place, Sequence[str]], code_of: Mapping[_Place, str]
) -> None:
    """Refuse labels that must be codes and are none."""
    alone = {_place(vars(item)) for item in found.observations if item.extra.get(BLIND_CODE) == item.specimen}
    wrong = dict.fromkeys(
        words[place][0]
        for place in words
        if place not in code_of
        and (place in alone or (codes.places and _may_be_misread(place, words[place], bool(code_of))))
    )
    if not wrong:
        return
    shown = ", ".join([*wrong][:_SHOWN]) + (" ..." if len(wrong) > _SHOWN else "")
    raise InputError(found.file, f"no specimen has the code {shown}", _EXPECTED, _READ_AGAIN)


def _may_be_misread(place: _Place, words: Sequence[str], coded: bool) -> bool:
    """Return whether a label that is no code was likely meant as one."""
    if len(words) != 1 or not looks_like_code(words[0]):
        return False
    # Words and numbers of one's own (REAR, 2345) are likelier than a code of letters or digits alone.
    mixed = not words[0].isalpha() and not words[0].isdigit()
    return coded or (mixed and words[0].isupper() and not (place.run or place.build))


def _check_several(found: FileResult, code_of: Mapping[_Place, str]) -> None:
    """Refuse one code in the name of a file that holds several specimens."""
    named = Counter(
        (code, place.run, place.build) for place, code in code_of.items() if place.specimen.upper() != code
    )
    several = [code for (code, *_), times in named.items() if times > 1]
    if several:
        raise InputError(
            found.file, f"code {several[0]} names several specimens", "a code for each",
            "Write a file for each specimen, named by its code.",
        )  # fmt: skip


def _nothing_of(found: FileResult) -> FileResult:
    return replace(found, observations=(), build_facts=(), settings={})


def _moved(item: Observation, place: _Place, code: str) -> Observation:
    return replace(item, **place._asdict(), extra={**item.extra, BLIND_CODE: code})


def _entry_moved(item: Mapping[str, object], place: _Place | None) -> Mapping[str, object]:
    return item if place is None else {**item, **place._asdict()}
