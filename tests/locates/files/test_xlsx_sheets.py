"""Workbooks that the program writes, read back by another library (openpyxl)."""

import io
from datetime import UTC, datetime

import pytest
from openpyxl import load_workbook

from locates.exchange.xlsx_sheets import LONGEST_CELL, Sheet, write_xlsx

AT = datetime(2026, 11, 25, 12, 0, tzinfo=UTC)


def read_back(*sheets):
    return load_workbook(io.BytesIO(write_xlsx(sheets, made_at=AT)))


def test_every_table_is_a_sheet_with_its_columns_and_values():
    book = read_back(
        Sheet(
            "releases", ["bore", "margin_m", "is_short"], [("Main run", -0.25, True), ("Tie-in", None, False)]
        ),
        Sheet("damage", ["what"], []),
    )
    assert book.sheetnames == ["releases", "damage"]
    rows = [[cell.value for cell in row] for row in book["releases"].rows]
    assert rows == [["bore", "margin_m", "is_short"], ["Main run", -0.25, "yes"], ["Tie-in", None, "no"]]
    assert book["releases"].freeze_panes == "A2"
    assert [cell.value for cell in book["damage"][1]] == ["what"]


@pytest.mark.parametrize(
    "text", ['=HYPERLINK("x","y")', "@SUM(A1)", "+1-2", "-2+3", "\t=1", "=cmd|' /C x'!A0"]
)
def test_what_a_spreadsheet_would_run_is_quoted_text(text):
    cell = read_back(Sheet("a", ["name"], [(text,)]))["a"]["A2"]
    assert (cell.value, cell.data_type) == (text, "s")
    assert cell.quotePrefix


def test_plain_text_addresses_and_figures_written_as_text_stay_text():
    texts = ["G-1", "http://example.invalid/", "0042", "mailto:a@example.invalid"]
    page = read_back(Sheet("a", ["name"], [(text,) for text in texts]))["a"]
    assert [cell.value for cell in page["A"]][1:] == texts
    assert not any(cell.quotePrefix or cell.hyperlink for cell in page["A"])


def test_a_text_that_no_cell_holds_is_cut_in_sight():
    page = read_back(Sheet("a", ["name"], [("x" * (LONGEST_CELL + 1),)]))["a"]
    assert len(page["A2"].value) == LONGEST_CELL
    assert page["A2"].value.endswith("[cut here: a cell holds no more; the CSV file has all of it]")


def test_characters_that_xml_cannot_hold_do_not_break_the_file():
    page = read_back(Sheet("a", ["name"], [("bell \x07 and <tag> & \N{SNOWMAN}",)]))["a"]
    assert page["A2"].value.endswith("and <tag> & \N{SNOWMAN}")
