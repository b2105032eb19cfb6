"""A short form of the nightly fuzzing: good files of every kind are taken whole, and damaged ones end clearly."""

import sys
from pathlib import Path

import pytest

sys.path.insert(0, str(Path(__file__).parents[2] / "nightly"))

from fuzz_read import case, fault_of, judge_readers
from fuzz_seeds import readers

from voidless.measure.results import FileResult, Kind, Status
from voidless.measure.take import take_files

READERS = readers()
BECOMES_ANOTHER = {Kind.SPREADSHEET}
REFUSED = {Kind.GCODE, Kind.UNKNOWN}


def test_every_kind_of_file_has_a_good_one():
    """A seed that is refused before it is damaged would test nothing."""
    seen = set()
    for givens in READERS.values():
        for given in givens:
            for found in take_files(given.files, given.answers):
                assert found.status is Status.OK, (found.file, found.error, found.questions)
                seen.add(found.taken_for)
    assert seen == set(Kind) - REFUSED - BECOMES_ANOTHER


@pytest.mark.parametrize("reader", READERS)
def test_damaged_files_end_in_results_a_question_or_one_clear_error(reader):
    ends = {judge_readers(case(READERS[reader], 3, reader, number)) for number in range(4)}
    assert ends <= {"stored", "asked", "refused"}


def test_a_refusal_without_words_counts_as_a_fault():
    assert fault_of(FileResult("a", Kind.UNKNOWN, status=Status.REFUSED)).startswith("UNCLEAR")
