"""What a page says of the worth of its figures, of the values of the run, and of limits that are not kept."""

from __future__ import annotations

import re
from dataclasses import replace

import pytest

from selector.decide.limits import BrokenLimit, hours_limit
from selector.report.page import page_of_choice
from selector.report.page_choice import answer_blocks
from selector.report.page_figures import Figures, dimension_of
from selector.report.page_parts import Points
from selector.report.text import show_for
from tests.report import pages
from tests.report.choices import chosen
from tests.report.pages import TODAY, Element, by_id, choice_page, compared, comparison, read
from tests.sites import prepared_room

PAGES = {name: make for name, make in pages.PAGES.items() if not name.startswith("demo")}
EVERY_PAGE = pytest.mark.parametrize("which", PAGES)


def page(which: str) -> Element:
    return read(PAGES[which]().html)


# ---------------------------------------------------------------------------------------- what figures are worth


def marks_of(root: Element) -> list[str]:
    return [one.text() for one in root.every("p") if one.has("mark")]


@EVERY_PAGE
def test_the_head_says_what_the_figures_are_worth(which: str) -> None:
    marks = marks_of(page(which))
    assert "Synthetic weather, no record of real hours." in marks
    assert "Invented prices, not for a bid." in marks
    told = by_id(page(which), "assumptions").text()
    first = PAGES[which]().result["first_estimate"]
    assert ("First estimate: defaults stand that may change the answer." in marks) is first
    assert ("The answer is a first estimate as long as one of them may change it." in told) is first
    assert ("None that was tried changes the answer." in told) is not first


def test_the_weather_of_real_hours_is_not_marked() -> None:
    site = chosen().site
    real = replace(site, weather=replace(site.weather, kind="measured year"))
    html = page_of_choice(
        choice=replace(chosen(), site=real),
        prepared=prepared_room(),
        result=choice_page().result,
        today=TODAY,
    )
    assert not any("weather" in mark for mark in marks_of(read(html)))
    assert "The weather is that of a measured year." in by_id(read(html), "assumptions").text()


def test_an_answer_that_no_default_changes_is_no_first_estimate() -> None:
    result = {**choice_page().result, "first_estimate": False}
    root = read(page_of_choice(choice=chosen(), prepared=prepared_room(), result=result, today=TODAY))
    assert "Defaults stand; none that was tried changes the answer." in marks_of(root)
    assert "None that was tried changes the answer." in by_id(root, "assumptions").text()
    assert "first estimate as long" not in root.text()


def test_defaults_that_are_counted_are_those_that_are_listed() -> None:
    text = by_id(page("choice"), "assumptions").text()
    found = re.search(r"(\d+) of (\d+) values are defaults that bear on the answer, (\d+) more only", text)
    assert found is not None
    bear, whole, more = map(int, found.groups())
    every = choice_page().result["assumptions"]
    assert whole == len(every)
    assert bear + more == sum(one["origin"] in ("default", "profile") for one in every)


# ---------------------------------------------------------------------------------------- values of the run


def rows_of(which: str) -> dict[str, list[str]]:
    """Values of the run by key: value, low to high where there is such a column, source."""
    return {
        cells[0].rpartition(" ")[2]: cells[1:]
        for row in by_id(page(which), "assumptions").every("tr")
        if len(cells := [cell.text() for cell in row.every("th", "td")]) > 2
    }


def test_values_stand_in_the_units_that_the_trade_knows_them_by() -> None:
    room = rows_of("choice")
    assert room["air_handler.cooling_coil.total_capacity"][0] == "10 ton"
    assert room["gains[0].sensible"][0].endswith("Btu/h")
    assert room["gains[1].power"][0] == "2 kW"
    assert room["humidity_target.band"][0] == "3.0 %"
    assert dimension_of(key="humidity_target[1].band", unit="", currency="USD") == "percent"
    coil = "air_handler.cooling_coil"
    assert dimension_of(key=f"{coil}.eer", unit="", currency="USD") == "energy_efficiency_ratio"
    assert dimension_of(key=f"{coil}.kw_per_ton", unit="", currency="USD") == "power_per_cooling"
    assert dimension_of(key=f"{coil}.cop", unit="", currency="USD") is None


def test_the_life_cycle_cost_stands_with_the_parts_that_it_is_the_sum_of() -> None:
    (table,) = [
        one for one in by_id(page("choice"), "money").every("table") if "present values" in one.text()
    ]
    rows = [[cell.text() for cell in row.every("th", "td")] for row in table.every("tr")][1:]
    found = {row[0]: float(row[2].replace(",", "")) for row in rows}
    total = found.pop("Life-cycle cost")
    assert list(found) == [
        "First cost",
        "Electricity",
        "Gas",
        "Maintenance",
        "Units bought again",
        "What is left at the end",
    ]
    assert total == pytest.approx(sum(found.values()), abs=0.5 * len(found))  # each rounded
    again = next(row[1] for row in rows if row[0] == "Units bought again")
    assert re.search(r"^2 precool-120 at [\d,]+\W+USD each, after \d+\W+years: in year \d+", again)


def test_low_and_high_stand_only_where_they_differ() -> None:
    rows = rows_of("choice")
    assert rows["limits.work_years"][1] == ""
    assert " to " in rows["space.heat_loss"][1]
    tables = {one.text().split(" (")[0]: one for one in by_id(page("choice"), "assumptions").every("table")}
    assert "Low to high" not in tables["Given in the site file"].text()
    assert "Low to high" in tables["Defaults"].text()


def test_the_record_names_the_weather_file() -> None:
    text = by_id(page("choice"), "record").text()
    assert "tidewater.csv, synthetic weather, elevation 39.4 ft; 0 h filled" in text


# ---------------------------------------------------------------------------------------- what is not kept


def test_a_limit_that_is_not_kept_is_named_once() -> None:
    text = page("not possible").text()
    assert re.search(
        r"which breaks the limit on first cost, [^;]*; hours above the humidity target, 106 h \(40 ", text
    )
    assert "How near each arrangement came" in text
    assert "Why each other arrangement lost" not in text
    for which in PAGES:
        assert "humidity, humidity target" not in page(which).text()
        assert "It breaks" not in page(which).text()


def why_existing(root: Element) -> str:
    rows = [[cell.text() for cell in row.every("th", "td")] for row in by_id(root, "others").every("tr")]
    (why,) = [row[-1] for row in rows if row[0].endswith("existing system")]
    return why


def test_an_option_that_only_fails_by_its_hours_says_so_once() -> None:
    why = why_existing(page("comparison"))
    assert "fails" in why
    assert why.count("allowed)") == 1


@pytest.mark.parametrize(
    ("more", "told"),
    [("hours too warm", False), (hours_limit("another"), True)],
    ids=["stands in the reason", "does not"],
)
def test_limits_that_stand_in_the_reason_are_not_told_again(more: str, told: bool) -> None:
    found, prepared = comparison()
    options = []
    for one in found.options:
        broken = (*one.evaluation.broken, BrokenLimit(more, 80, 50.0, "h"))
        options.append(replace(one, evaluation=replace(one.evaluation, broken=broken)))
    why = why_existing(read(compared(replace(found, options=tuple(options)), prepared).html))
    assert ("Not kept: " in why) is told


def test_what_a_design_can_take_it_still_keeps() -> None:
    assert "of the mean load, and still keep every limit." in page("choice").text()


def test_with_a_unit_out_the_limit_is_named_where_there_are_several() -> None:
    choice = chosen()
    assert "are above the limit, the worst" in page("choice").text()
    limits = (*choice.existing.limits, replace(choice.existing.limits[0], name="another"))
    two = replace(choice, existing=replace(choice.existing, limits=limits))
    figures = Figures(choice_page().result, show_for(choice.site))
    (points,) = [
        one
        for one in answer_blocks(choice=two, prepared=prepared_room(), figures=figures)
        if isinstance(one, Points)
    ]
    text = " ".join(str(one) for one in points.texts)
    assert 'are above the limit of "humidity target", the worst' in text
