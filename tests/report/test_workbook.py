"""The workbook as a file: text stays text, figures have a format and a unit, pages print, sums add up."""

from __future__ import annotations

import io
import re
import zipfile
from dataclasses import replace
from pathlib import Path

import pandas as pd
import pytest
from openpyxl.cell.cell import Cell
from openpyxl.workbook import Workbook
from openpyxl.worksheet.worksheet import Worksheet

from selector.report.text import clean
from selector.report.workbook import workbook_bytes
from selector.report.workbook_cells import MOST_LETTERS, Book
from selector.report.workbook_content import content_of_choice
from selector.report.workbook_widths import lines_of
from tests.commands import run
from tests.proposals import ONE, OWN
from tests.report.books import HOSTILE, beside, book, formulas, hostile, opened, recosted
from tests.report.choices import chosen, impossible, nothing
from tests.sites import ROOM, prepared_room, write_room

SHEETS = [
    "Summary", "Options", "Bill of quantities", "Energy by month", "Life-cycle", "Savings", "Assumptions", "Ratings",
    "Equipment schedule", "Commissioning", "Cautions",
]  # fmt: skip
BOOKS = ("hall", "clinic")
HEADING = "FFE4E4E4"  # the band behind headings


def cells(sheet: Worksheet) -> list[Cell]:
    return [cell for row in sheet.iter_rows() for cell in row if isinstance(cell, Cell)]


def is_figure(cell: Cell) -> bool:
    return cell.data_type == "n" and cell.value is not None


# what stands in it ---------------------------------------------------------------------------------------------------


def test_every_sheet_is_there_and_utility_bills_only_under_a_tariff() -> None:
    assert opened(book("hall").file).sheetnames == SHEETS
    assert [name for name in opened(book("clinic").file).sheetnames if name not in SHEETS] == [
        "Utility bills"
    ]


def test_invented_prices_and_synthetic_weather_are_called_so() -> None:
    made = book("hall").content
    site = made.site
    real = replace(
        site,
        weather=replace(site.weather, kind="measured year"),
        catalog=replace(site.catalog, invented=False),
    )
    for content, marked in ((made, True), (replace(made, site=real), False)):
        sheets = opened(workbook_bytes(content=content))
        notes = [str(cell.value) for cell in cells(sheets["Cautions"])]
        assert ("Prices and curves of the catalogue are invented: not for a bid." in notes) is marked
        assert ("The year of weather is synthetic: no record of real hours." in notes) is marked
    first = " ".join(str(cell.value) for cell in cells(opened(book("hall").file)["Summary"]))
    assert "invented prices, not for a bid" in first


@pytest.mark.parametrize("name", BOOKS)
def test_every_figure_has_a_number_format(name: str) -> None:
    plain = [
        f"{sheet.title}!{cell.coordinate}"
        for sheet in opened(book(name).file).worksheets
        for cell in cells(sheet)
        if (is_figure(cell) or cell.data_type == "f") and cell.number_format == "General"
    ]
    assert not plain


@pytest.mark.parametrize("name", BOOKS)
def test_every_figure_stands_under_a_heading_with_a_unit(name: str) -> None:
    faults, figures = [], 0
    for sheet in opened(book(name).file, values=True).worksheets:
        above: dict[int, str] = {}
        for cell in cells(sheet):
            if cell.fill.fgColor.rgb == HEADING:
                above[cell.column] = str(cell.value)
            elif is_figure(cell):
                figures += 1
                heading = above.get(cell.column, "")
                if not re.search(r"\[[^\]]+\]", heading):
                    faults.append(f"{sheet.title}!{cell.coordinate} under {heading!r}")
    assert figures > 1000
    assert not faults, faults[:10]


@pytest.mark.parametrize("name", BOOKS)
def test_nothing_in_it_is_an_error(name: str) -> None:
    wrong = [
        f"{sheet.title}!{cell.coordinate} {cell.value}"
        for sheet in opened(book(name).file, values=True).worksheets
        for cell in cells(sheet)
        if cell.data_type == "e" or str(cell.value).startswith("#")
    ]
    assert not wrong


def test_only_money_and_its_rates_are_for_changing() -> None:
    """Cells with a rule for what they may hold are those with a border, on two sheets."""
    one = opened(book("clinic").file)
    ruled = {sheet.title: sheet.data_validations.dataValidation for sheet in one.worksheets}
    assert {name for name, rules in ruled.items() if rules} == {"Assumptions", "Bill of quantities"}
    for name in ("Assumptions", "Bill of quantities"):
        places = {str(rule.sqref) for rule in ruled[name]}
        bordered = {
            cell.coordinate
            for cell in cells(one[name])
            if is_figure(cell) and cell.border.left.style == "thin"
        }
        assert places == bordered


# names that a person typed -------------------------------------------------------------------------------------------


def test_a_name_never_becomes_a_formula() -> None:
    one = opened(hostile().file)
    for formula in formulas(one).values():
        assert not [text for text in HOSTILE.values() if text.lstrip("=") in formula], formula
    typed = [
        cell
        for sheet in one.worksheets
        for cell in cells(sheet)
        if isinstance(cell.value, str) and cell.value.startswith(("=", "+", "-", "@"))
    ]
    texts = [cell for cell in typed if cell.data_type == "s"]
    assert {cell.data_type for cell in typed} == {"s", "f"}
    assert {cell.value for cell in texts} >= {HOSTILE[name] for name in ("site", "model", "note", "reason")}
    assert all(cell.quotePrefix for cell in texts)


def test_formulas_hold_no_text_but_words_of_ours() -> None:
    quoted = {
        text for name in BOOKS for formula in formulas(opened(book(name).file)).values()
        for text in re.findall(r'"([^"]*)"', formula)
    }  # fmt: skip
    assert quoted == {"none", "units", "materials", "labour", "lump sums", "<="} & quoted
    assert {"none", "materials"} <= quoted


def test_odd_and_long_texts_do_not_spoil_the_file() -> None:
    notes = [cell.value for cell in cells(opened(hostile().file)["Cautions"]) if isinstance(cell.value, str)]
    assert clean(HOSTILE["odd"]) in notes
    [long] = [text for text in notes if text.startswith("=xxx")]
    assert len(long) == MOST_LETTERS
    with zipfile.ZipFile(io.BytesIO(hostile().file)) as parts:
        for part in parts.namelist():
            assert (
                b"HYPERLINK" not in parts.read(part)
                or part in ("xl/sharedStrings.xml", "docProps/core.xml")
                or (b"oddFooter" in parts.read(part))
            )


def test_an_ampersand_in_a_name_is_no_code_of_the_footer() -> None:
    paper = Book(title="Rock &P & Roll", letter=True, largest=1.0)
    paper.page("Sheet", (10,))
    with zipfile.ZipFile(io.BytesIO(paper.finish())) as parts:
        sheet = parts.read("xl/worksheets/sheet1.xml").decode()
    assert "Rock &amp;&amp;P &amp;&amp; Roll" in sheet
    assert "Page &amp;P of &amp;N" in sheet


# paper ---------------------------------------------------------------------------------------------------------------

INCH = 96.0  # pixels
PAPER = {1: (8.5, 11.0), 9: (8.27, 11.69)}  # inches, letter and A4


@pytest.mark.parametrize(("name", "paper"), [("hall", 1), ("clinic", 9)])
def test_every_sheet_prints_to_the_width_of_its_paper_and_of_the_other(name: str, paper: int) -> None:
    for sheet in opened(book(name).file).worksheets:
        setup, fits, foot = sheet.page_setup, sheet.sheet_properties.pageSetUpPr, sheet.oddFooter
        assert setup.paperSize == paper
        assert fits is not None
        assert fits.fitToPage
        assert setup.fitToWidth in (None, 1)  # 1 is what a file that says nothing means
        assert setup.fitToHeight == 0 or (sheet.title == "Equipment schedule" and sheet.max_row < 65)
        assert foot is not None
        assert "Page" in str(foot.right.text)
        widths = [7.0 * sheet.column_dimensions[column].width + 5.0 for column in sheet.column_dimensions]
        wide = setup.orientation == "landscape"
        for size in PAPER.values():
            room = (size[1] if wide else size[0]) - 1.0
            assert room * INCH / sum(widths) > 0.70, sheet.title  # type of 10 points prints in 7 or more


def test_headings_are_repeated_where_a_table_runs_over_pages() -> None:
    one = opened(book("hall").file)
    for name in ("Assumptions", "Commissioning"):
        [row] = {int(part) for part in re.findall(r"\d+", one[name].print_title_rows or "")}
        assert one[name][f"A{row}"].fill.fgColor.rgb == HEADING


def too_wide(one: Workbook) -> list[str]:
    """Figures wider than their column as they are formatted; a column's width is counted in digits."""
    wide = []
    for sheet in one.worksheets:
        for cell in cells(sheet):
            if not is_figure(cell) or not isinstance(cell.value, (int, float)):
                continue
            decimals = len(cell.number_format.partition(".")[2].rstrip("%").split(";")[0])
            shown = f"{cell.value * (100.0 if '%' in cell.number_format else 1.0):,.{decimals}f}"
            width = sheet.column_dimensions[cell.column_letter].width
            if len(shown) * 1.06 > width:
                wide.append(f"{sheet.title}!{cell.coordinate} {shown} in {width}")
    return wide


@pytest.mark.parametrize("name", BOOKS)
def test_no_figure_is_wider_than_its_column(name: str) -> None:
    assert not too_wide(opened(book(name).file, values=True))


def test_large_amounts_go_without_cents_and_fit() -> None:
    old = book("hall")
    costs = replace(old.content.site.costs, electricity=old.content.site.costs.electricity * 5000.0)
    one = opened(recosted(old, replace(old.content.site, costs=costs)).file, values=True)
    largest = beside(one["Options"], "1", "H", after="What they cost")
    assert isinstance(largest.value, float)
    assert largest.value > 9e7
    assert largest.number_format == "#,##0"
    assert not too_wide(one)
    assert largest.alignment.shrinkToFit  # beyond that


def test_lines_of_a_wrapped_text_are_counted_generously() -> None:
    assert lines_of("", 10.0) == 1
    assert lines_of("word", 10.0) == 1
    assert lines_of("one two three four five six", 10.0) >= 3
    assert lines_of("x" * 100, 10.0) >= 10
    assert lines_of("Bold heading", 12.0, bold=True) >= lines_of("Bold heading", 12.0)


# sums ----------------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("name", BOOKS)
def test_the_bill_added_up_again_with_pandas_is_its_total(name: str) -> None:
    one = book(name)
    table = pd.read_excel(io.BytesIO(one.file), sheet_name="Bill of quantities", header=None)
    parts = table.index[table[0].astype(str).str.startswith("Option ")]
    assert len(parts) == len(one.content.options)
    for option, start in zip(one.content.options, parts, strict=True):
        end = table.index[table[0] == f"First cost, option {option.mark}"][0]
        lines = table.loc[start + 2 : end - 1]
        amounts = lines[7].astype(float)
        assert (lines[4].astype(float) * lines[6].astype(float)).sub(
            amounts
        ).abs().max() < 1e-9 or lines.empty
        assert amounts.sum() == pytest.approx(float(table.loc[end, 7]), abs=1e-8)
        assert amounts.sum() == pytest.approx(option.evaluation.costs.first, abs=1e-8)
        assert len(lines) == len(option.bill.lines)


def test_a_workbook_that_does_not_add_up_is_not_written() -> None:
    content = book("hall").content
    first = content.options[0]
    costs = replace(first.evaluation.costs, life_cycle=first.evaluation.costs.life_cycle + 0.02)
    wrong = replace(first, evaluation=replace(first.evaluation, costs=costs))
    with pytest.raises(ValueError, match=r"option 1: the workbook adds up to 46.*, the evaluation to 46"):
        workbook_bytes(content=replace(content, options=(wrong, *content.options[1:])))


# answers without units -----------------------------------------------------------------------------------------------


def test_currents_at_two_voltages_are_not_added() -> None:
    """One unit of 13.4 A at 120 V and two of 10.1 A at 208 V."""
    content = content_of_choice(choice=chosen(), prepared=prepared_room(), days=())
    values = {cell.value for cell in cells(opened(workbook_bytes(content=content))["Options"])}
    assert "13.4 A at 120 V, 20.2 A at 208 V" in values
    assert not any(isinstance(one, float) and abs(one - 33.6) < 0.05 for one in values)


def test_no_heading_of_an_option_says_its_arrangement_twice() -> None:
    content = content_of_choice(choice=chosen(), prepared=prepared_room(), days=())
    headings = [option.heading for option in content.options]
    assert headings[0] == "Option 1: Chosen design: 2 precool-120 + 1 compressor-60 standalone"
    assert "Option 4: Best coil-bypass: 1 rotor-60" in headings
    sheet = opened(workbook_bytes(content=content))["Bill of quantities"]
    assert {str(cell.value) for cell in cells(sheet)} >= set(headings[:1])


def test_nothing_to_install_and_nothing_possible_have_workbooks_too() -> None:
    prepared = prepared_room()
    for choice, words in ((nothing(), "Install nothing"), (impossible(), "Not possible")):
        content = content_of_choice(choice=choice, prepared=prepared, days=())
        sheet = opened(workbook_bytes(content=content))["Summary"]
        assert any(str(cell.value).startswith(words) for cell in cells(sheet))


@pytest.mark.parametrize(
    ("estimate", "head", "count"),
    [
        (None, "FIRST ESTIMATE", "a first estimate as long as one of them stands."),
        (True, "FIRST ESTIMATE", "a first estimate as long as one of them may change the answer."),
        (False, "no default tried changes it", "none that was tried changes the answer."),
    ],
)
def test_a_workbook_says_as_the_screen_whether_a_default_could_change_the_answer(
    estimate: bool | None, head: str, count: str
) -> None:
    content = content_of_choice(choice=nothing(), prepared=prepared_room(), days=(), estimate=estimate)
    sheets = opened(workbook_bytes(content=content))
    assert any(str(cell.value).startswith(head) for cell in cells(sheets["Summary"]))
    assert any(str(cell.value).endswith(count) for cell in cells(sheets["Assumptions"]))


# the command line ----------------------------------------------------------------------------------------------------


def test_simulate_writes_a_workbook_beside_its_screen(tmp_path: Path) -> None:
    out = tmp_path / "book.xlsx"
    done = run("simulate", ROOM, "--install", "1 precool-120 standalone", "--workbook", out)
    assert done.exit_code == 0, done.stderr
    assert "keep every limit" in done.stdout
    assert [path.name for path in tmp_path.iterdir()] == ["book.xlsx"]
    sheet = opened(out)["Options"]
    assert {cell.value for cell in cells(sheet)} >= {"Design", "Existing system alone"}


def test_choose_and_compare_write_workbooks(tmp_path: Path) -> None:
    small = (("max_units = 3", "max_units = 1"), ("allowed_hours_above = 40", "allowed_hours_above = 900"))
    site = write_room(tmp_path, *small, more=ONE + OWN)
    for words, title in (
        (("choose", site), "Chosen design"),
        (("compare", site, "--no-choice"), "own, by bidder D"),
    ):
        out = tmp_path / f"{words[0]}.xlsx"
        done = run(*words, "--workbook", out)
        assert done.exit_code == 0, done.stderr
        one = opened(out)
        assert {cell.value for cell in cells(one["Options"])} >= {title}
        keys = {cell.value for cell in cells(one["Assumptions"])}
        assert (any(str(key).startswith("alternates[") for key in keys)) is (words[0] == "compare")
        assert {"space.floor_area", "floor area"} <= keys


def test_a_workbook_goes_to_a_file_of_its_own(tmp_path: Path) -> None:
    same = tmp_path / "book.xlsx"
    for words, message in (
        (("--workbook", "-"), '--workbook: "-": got another name; allowed: a file named *.xlsx'),
        (("--workbook", same, "--json", same), "the same as --json"),
        (("--workbook", tmp_path / "no" / "book.xlsx"), "a folder that is not there"),
    ):
        done = run("simulate", ROOM, *words)
        assert done.exit_code == 2
        assert message in done.stderr
    assert list(tmp_path.iterdir()) == []
