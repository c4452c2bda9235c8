"""The workbook's sheets of words: equipment schedule, commissioning and cautions.

Units: in the headings or in the texts.
"""

from __future__ import annotations

from collections.abc import Sequence

from selector.report.cautions import DEFER, cautions
from selector.report.lines import derived_texts
from selector.report.workbook_cells import Column, Page
from selector.report.workbook_content import Content

CAUTIONS = "Cautions"
CAUTION_WIDTHS = (18, 80)


def write_cautions(*, page: Page, content: Content) -> None:
    """Write what to look out for.

    Args: page, the sheet, empty; content.
    """
    site = content.site
    install = content.shown.evaluation.install
    page.text(0, "Cautions", "title")
    page.row += 1
    page.paragraph(DEFER, "strong")
    page.row += 1
    page.headings((Column("Topic"), Column("What to look out for")))
    for one in cautions(site=site, install=install):
        page.text(0, one.topic, "strong")
        page.text(1, one.text)
        page.row += 1
    notes: list[tuple[str, str]] = []
    if site.catalog.invented:
        notes.append(("prices", "Prices and curves of the catalogue are invented: not for a bid."))
    if site.weather.kind == "synthetic":
        notes.append(("weather", "The year of weather is synthetic, made from monthly normals."))
    notes += [("rating", text) for text in derived_texts(install, content.fitted)]
    notes += [("site", note) for note in site.notes]
    if notes:
        page.part("What else to know")
        page.headings((Column("Topic"), Column("Note")))
        for topic, text in notes:
            page.text(0, topic, "strong")
            page.text(1, text)
            page.row += 1


def write_table(*, page: Page, title: str, rows: Sequence[Sequence[str]], about: str) -> None:
    """Write a table of texts, its headings first.

    Args: page, the sheet, empty; title; rows, headings with their units first; about, a line above it.
    """
    page.text(0, title, "title")
    page.row += 1
    page.paragraph(about)
    page.row += 1
    if not rows:
        page.line("No new units.")
        return
    page.repeat(page.row, page.row)
    page.headings([Column(heading) for heading in rows[0]])
    for row in rows[1:]:
        for column, text in enumerate(row):
            page.text(column, text)
        page.row += 1
