"""Pages of invented results, with what JSON says of them, and a reader of HTML."""

from __future__ import annotations

import functools
import json
import re
import tempfile
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, field, replace
from datetime import date
from html.parser import HTMLParser
from pathlib import Path
from typing import Any

from selector.decide.compare import Comparison, compare
from selector.decide.evaluate import prepare_site
from selector.decide.results import Choice
from selector.decide.sweep import sweep
from selector.decide.sweep_results import Sweep
from selector.inputs.vary_words import pair_words, read_variations
from selector.physics.prepare import Prepared
from selector.report.choose_screen import answer_of
from selector.report.compare_json import compare_json
from selector.report.json_report import choose_json, to_text
from selector.report.page import page_of_choice, page_of_comparison, page_of_sweep
from selector.report.steps import design_days
from selector.report.sweep_json import record_of, sweep_json
from tests.commands import run
from tests.proposals import ALL, room_with
from tests.report.choices import chosen, impossible, nothing
from tests.report.working import half_digit, value_of
from tests.sites import SCENARIOS, prepared_room

TODAY = date(2031, 4, 9)
MONTHS = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")
CHANGES = """
[[options]]
name = "wheel"
kind = "recovery-wheel"
sensible_effectiveness = 0.75
latent_effectiveness = 0.65
supply_fan_power = "0.3 kW"
exhaust_fan_power = "0.3 kW"
first_cost = "9000 USD"
maintenance = "200 USD/year"

[[options]]
name = "reheat"
kind = "overcooling-reheat"
source = "electric"
first_cost = "4000 USD"
maintenance = "100 USD/year"
"""
VOID = {"meta", "link", "input", "br", "hr", "img", "wbr"}


@dataclass(frozen=True)
class Made:
    """A page, and what JSON says of the same result."""

    html: str
    result: dict[str, Any]


def made_of(choice: Choice, prepared: Prepared | None = None) -> Made:
    prepared = prepared or prepared_room()
    answer = answer_of(choice)
    days = design_days(prepared, answer.install)
    result = choose_json(choice=choice, answer=answer, days=days, fitted=prepared.fitted, prepared=prepared)
    html = page_of_choice(choice=choice, prepared=prepared, result=result, today=TODAY)
    return Made(html, json.loads(to_text(result)))


@functools.cache
def choice_page() -> Made:
    return made_of(chosen())


@functools.cache
def comparison() -> tuple[Comparison, Prepared]:
    with tempfile.TemporaryDirectory() as folder:
        prepared = room_with(Path(folder), *ALL, CHANGES)
        found = compare(prepared=prepared, choice=None)
        # the files are read once more for their hash; the same site under its lasting name has the same content
        site = replace(prepared.site, file=prepared_room().site.file)
    return replace(found, site=site), replace(prepared, site=site)


@functools.cache
def comparison_page() -> Made:
    return compared(*comparison())


def compared(found: Comparison, prepared: Prepared) -> Made:
    result = compare_json(comparison=found, prepared=prepared)
    html = page_of_comparison(comparison=found, prepared=prepared, result=result, today=TODAY)
    return Made(html, json.loads(to_text(result)))


@functools.cache
def small_room() -> Prepared:
    """The invented site with two models and two arrangements."""
    whole = prepared_room()
    models = ("precool-120", "compressor-60")
    site = replace(
        whole.site,
        catalog=replace(
            whole.site.catalog, units=tuple(one for one in whole.site.catalog.units if one.model in models)
        ),
        limits=replace(whole.site.limits, arrangements=("standalone", "supply-side")),
    )
    return prepare_site(site=site, fitted=tuple(one for one in whole.fitted if one.unit.model in models))


def swept(vary: list[str], low: list[str], high: list[str], steps: list[int], **more: Any) -> Sweep:
    prepared = small_room()
    words = pair_words(vary=vary, low=low, high=high, steps=steps, values=[])
    variations = read_variations(site=prepared.site, words=words)
    return sweep(prepared=prepared, variations=variations, record=record_of, processes=1, **more)


@functools.cache
def outdoor_sweep() -> Sweep:
    """Three steps of the outdoor air; somewhere between the last two the choice changes."""
    return swept(["outdoor-air-fraction"], ["15%"], ["45%"], [3], resolution=0.05)


def sweep_page_of(found: Sweep) -> Made:
    result = sweep_json(sweep=found)
    html = page_of_sweep(sweep=found, prepared=small_room(), result=result, today=TODAY)
    return Made(html, json.loads(to_text(result)))


@functools.cache
def sweep_page() -> Made:
    return sweep_page_of(outdoor_sweep())


SWEPT = ("--vary", "electricity-price", "--values", "0.10 USD/kWh; 0.30 USD/kWh")


@functools.cache
def demo(command: str) -> Made:
    """A page of a demo site, and its JSON, as the command writes them."""
    with tempfile.TemporaryDirectory() as name:
        html, plain = Path(name) / "page.html", Path(name) / "result.json"
        more = SWEPT if command == "sweep" else ()
        done = run(command, SCENARIOS / "records.toml", *more, "--json", plain, "--report", html)
        assert done.exit_code == 0, done.stderr
        return Made(html.read_text("utf-8"), json.loads(plain.read_text("utf-8")))


# those of the demo site are in SI, the others in IP
PAGES: dict[str, Callable[[], Made]] = {
    "demo choose": lambda: demo("choose"),
    "demo compare": lambda: demo("compare"),
    "demo sweep": lambda: demo("sweep"),
    "choice": choice_page,
    "not possible": functools.cache(lambda: made_of(impossible())),
    "nothing": functools.cache(lambda: made_of(nothing())),
    "comparison": comparison_page,
    "sweep": sweep_page,
}


# ---------------------------------------------------------------------------------------- reading a page


@dataclass
class Element:
    """One element of a page."""

    tag: str
    attributes: dict[str, str]
    above: Element | None
    parts: list[Element | str] = field(default_factory=list)

    def every(self, *tags: str) -> Iterator[Element]:
        """Elements below, in their order."""
        for one in self.parts:
            if isinstance(one, Element):
                if not tags or one.tag in tags:
                    yield one
                yield from one.every(*tags)

    def text(self) -> str:
        """All text, with spaces and line ends as one space."""
        return " ".join(self.raw().split())

    def raw(self) -> str:
        return "".join(one if isinstance(one, str) else one.raw() for one in self.parts)

    def has(self, name: str) -> bool:
        return name in self.attributes.get("class", "").split()


class _Reader(HTMLParser):
    def __init__(self) -> None:
        super().__init__(convert_charrefs=True)
        self.root = Element("", {}, None)
        self.here = self.root

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        one = Element(tag, {name: value or "" for name, value in attrs}, self.here)
        self.here.parts.append(one)
        if tag not in VOID:
            self.here = one

    def handle_startendtag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.here.parts.append(Element(tag, {name: value or "" for name, value in attrs}, self.here))

    def handle_endtag(self, tag: str) -> None:
        assert self.here.tag == tag, f"</{tag}> closes <{self.here.tag}>"
        assert self.here.above is not None
        self.here = self.here.above

    def handle_data(self, data: str) -> None:
        self.here.parts.append(data)


@functools.lru_cache(maxsize=8)
def read(html: str) -> Element:
    """Read a page; every element has to be closed where it should be."""
    reader = _Reader()
    reader.feed(html)
    reader.close()
    assert reader.here is reader.root, f"<{reader.here.tag}> is not closed"
    return reader.root


def by_id(page: Element, name: str) -> Element:
    found = [one for one in page.every() if one.attributes.get("id") == name]
    assert len(found) == 1, f"{name}: {len(found)} elements"
    return found[0]


def texts_of(value: Any) -> Iterator[str]:
    """Texts with digits that JSON has, and designs as they are written."""
    if isinstance(value, dict):
        for one in value.values():
            yield from texts_of(one)
        if "count" in value and "model" in value:
            yield f"{value['count']} {value['model']}"
    elif isinstance(value, list):
        for one in value:
            yield from texts_of(one)
    elif isinstance(value, str) and re.search(r"\d", value):
        yield " ".join(value.split())


# ---------------------------------------------------------------------------------------- figures

# what one of the unit shown is in JSON's unit; written out here once more, so that nothing of the product is used
UNITS: dict[tuple[str, str], float] = {
    ("fraction", "%"): 0.01,
    ("percent", "%"): 0.01,
    ("moisture", "lb"): 0.45359237,
    ("mass", "lb"): 0.45359237,
    ("moisture_rate", "lb/h"): 0.45359237 / 3600.0,
    ("per_kwh", "lb/kWh"): 0.45359237,
    ("airflow", "cfm"): 0.3048**3 / 60.0,
    ("area", "ft2"): 0.3048**2,
    ("length", "ft"): 0.3048,
    ("size", "in"): 0.0254,
    ("size", "m"): 1.0,
    ("velocity", "fpm"): 0.3048 / 60.0,
    ("pressure", "in. w.g."): 249.08891,
    ("pressure", "psia"): 6894.757293168,
    ("pressure", "kPa"): 1000.0,
    ("temperature_difference", "°F"): 1.0 / 1.8,
    ("conductance", "Btu/(h*°F)"): 1055.05585262 / 3600.0 * 1.8,
    ("heat_capacity", "Btu/°F"): 1055.05585262 * 1.8,
    ("per_temperature", "1/°F"): 1.8,
    ("rate", "1/h"): 1.0 / 3600.0,
    ("electric_power", "kW"): 1000.0,
    ("power", "kW"): 1000.0,
    ("power", "Btu/h"): 1055.05585262 / 3600.0,
    ("cooling_capacity", "kW"): 1000.0,
    ("cooling_capacity", "ton"): 12000.0 * 1055.05585262 / 3600.0,
    ("energy_price", "USD/kWh"): 1.0 / 3.6e6,
    ("gas_price", "USD/kWh"): 1.0 / 3.6e6,
    ("gas_price", "USD/therm"): 1.0 / 105505585.262,
    ("carbon_factor", "kg/kWh"): 1.0 / 3.6e6,
    ("specific_removal", "lb/kWh"): 0.45359237 / 3.6e6,
    ("humidity_ratio", "gr/lb"): 1.0 / 7000.0,
    ("humidity_ratio", "g/kg"): 0.001,
    ("enthalpy", "kJ/kg"): 1000.0,
    ("moisture_rate", "kg/h"): 1.0 / 3600.0,
    ("per_kwh", "kg/kWh"): 1.0,
    ("moisture", "kg"): 1.0,
    ("mass", "kg"): 1.0,
    ("airflow", "m3/h"): 1.0 / 3600.0,
    ("area", "m2"): 1.0,
    ("length", "m"): 1.0,
    ("velocity", "m/s"): 1.0,
    ("pressure", "Pa"): 1.0,
    ("temperature_difference", "K"): 1.0,
    ("conductance", "W/K"): 1.0,
    ("heat_capacity", "kJ/K"): 1000.0,
    ("per_temperature", "1/K"): 1.0,
    ("specific_removal", "kg/kWh"): 1.0 / 3.6e6,
}
SAME = {"hours", "count", "kwh", "kw", "years", "ratio", "work", "price", "plain", "residual", "money",
        "money_per_year", "current", "sound", "time", "voltage"}  # fmt: skip


def in_json_units(attributes: Mapping[str, str], number: float) -> float:
    """A number as shown, in the unit that JSON has; attributes are those of its element."""
    kind, unit = attributes["data-kind"], attributes["data-unit"]
    times = float(attributes.get("data-times") or "1")
    if kind == "temperature":
        assert unit in ("°F", "°C")
        return (number - 32.0) / 1.8 if unit == "°F" else number
    if (kind, unit) == ("enthalpy", "Btu/lb"):  # from dry air at 0 °F; JSON from dry air at 0 °C
        return (number - 0.240 * 32.0) * 2326.0
    if (kind, unit) in UNITS:
        return number * UNITS[kind, unit] / times
    assert kind in SAME, f"{kind} in {unit}"
    return number / times


def agrees(attributes: Mapping[str, str], shown: str, value: float) -> bool:
    """Whether a figure is a value of JSON's, to the digits shown."""
    if attributes["data-kind"] == "residual":
        return abs(float(shown) - value) <= 0.06 * value  # two figures
    ends = [in_json_units(attributes, value_of(shown) + sign * half_digit(shown)) for sign in (-1.0, 1.0)]
    slack = 1e-9 * max(abs(end) for end in ends)
    return min(ends) - slack <= value <= max(ends) + slack
