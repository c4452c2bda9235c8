"""The workbook's sheets of words: equipment schedule, commissioning and cautions.

Units: in the headings or in the texts.
"""

from __future__ import annotations

from selector.report.cautions import DEFER, cautions
from selector.report.commissioning_text import (
    READ,
    commissioning_rows,
    procedure,
    sequence_rows,
    sheet_cautions,
    tolerance_notes,
)
from selector.report.lines import derived_texts
from selector.report.schedule_text import design_hour_texts, schedule_rows_by_kind
from selector.report.text import design_text, show_for
from selector.report.workbook_cells import Column, Page
from selector.report.workbook_content import Content
from selector.report.workbook_styles import ONE, TWO, WHOLE

CAUTIONS, SCHEDULE, COMMISSIONING = "Cautions", "Equipment schedule", "Commissioning"
CAUTION_WIDTHS = (18, 80)
KINDS_SIDE_BY_SIDE = 3  # kinds of unit in one table of the schedule
SCHEDULE_WIDTHS = (34, *(25,) * KINDS_SIDE_BY_SIDE)
COMMISSIONING_WIDTHS = (9, 15, 17, 13, 27, 10, 10, 10, 10, 34)
NO_UNITS = "No new units."


def write_cautions(*, page: Page, content: Content) -> None:
    """Write what to look out for.

    Args: page, the sheet, empty; content.
    """
    site = content.site
    install = content.shown.evaluation.install
    page.title("Cautions")
    page.paragraph(DEFER, "strong")
    page.row += 1
    page.headings((Column("Topic"), Column("What to look out for")))
    for one in cautions(site=content.shown.site, install=install):
        page.text(0, one.topic, "strong")
        page.text(1, one.text)
        page.row += 1
    notes: list[tuple[str, str]] = []
    if site.catalog.invented:
        notes.append(("prices", "Prices and curves of the catalogue are invented: not for a bid."))
    if site.weather.kind == "synthetic":
        notes.append(("weather", "The year of weather is synthetic: no record of real hours."))
    notes += [("rating", text) for text in derived_texts(install, content.fitted)]
    notes += [("site", note) for note in site.notes]
    if notes:
        page.part("What else to know")
        page.headings((Column("Topic"), Column("Note")))
        for topic, text in notes:
            page.text(0, topic, "strong")
            page.text(1, text)
            page.row += 1


def write_schedule(*, page: Page, content: Content) -> None:
    """Write the equipment schedule of the answer, a column for each kind of unit.

    Args: page, the sheet, empty; content.
    """
    schedule = content.commissioning.schedule
    page.title(SCHEDULE)
    page.paragraph(f"Of option {content.shown.mark}: {design_text(content.shown.evaluation.install)}")
    rows = schedule_rows_by_kind(schedule)
    if not schedule.rows:
        page.line(NO_UNITS)
        return
    for text in design_hour_texts(schedule, show_for(content.site)):
        page.paragraph(text)
    kinds = len(rows[0]) - 1
    breaks = []
    for first in range(1, kinds + 1, KINDS_SIDE_BY_SIDE):
        if first > 1:
            breaks.append(page.row)
        page.row += 1
        shown = range(first, min(first + KINDS_SIDE_BY_SIDE, kinds + 1))
        page.headings(
            (Column("Figure [unit]"), *(Column(f"{rows[0][place]} [see figure]", TWO) for place in shown))
        )
        for row in rows[1:]:
            page.text(0, _words(row[0]))
            for column, place in enumerate(shown, start=1):
                _cell(page, column, row[place])
            page.row += 1
    page.row += 1
    page.paragraph(DEFER, "strong")
    if breaks:
        page.page_breaks(breaks)
    else:
        page.one_page()


def write_commissioning(*, page: Page, content: Content) -> None:
    """Write what a technician should read on site, and the control sequence.

    Args: page, the sheet, empty; content.
    """
    sheet = content.commissioning
    page.title(COMMISSIONING)
    page.paragraph(f"Of option {content.shown.mark}: {design_text(content.shown.evaluation.install)}")
    if not sheet.sheets:
        page.line(NO_UNITS)
        return
    for text in procedure(sheet):
        page.paragraph(text)
    page.part("Where the ranges come from")
    for text in tolerance_notes(sheet):
        page.paragraph(text)
    page.part("Control sequence")
    page.headings((Column("Step"), Column("Topic")))
    page.row -= 1
    page.wide(2, len(page.widths) - 1, "What happens", "heading")
    page.row += 1
    for step, topic, happens in sequence_rows(sheet)[1:]:
        page.text(0, f"{step:.0f}" if isinstance(step, float) else step)
        page.text(1, _words(topic))
        page.wide(2, len(page.widths) - 1, _words(happens))
        page.row += 1
    page.part("Cautions")
    for topic_of, caution in sheet_cautions(sheet):
        page.paragraph(f"{topic_of}: {caution}")
    page.paragraph(DEFER, "strong")
    page.page_breaks((page.row,))
    page.part("Readings")
    headings, *rows = commissioning_rows(sheet)
    figures = {"expected", "lowest", "highest", READ}
    page.repeat(page.row, page.row)
    page.headings(
        [
            Column(f"{str(name).capitalize()} [see reading]", TWO)
            if name in figures
            else Column(f"{str(name).capitalize()} [unit]" if name == "reading" else str(name).capitalize())
            for name in headings
        ]
    )
    before: tuple[str | float, ...] = ()
    for row in rows:
        for column, value in enumerate(row):
            if column < 4 and before[:4] == row[:4]:
                continue  # the same unit and condition as in the row above
            if headings[column] == READ:
                page.text(column, "", "blank")
            elif column == len(row) - 1 and isinstance(value, str):
                page.text(column, value, "beside")
            elif isinstance(value, str):
                page.text(column, value)
            else:  # a reading's range is written as finely as what is expected
                page.number(column, value, _form(max(part for part in row if isinstance(part, float))))
        before = row
        page.row += 1


def _words(cell: str | float) -> str:
    return cell if isinstance(cell, str) else f"{cell:g}"


def _cell(page: Page, column: int, cell: str | float) -> None:
    """A text, or a figure."""
    if isinstance(cell, str):
        page.text(column, cell, "word")
    else:
        page.number(column, cell, WHOLE if cell == round(cell) else _form(cell))


def _form(value: float) -> str:
    """Number format with about four figures that count."""
    size = abs(value)
    return WHOLE if size >= 1000.0 else ONE if size >= 20.0 else TWO
