"""Workbooks as offices keep them: several sheets, hidden ones, numbers that are text."""

import io

import openpyxl
import pytest

from voidless.measure.results import RawFile, Status
from voidless.measure.take import take_files

HEAD = ("run", "build", "specimen", "response", "value", "unit")


def taken(**sheets):
    book = openpyxl.Workbook()
    book.remove(book.active)
    for title, rows in sheets.items():
        sheet = book.create_sheet(title)
        for row in rows:
            sheet.append(list(row))
        if title.startswith("old"):
            sheet.sheet_state = "hidden"
    held = io.BytesIO()
    book.save(held)
    (found,) = take_files([RawFile("week.xlsx", held.getvalue())])
    return found


def rows(value, specimen="a"):
    return [HEAD, ("R01", "B01", specimen, "void_pct", value, "%")]


def test_tables_on_two_sheets_are_not_read_by_half():
    found = taken(first=rows(0.5), second=rows(0.7, "b"))
    assert found.status is Status.REFUSED
    assert "first: result_table, second: result_table" in found.error.what


def test_a_hidden_sheet_does_not_count():
    found = taken(old=rows(55.0), cover=[("Report",), ("by", "hand")], now=rows(0.5))
    assert [item.value for item in found.observations] == [0.5]


def test_text_with_a_decimal_comma_among_numbers_is_a_number():
    found = taken(now=[*rows(0.5), ("R01", "B01", "b", "void_pct", "0,7", "%")])
    assert [item.value for item in found.observations] == [0.5, 0.7]


@pytest.mark.parametrize("cell", ["1,700", "0,7 ca.", "=1+"])
def test_text_that_may_be_something_else_is_refused(cell):
    found = taken(now=[*rows(0.5), ("R01", "B01", "b", "void_pct", cell, "%")])
    assert found.status is Status.REFUSED
