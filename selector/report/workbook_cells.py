"""Sheets and cells of the workbook: text that stays text, figures with a format, formulas with their value.

Every formula is written together with the value that the tool itself found for it, so that a reader that does not
calculate (a preview, a telephone, a program that reads the file) shows the same figures; a spreadsheet program
calculates them anew. What a person typed is only ever written as text, never as a formula, a name or a format.
Units: as the headings of the sheets name them; widths in characters of the standard letter.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from io import BytesIO
from typing import Any

import xlsxwriter
from xlsxwriter.utility import xl_rowcol_to_cell

from selector.report.text import clean, fit
from selector.report.workbook_styles import BASE, BETWEEN, MONEY, STYLES, TWO, WHOLE
from selector.report.workbook_widths import lines_of

MOST_WITH_CENTS = 1e6  # currency; larger amounts are shown in whole ones
MOST_LETTERS = 2000  # of one text; a cell holds 32,767
LEADS = ("=", "+", "-", "@")  # a text that starts so would be calculated if it were typed


@dataclass(frozen=True, slots=True)
class Cell:
    """A cell that holds a figure, and the figure that the tool found for it."""

    sheet: str
    row: int  # from 0
    column: int  # from 0
    value: float

    @property
    def ref(self) -> str:
        """Return where it is, for a formula on any sheet."""
        return f"'{self.sheet}'!{self.here}"

    @property
    def here(self) -> str:
        """Return where it is, for a formula on its own sheet."""
        return str(xl_rowcol_to_cell(self.row, self.column, row_abs=True, col_abs=True))


@dataclass(frozen=True, slots=True)
class Column:
    """A column of a table: its heading with its unit in brackets, and how its figures are written."""

    heading: str
    form: str | None = None  # number format; None for text


class Book:
    """A workbook that is being filled."""

    def __init__(self, *, title: str, letter: bool, largest: float) -> None:
        """Begin a workbook.

        Args: title, for its properties and the foot of each page; letter, whether paper is letter or A4; largest amount
            of money [currency], which says whether cents fit the columns.
        """
        self._money = TWO if largest < MOST_WITH_CENTS else WHOLE
        self._bytes = BytesIO()
        self._book = xlsxwriter.Workbook(
            self._bytes,
            {
                "in_memory": True,
                "strings_to_formulas": False,
                "strings_to_urls": False,
                "strings_to_numbers": False,
                "default_format_properties": {
                    "font_name": BASE["font_name"],
                    "font_size": BASE["font_size"],
                },
            },
        )
        self._formats: dict[tuple[str, str, bool], Any] = {}
        self._letter = letter
        self._title = fit(clean(title), 60)
        self._book.set_properties({"title": self._title})
        self._book.set_calc_mode("auto")

    def page(self, name: str, widths: Sequence[float], *, landscape: bool = False) -> Page:
        """Add a sheet.

        Args: name, of ours, never a person's; widths of its columns [letters]; landscape, as it prints.
        Returns: the sheet, empty.
        """
        sheet = self._book.add_worksheet(name)
        sheet.hide_gridlines(2)
        for place, width in enumerate(widths):
            sheet.set_column(place, place, width, self.style("text"))
        sheet.set_paper(1 if self._letter else 9)
        if landscape:
            sheet.set_landscape()
        sheet.fit_to_pages(1, 0)
        sheet.set_margins(left=0.5, right=0.5, top=0.6, bottom=0.8)
        foot = self._title.replace("&", "&&")
        sheet.set_footer(f"&L&8{foot}&C&8&A&R&8Page &P of &N")
        return Page(self, sheet, name, tuple(widths))

    def style(self, name: str, form: str = "", *, quoted: bool = False) -> Any:
        """Find a cell format.

        Args: name, a key of `STYLES`; form, number format; quoted, for a text that must stay one when it is edited.
        Returns: the format.
        """
        form = self._money if form == MONEY else form
        key = (name, form, quoted)
        if key not in self._formats:
            properties = {**BASE, **STYLES[name]}
            if form:
                properties["num_format"] = form
            if quoted:
                properties["quote_prefix"] = True
            self._formats[key] = self._book.add_format(properties)
        return self._formats[key]

    def name(self, name: str, cell: Cell) -> None:
        """Give a cell a name that formulas can use.

        Args: name, of ours; cell.
        """
        self._book.define_name(name, f"={cell.ref}")

    def finish(self) -> bytes:
        """Close the workbook.

        Returns: the file.
        """
        self._book.close()
        return self._bytes.getvalue()


class Page:
    """One sheet, filled from the top."""

    def __init__(self, book: Book, sheet: Any, name: str, widths: tuple[float, ...]) -> None:
        """Hold a sheet.

        Args: book; sheet, of the library; name; widths of its columns [letters].
        """
        self.book = book
        self.name = name
        self.widths = widths
        self.row = 0  # the next row that is free
        self._sheet = sheet
        self._lines: dict[int, int] = {}  # of wrapped text, by row

    def text(self, column: int, text: str, style: str = "text", *, row: int | None = None) -> None:
        """Write a text, whatever it begins with.

        Args: column; text, of anyone; style, a key of `STYLES`; row, the next free one unless given.
        """
        shown = fit(clean(text), MOST_LETTERS)
        where = self.row if row is None else row
        form = self.book.style(style, quoted=shown.lstrip().startswith(LEADS))
        status = self._sheet.write_string(where, column, shown, form)
        if status != 0:
            raise ValueError(f"{self.name}: a text of {len(shown)} letters does not fit a cell")
        self._grow(where, shown, column, column, style)

    def _grow(self, row: int, text: str, first: int, last: int, style: str) -> None:
        """Make a row high enough for a text that is wrapped."""
        if not STYLES[style].get("text_wrap"):
            return
        room = sum(self.widths[first : last + 1]) + BETWEEN * (last - first)
        lines = lines_of(text, room, bold=bool(STYLES[style].get("bold")))
        if lines > self._lines.get(row, 1):
            self._lines[row] = lines
            self._sheet.set_row(row, 13.5 * lines + 1.5)

    def number(
        self, column: int, value: float, form: str, style: str = "number", *, row: int | None = None
    ) -> Cell:
        """Write a figure.

        Args: column; value, in the unit of its heading; form, number format; style; row, as for `text`.
        Returns: the cell. Raises: ValueError where the figure is not finite.
        """
        where = self.row if row is None else row
        if not math.isfinite(value):
            raise ValueError(f"{self.name}, row {where + 1}: {value} cannot be written")
        number = float(value) + 0.0  # no -0
        self._sheet.write_number(where, column, number, self.book.style(style, form))
        return Cell(self.name, where, column, number)

    def figure(self, column: int, value: float | None, form: str, *, row: int | None = None) -> None:
        """Write a figure, or "none" where there is none.

        Args: column; value, in the unit of its heading, None or not finite where there is none; form; row, as for
            `text`.
        """
        if value is None or not math.isfinite(value):
            self.text(column, "none", "word", row=row)
        else:
            self.number(column, value, form, row=row)

    def formula(
        self,
        column: int,
        formula: str,
        value: float | str,
        form: str,
        style: str = "number",
        *,
        row: int | None = None,
    ) -> Cell:
        """Write a formula with its value.

        Args: column; formula, of ours, without the equals sign; value, that the tool found, in the unit of its heading
            (or a word of ours); form, number format; style; row, as for `text`.
        Returns: the cell.
        """
        where = self.row if row is None else row
        self._sheet.write_formula(where, column, f"={formula}", self.book.style(style, form), value)
        return Cell(self.name, where, column, float(value) if not isinstance(value, str) else math.nan)

    def sum_of(
        self, column: int, cells: Iterable[Cell], form: str, style: str = "total", *, row: int | None = None
    ) -> Cell:
        """Write the sum of cells that stand under each other on this sheet.

        Args: column; cells, one after the other, at least one; form; style; row, as for `text`.
        Returns: the cell.
        """
        every = list(cells)
        return self.formula(
            column,
            f"SUM({relative(every[0])}:{relative(every[-1])})",
            math.fsum(cell.value for cell in every),
            form,
            style,
            row=row,
        )

    def headings(self, columns: Sequence[Column], *, first: int = 0) -> None:
        """Write a table's headings and go to the row below.

        Args: columns; first, the column of the sheet at which they start.
        """
        beside = False  # a figure's column stands to the left
        for place, column in enumerate(columns, start=first):
            words = "heading_beside" if beside else "heading"
            self.text(place, column.heading, words if column.form is None else "heading_right")
            beside = column.form is not None
        self.row += 1

    def title(self, text: str) -> None:
        """Write the title of the sheet, and go to the row below.

        Args: text, of anyone.
        """
        self.text(0, fit(text, 80), "title")
        self._sheet.set_row(self.row, 24)
        self.row += 1

    def part(self, text: str) -> None:
        """Write the title of a part of the sheet, with room above it.

        Args: text.
        """
        self.row += 1 if self.row > 0 else 0
        self.text(0, text, "part")
        self.row += 1

    def line(self, text: str, style: str = "line") -> None:
        """Write a line that runs over the columns.

        Args: text; style.
        """
        self.text(0, text, style)
        self.row += 1

    def wide(self, first: int, last: int, text: str, style: str = "text") -> None:
        """Write a text over several columns of the next free row, wrapped.

        Args: first and last column; text, of anyone; style.
        """
        shown = fit(clean(text), MOST_LETTERS)
        if last > first:
            self._sheet.merge_range(self.row, first, self.row, last, "", self.book.style(style))
        form = self.book.style(style, quoted=shown.lstrip().startswith(LEADS))
        self._sheet.write_string(self.row, first, shown, form)
        self._grow(self.row, shown, first, last, style)

    def paragraph(self, text: str, style: str = "text") -> None:
        """Write a text over all columns, wrapped, in a row of its own.

        Args: text, of anyone; style.
        """
        self.wide(0, len(self.widths) - 1, text, style)
        self.row += 1

    def one_page(self) -> None:
        """Print the sheet on a single page, however long it is."""
        self._sheet.fit_to_pages(1, 1)

    def repeat(self, first: int, last: int) -> None:
        """Repeat rows at the head of every printed page.

        Args: first, last: rows, from 0.
        """
        self._sheet.repeat_rows(first, last)

    def page_breaks(self, rows: Sequence[int]) -> None:
        """Start a new page above rows.

        Args: rows, from 0.
        """
        if rows:
            self._sheet.set_h_pagebreaks(list(rows))

    def allow(self, cell: Cell, *, low: float, high: float, whole: bool = False) -> None:
        """Say what a cell that may be changed can hold.

        Args: cell; low and high, in the unit of its heading; whole, whether only whole numbers.
        """
        self._sheet.data_validation(
            cell.row,
            cell.column,
            cell.row,
            cell.column,
            {
                "validate": "integer" if whole else "decimal",
                "criteria": "between",
                "minimum": low,
                "maximum": high,
                "error_title": "Not possible here",
                "error_message": f"From {low:g} to {high:g}.",
            },
        )

    def hide_where(self, first: Cell, last: Cell, condition: str) -> None:
        """Show nothing in cells where a condition holds.

        Args: first and last cell of the rectangle; condition, a formula for the first of them.
        """
        blank = self.book.style("number", ";;;")
        self._sheet.conditional_format(
            first.row,
            first.column,
            last.row,
            last.column,
            {"type": "formula", "criteria": f"={condition}", "format": blank},
        )


def relative(cell: Cell) -> str:
    """Name a cell within its sheet so that the formula can be copied.

    Args: cell. Returns: text, as "C5".
    """
    return str(xl_rowcol_to_cell(cell.row, cell.column))
