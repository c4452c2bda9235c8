"""Workbooks of fixed designs of two demo sites, and a spreadsheet program that calculates them, for tests.

Prices that are added here (a tariff, other load, carbon) are invented.
"""

from __future__ import annotations

import functools
import io
import subprocess
from collections.abc import Mapping
from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np
import openpyxl
from openpyxl.cell.cell import Cell
from openpyxl.workbook import Workbook
from openpyxl.worksheet.worksheet import Worksheet

from selector.decide.evaluate import Evaluation, evaluate, prepare_site
from selector.decide.results import ArrangementResult, Choice
from selector.inputs.calendar import month_of_hour
from selector.inputs.install_text import parse_installs
from selector.inputs.site import HOURS, Install, Site, Unit
from selector.inputs.site_file import read_site
from selector.inputs.tariff import Block, DemandCharge, ElectricityTariff, EnergyPeriod, GasTariff, Tariff
from selector.physics.prepare import Prepared
from selector.report.workbook import workbook_bytes
from selector.report.workbook_content import Content, content_of_choice
from tests.report.choices import PROOF
from tests.sites import SCENARIOS, prepared_room

KWH = 3.6e6  # J
DESIGNS = {
    "hall": ("2 precool-120 standalone", "3 precool-120 return-side", "1 rotor-60 coil-bypass"),
    "clinic": ("1 rotor-90 outdoor-air", "2 precool-120 return-side"),
}


@dataclass(frozen=True, eq=False)
class Book:
    """A workbook, and what it was made from."""

    prepared: Prepared
    choice: Choice
    content: Content
    file: bytes


def tariff() -> Tariff:
    """A rate sheet with periods, blocks, a demand charge with a ratchet, fixed charges and taxes; all invented."""
    hour = np.arange(HOURS) % 24
    month = month_of_hour()
    peak = (hour >= 12) & (hour < 19) & (month >= 5) & (month <= 8)
    some = np.ones(12, bool)
    return Tariff(
        electricity=ElectricityTariff(
            energy=(
                EnergyPeriod("peak", peak, (Block(float("inf"), 0.21 / KWH),)),
                EnergyPeriod(
                    "all else", ~peak, (Block(4000.0 * KWH, 0.11 / KWH), Block(float("inf"), 0.09 / KWH))
                ),
            ),
            demand=(
                DemandCharge("any time", np.ones(HOURS, bool), some, 9.5 / 1000.0, 0.7, some, 10000.0),
                DemandCharge(
                    "peak", peak, (np.arange(12) >= 5) & (np.arange(12) <= 8), 6.0 / 1000.0, 0.0, some, 0.0
                ),
            ),
            fixed=45.0,
            tax=0.06,
        ),
        gas=GasTariff(
            blocks=(Block(200.0 * 1.055e8, 1.2e-8), Block(float("inf"), 0.9e-8)), fixed=20.0, tax=0.05
        ),
    )


def site_of(name: str) -> Site:
    """A demo site; the clinic in SI, with a unit that is there, a tariff, another load, carbon and nominal rates."""
    site = read_site(path=SCENARIOS / f"{name}.toml")
    if name != "clinic":
        return site
    assumptions = tuple(
        replace(one, origin="given") if one.key in ("costs.discount_rate", "costs.gas_escalation") else one
        for one in site.assumptions
    )
    load = np.where(np.arange(HOURS) % 24 < 8, 4000.0, 11000.0)
    costs = replace(
        site.costs,
        tariff=tariff(),
        other_load=load,
        carbon_price=0.04,
        inflation=0.025,
        discount_rate_kind="nominal",
        electricity_escalation=0.01,
        location_factor=1.15,
    )
    there = (Install("compressor-60", "standalone", 1),)
    return replace(site, costs=costs, display_units="SI", assumptions=assumptions, existing_units=there)


def choice_of(site: Site, designs: tuple[Evaluation, ...], existing: Evaluation) -> Choice:
    """A choice put together by hand: the first design is the best, the second the runner-up."""
    kept = [replace(one, feasible=True, broken=()) for one in designs[:2]]
    every = (*kept, *designs[2:])
    return Choice(
        site=site,
        best=every[0],
        closest=None,
        existing=existing,
        runner_up=every[1],
        by_arrangement=tuple(
            ArrangementResult(one.install[0].arrangement, one, None, 100.0, "more energy") for one in every
        ),
        margin=None,
        one_out=None,
        moves=(),
        proof=PROOF,
    )


def book_of(site: Site, prepared: Prepared, designs: tuple[Evaluation, ...], existing: Evaluation) -> Book:
    """Write the workbook of some designs."""
    choice = choice_of(site, designs, existing)
    content = content_of_choice(choice=choice, prepared=prepared, days=())
    return Book(prepared, choice, content, workbook_bytes(content=content))


@functools.cache
def book(name: str) -> Book:
    """The workbook of a demo site."""
    site = site_of(name)
    prepared = prepare_site(site=site)
    designs = tuple(
        evaluate(prepared=prepared, install=parse_installs(texts=[text], site=site)) for text in DESIGNS[name]
    )
    return book_of(site, prepared, designs, evaluate(prepared=prepared, install=()))


def recosted(old: Book, site: Site) -> Book:
    """The same designs with other prices: the tool's own answer, on the years that are simulated already."""
    prepared = replace(old.prepared, site=site)
    every = {one.mark: one.evaluation for one in old.content.options}
    fresh = {
        mark: evaluate(prepared=prepared, install=one.install, year=one.year) for mark, one in every.items()
    }
    existing = next(one for one in fresh.values() if not one.install)
    return book_of(site, prepared, tuple(one for one in fresh.values() if one.install), existing)


HOSTILE = {
    "site": '=HYPERLINK("http://example.invalid","name")',
    "model": "=2+5",
    "limit": "@SUM(1,2)",
    "note": "-1+1",
    "reason": "+1+1|' /C'!A0",
    "long": "=" + "x" * 40000,
    "odd": "a\x00b\x1b[31m _x0041_ \u202e & <b>",
}


@functools.cache
def hostile() -> Book:
    """The invented site with names that a spreadsheet program would calculate if they were typed."""

    def renamed(one: Unit) -> Unit:
        return replace(one, model=HOSTILE["model"]) if one.model == "precool-120" else one

    old = prepared_room()
    site = replace(
        old.site,
        name=HOSTILE["site"],
        catalog=replace(old.site.catalog, units=tuple(renamed(one) for one in old.site.catalog.units)),
        targets=tuple(replace(one, name=HOSTILE["limit"]) for one in old.site.targets),
        notes=(HOSTILE["note"], HOSTILE["long"], HOSTILE["odd"]),
    )
    fitted = tuple(replace(one, unit=renamed(one.unit)) for one in old.fitted)
    prepared = prepare_site(site=site, fitted=fitted)
    design = evaluate(prepared=prepared, install=(Install(HOSTILE["model"], "standalone", 1),))
    rival = evaluate(prepared=prepared, install=(Install(HOSTILE["model"], "standalone", 2),))
    choice = choice_of(site, (design, rival), evaluate(prepared=prepared, install=()))
    rows = tuple(replace(one, why=HOSTILE["reason"]) for one in choice.by_arrangement)
    choice = replace(choice, by_arrangement=rows, runner_up=None)
    content = content_of_choice(choice=choice, prepared=prepared, days=())
    return Book(prepared, choice, content, workbook_bytes(content=content))


def opened(file: bytes | Path, *, values: bool = False) -> Workbook:
    """Open a workbook: its formulas, or the values that stand in it."""
    return openpyxl.load_workbook(io.BytesIO(file) if isinstance(file, bytes) else file, data_only=values)


def calculated(books: Mapping[str, Workbook], folder: Path) -> dict[str, Workbook]:
    """Have workbooks calculated by a spreadsheet program; openpyxl leaves their formulas without values."""
    raw, done = folder / "raw", folder / "done"
    raw.mkdir()
    for name, one in books.items():
        one.save(raw / f"{name}.xlsx")
    subprocess.run(
        [
            "soffice",
            f"-env:UserInstallation={(folder / 'profile').as_uri()}",
            "--headless",
            "--convert-to",
            "xlsx",
            "--outdir",
            str(done),
            *(str(raw / f"{name}.xlsx") for name in books),
        ],
        check=True,
        capture_output=True,
    )
    return {name: opened(done / f"{name}.xlsx", values=True) for name in books}


def formulas(one: Workbook) -> dict[tuple[str, str], str]:
    """Every formula, by sheet and cell."""
    return {
        (sheet.title, cell.coordinate): str(cell.value)
        for sheet in one.worksheets
        for row in sheet.iter_rows()
        for cell in row
        if cell.data_type == "f"
    }


def beside(sheet: Worksheet, text: str, column: str, *, looked: str = "A", after: str = "") -> Cell:
    """The cell of a column in the first row whose text is this one, below a row whose text starts so."""
    past = not after
    for row in range(1, sheet.max_row + 1):
        past = past or str(sheet[f"A{row}"].value or "").startswith(after)
        if past and sheet[f"{looked}{row}"].value == text:
            cell = sheet[f"{column}{row}"]
            assert isinstance(cell, Cell)
            return cell
    raise AssertionError(f"{sheet.title}: no {text!r} in column {looked}")


def money_of(one: Workbook, mark: str) -> dict[str, float]:
    """First, yearly and life-cycle cost of an option on the sheet that shows them all."""
    sheet = one["Options"]
    names = {
        "C": "first",
        "D": "electricity",
        "E": "gas",
        "F": "maintenance",
        "G": "annual_operating",
        "H": "life_cycle",
    }
    found = {}
    for column, name in names.items():
        value = beside(sheet, mark, column, after="What they cost").value
        assert isinstance(value, (int, float)), f"{name}: {value!r}"
        found[name] = float(value)
    return found
