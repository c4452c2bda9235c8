"""Another program calculates the workbook after a rate was changed: the result is the tool's own answer with it.

The other program is LibreOffice, headless. Every formula is compared with the value that the workbook has for it when
it is written with that rate in the site, and the costs of every option with those of `evaluate`.
"""

from __future__ import annotations

import functools
import tempfile
from collections.abc import Callable
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

import pytest
from openpyxl.workbook import Workbook

from selector.decide.compare import Comparison, compare
from selector.decide.options import Option
from selector.inputs.site import Markup, PriceBook, Site, Unit
from selector.inputs.tariff import Tariff
from selector.money.first_cost import unit_of
from selector.money.life_cycle import life_cycle_cost
from selector.money.quantities import bill_of_quantities
from selector.physics.prepare import Prepared
from selector.report.side_by_side import workbook_of
from tests.proposals import ALL, room_with
from tests.report.books import (
    HOSTILE,
    KWH,
    Book,
    beside,
    book,
    calculated,
    formulas,
    hostile,
    money_of,
    opened,
    recosted,
)  # fmt: skip

AGREEMENT = 1e-8  # currency; found: 4.4e-10 on amounts of up to 234,000, so far below a cent
THERM = 1.0e5 * 1055.05585262  # J


@dataclass(frozen=True)
class Change:
    """One value changed in the workbook, and in the site."""

    site: str
    cells: Callable[[Workbook, Book], None]
    to: Callable[[Site], Site]


def costs(**values: Any) -> Callable[[Site], Site]:
    return lambda site: replace(site, costs=replace(site.costs, **values))


def unit(model: str, **values: Any) -> Callable[[Site], Site]:
    def changed(one: Unit) -> Unit:
        return replace(one, **values) if one.model == model else one

    return lambda site: replace(
        site, catalog=replace(site.catalog, units=tuple(changed(one) for one in site.catalog.units))
    )


def prices(change: Callable[[PriceBook], PriceBook]) -> Callable[[Site], Site]:
    def changed(site: Site) -> Site:
        assert site.costs.price_book is not None
        return replace(site, costs=replace(site.costs, price_book=change(site.costs.price_book)))

    return changed


def terms(change: Callable[[Tariff], Tariff]) -> Callable[[Site], Site]:
    def changed(site: Site) -> Site:
        assert site.costs.tariff is not None
        return replace(site, costs=replace(site.costs, tariff=change(site.costs.tariff)))

    return changed


def rate(label: str, value: float, column: str = "B") -> Callable[[Workbook, Book], None]:
    def change(one: Workbook, _: Book) -> None:
        beside(one["Assumptions"], label, column).value = value

    return change


def booked(item: str, value: float) -> Callable[[Workbook, Book], None]:
    def change(one: Workbook, _: Book) -> None:
        beside(one["Bill of quantities"], item, "E", looked="C").value = value

    return change


def row_of(item: str, size: str, **values: Any) -> Callable[[PriceBook], PriceBook]:
    def change(one: PriceBook) -> PriceBook:
        rows = tuple(replace(row, **values) if row.size == size else row for row in one.rows[item])
        return replace(one, rows={**one.rows, item: rows})

    return change


def markup(name: Markup, **values: float) -> Callable[[PriceBook], PriceBook]:
    return lambda one: replace(one, markups={**one.markups, name: replace(one.markups[name], **values)})


def longer_commissioning(one: PriceBook) -> PriceBook:
    return row_of("commissioning of a unit", "", hours=2.25)(one)


def hours_of_commissioning(one: Workbook, old: Book) -> None:
    """Write the hours that the longer commissioning takes into every option's bill."""
    site = prices(longer_commissioning)(old.content.site)
    for option in old.content.options:
        for line in bill_of_quantities(site=site, install=option.evaluation.install).lines:
            if line.what == "commissioning labour":
                sheet = one["Bill of quantities"]
                after = f"Option {option.mark}:"
                beside(sheet, line.what, "E", looked="C", after=after).value = line.quantity


def several(*changes: Callable[[Any, Any], None]) -> Callable[[Workbook, Book], None]:
    def change(one: Workbook, old: Book) -> None:
        for each in changes:
            each(one, old)

    return change


def period(place: int, block: int, price: float) -> Callable[[Tariff], Tariff]:
    def change(one: Tariff) -> Tariff:
        periods = list(one.electricity.energy)
        blocks = list(periods[place].blocks)
        blocks[block] = replace(blocks[block], price=price)
        periods[place] = replace(periods[place], blocks=tuple(blocks))
        return replace(one, electricity=replace(one.electricity, energy=tuple(periods)))

    return change


def demand(place: int, price: float) -> Callable[[Tariff], Tariff]:
    def change(one: Tariff) -> Tariff:
        charges = list(one.electricity.demand)
        charges[place] = replace(charges[place], price=price)
        return replace(one, electricity=replace(one.electricity, demand=tuple(charges)))

    return change


def block_of_gas(price: float) -> Callable[[Tariff], Tariff]:
    def change(one: Tariff) -> Tariff:
        first, *rest = one.gas.blocks
        return replace(one, gas=replace(one.gas, blocks=(replace(first, price=price), *rest)))

    return change


def real(nominal: float, inflation: float) -> float:
    return (1.0 + nominal) / (1.0 + inflation) - 1.0


def then(*changes: Callable[[Site], Site]) -> Callable[[Site], Site]:
    def changed(site: Site) -> Site:
        for each in changes:
            site = each(site)
        return site

    return changed


CHANGES = {
    "discount rate": Change("hall", rate("Discount rate, real", 0.083), costs(discount_rate=0.083)),
    "electricity": Change("hall", rate("Electricity, today", 0.1925), costs(electricity=0.1925 / KWH)),
    "longer study": Change("hall", rate("Study period, whole years", 27), costs(study_period=27)),
    "quantity": Change("hall", hours_of_commissioning, prices(longer_commissioning)),
    "gas, escalation, carbon": Change(
        "hall",
        several(
            rate("Gas, today", 1.875),
            rate("Electricity price, escalation, real", 0.023),
            rate("Gas price, escalation, real", -0.012),
            rate("Carbon dioxide, on top of the prices", 85.0),
        ),
        costs(gas=1.875 / THERM, electricity_escalation=0.023, gas_escalation=-0.012, carbon_price=0.085),
    ),
    "units, and no discount": Change(
        "hall",
        several(
            rate("precool-120", 7777.77),
            rate("precool-120", 3.5, "C"),
            rate("rotor-60", 333.33, "D"),
            rate("Discount rate, real", 0.0),
        ),
        then(
            unit("precool-120", price=7777.77, service_life=3.5),
            unit("rotor-60", maintenance=333.33),
            costs(discount_rate=0.0),
        ),
    ),
    "price book": Change(
        "hall",
        several(
            booked("duct, 10 in", 4.44),
            booked("mechanical labour", 81.5),
            booked("margin on labour", 0.11),
        ),
        then(
            prices(row_of("duct", "10 in", material=4.44 / 0.3048)),
            prices(lambda one: replace(one, labour={**one.labour, "mechanical": 81.5})),
            prices(markup("margin", labour=0.11)),
        ),
    ),
    "a duct, labour and a quantity": Change(
        "hall",
        several(booked("duct, 10 in", 4.75), booked("electrical labour", 90.0), hours_of_commissioning),
        then(
            prices(row_of("duct", "10 in", material=4.75 / 0.3048)),
            prices(lambda one: replace(one, labour={**one.labour, "electrical": 90.0})),
            prices(longer_commissioning),
        ),
    ),
    "time of use": Change(
        "clinic",
        several(rate("energy: peak", 0.333), rate("energy: all else, block 2", 0.0777)),
        then(terms(period(0, 0, 0.333 / KWH)), terms(period(1, 1, 0.0777 / KWH))),
    ),
    "demand and tax": Change(
        "clinic",
        several(rate("demand: any time", 14.25), rate("tax", 0.085)),
        then(
            terms(demand(0, 14.25 / 1000.0)),
            terms(lambda one: replace(one, electricity=replace(one.electricity, tax=0.085))),
        ),
    ),
    "nominal rates": Change(
        "clinic",
        several(rate("Discount rate, nominal", 0.09), rate("Inflation, general", 0.031)),
        costs(inflation=0.031, discount_rate=real(0.09, 0.031), gas_escalation=real(0.025, 0.031)),
    ),
    "everything": Change(
        "clinic",
        several(
            rate("energy: gas, block 1", 0.061),
            rate("Carbon dioxide, on top of the prices", 120.0),
            rate("Carbon dioxide of electricity", 0.51),
            rate("Study period, whole years", 8),
            rate("rotor-90", 5.0, "C"),
            booked("tax on materials", 0.0775),
            booked("location factor, on rates of the price book", 1.32),
        ),
        then(
            terms(block_of_gas(0.061 / KWH)),
            costs(carbon_price=0.12, carbon_electricity=0.51 / KWH, study_period=8, location_factor=1.32),
            unit("rotor-90", service_life=5.0),
            prices(markup("tax", materials=0.0775)),
        ),
    ),
}
UNCHANGED = ("hall", "clinic")


@pytest.fixture(scope="module")
def after(tmp_path_factory: pytest.TempPathFactory) -> dict[str, Workbook]:
    """Every changed workbook, and both unchanged ones, as the other program calculates them."""
    books: dict[str, Workbook] = {name: opened(book(name).file) for name in UNCHANGED}
    for name, change in CHANGES.items():
        one = opened(book(change.site).file)
        change.cells(one, book(change.site))
        books[name] = one
    books["hostile"] = opened(hostile().file)
    comparison, prepared = compared()
    books["comparison"] = opened(workbook_of(comparison=comparison, prepared=prepared))
    books["comparison, discount"] = opened(workbook_of(comparison=comparison, prepared=prepared))
    rate("Discount rate, real", 0.0775)(books["comparison, discount"], book("hall"))
    return calculated(books, tmp_path_factory.mktemp("books"))


@functools.cache
def formulas_of(name: str) -> dict[tuple[str, str], str]:
    return formulas(opened(book(name).file))


@functools.cache
def compared() -> tuple[Comparison, Prepared]:
    """Our own designs, proposals with prices, exclusions and units of their own, and work beside units."""
    with tempfile.TemporaryDirectory() as folder:
        prepared = room_with(Path(folder), *ALL)
    change = Option("a wheel", "change", prepared.site, (), extra_first=4000.0, extra_maintenance=150.0)
    return compare(prepared=prepared, choice=None, more=(change,)), prepared


def differences(found: Workbook, expected: Workbook, written: dict[tuple[str, str], str]) -> list[str]:
    """Formulas whose value is not the expected one, but for those that show what a change has moved."""
    wrong = []
    for (sheet, place), formula in written.items():
        if formula.startswith("=ROUND("):
            continue
        got, wanted = found[sheet][place].value, expected[sheet][place].value
        same = got == wanted
        if isinstance(got, (int, float)) and isinstance(wanted, (int, float)):
            same = abs(got - wanted) <= 1e-9 * max(1.0, abs(wanted))
        if not same:
            wrong.append(f"{sheet}!{place} {formula}: {got}, the tool has {wanted}")
    return wrong


@pytest.mark.parametrize("name", UNCHANGED)
def test_the_values_in_the_file_are_those_of_its_formulas(after: dict[str, Workbook], name: str) -> None:
    assert len(formulas_of(name)) > 1000
    wrong = differences(after[name], opened(book(name).file, values=True), formulas_of(name))
    assert not wrong, "\n".join(wrong[:20])


@pytest.mark.parametrize("name", CHANGES)
def test_a_changed_rate_moves_the_costs_as_the_tool_would(after: dict[str, Workbook], name: str) -> None:
    change = CHANGES[name]
    old = book(change.site)
    new = recosted(old, change.to(old.content.site))
    moved = 0.0
    for before, option in zip(old.content.options, new.content.options, strict=True):
        assert before.evaluation.install == option.evaluation.install
        own, got = option.evaluation.costs, money_of(after[name], option.mark)
        wanted = {key: getattr(own, key) for key in got}
        assert got == pytest.approx(wanted, rel=0.0, abs=AGREEMENT), f"option {option.mark}"
        moved += abs(own.life_cycle - before.evaluation.costs.life_cycle)
    assert moved > 1.0
    wrong = differences(after[name], opened(new.file, values=True), formulas_of(change.site))
    assert not wrong, "\n".join(wrong[:20])


def test_every_markup_is_on_the_amounts_above_it(after: dict[str, Workbook]) -> None:
    """Overhead, margin, contingency and tax follow the lines of their kind: each quantity is the sum of these."""
    sheet = after["a duct, labour and a quantity"]["Bill of quantities"]
    before = after["hall"]["Bill of quantities"]
    above: dict[str, float] = {}
    moved: set[str] = set()
    names: set[str] = set()
    for row in range(1, sheet.max_row + 1):
        section, what, kind, quantity, amount = (sheet[f"{column}{row}"].value for column in "ACDEH")
        if str(section).startswith("Option "):
            above.clear()
        if not isinstance(kind, str) or not isinstance(amount, (int, float)):
            continue
        if section == "markups":
            assert quantity == pytest.approx(above[kind], rel=1e-12), f"row {row}"
            names.add(str(what).split(" on ")[0])
            if quantity != before[f"E{row}"].value:
                moved.add(str(what))
        above[kind] = above.get(kind, 0.0) + amount
    assert names == {"overhead", "margin", "contingency", "tax"}
    assert {f"{name} on {kind}" for name in names - {"tax"} for kind in ("labour", "materials")} <= moved


def test_options_with_prices_of_their_own_are_calculated_alike(after: dict[str, Workbook]) -> None:
    comparison, prepared = compared()
    file = workbook_of(comparison=comparison, prepared=prepared)
    written = formulas(opened(file))
    wrong = differences(after["comparison"], opened(file, values=True), written)
    assert not wrong, "\n".join(wrong[:20])
    assert {one.price.basis for one in comparison.options} == {
        "our own prices", "lump sum", "units and installation", "units alone",
    }  # fmt: skip


def test_the_life_cycle_cost_of_proposals_follows_the_discount_rate(after: dict[str, Workbook]) -> None:
    comparison, _ = compared()
    for one in comparison.options:
        site, own = one.option.site, one.evaluation.costs
        expected = life_cycle_cost(
            first=own.first,
            electricity=own.electricity,
            gas=own.gas,
            maintenance=own.maintenance,
            units=tuple(
                (unit_of(site=site, model=part.model), part.count) for part in one.evaluation.install
            ),
            costs=replace(site.costs, discount_rate=0.0775),
        )
        found = money_of(after["comparison, discount"], f"{one.rank}")
        assert found["first"] == pytest.approx(own.first, rel=0.0, abs=AGREEMENT)
        assert found["life_cycle"] == pytest.approx(expected.total, rel=0.0, abs=AGREEMENT)
        assert abs(expected.total - own.life_cycle) > 1.0


def test_names_that_a_person_typed_stay_text_where_a_program_calculates(after: dict[str, Workbook]) -> None:
    found = {
        cell.value
        for sheet in after["hostile"].worksheets
        for row in sheet.iter_rows()
        for cell in row
        if isinstance(cell.value, str)
    }
    assert {HOSTILE["site"], HOSTILE["model"], HOSTILE["note"], HOSTILE["reason"]} <= found
    assert not [text for text in found if text.startswith(("#", "Err:"))]
