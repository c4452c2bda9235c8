"""What a sweep can vary: how words become values, and how a value enters a site."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import fields, replace

import numpy as np
import pytest

from selector.inputs.errors import Faults, InputFaults
from selector.inputs.site import AirHandler, HumidityTarget, PeopleGain, Site
from selector.inputs.tariff import ElectricityTariff, GasTariff, Tariff
from selector.inputs.vary import BY_NAME, Variation, changed_site, today
from selector.inputs.vary_words import Words, count_steps, judge_words, pair_words, read_variations
from tests.sites import SCENARIOS, room

CFM = 0.3048**3 / 60.0


def words(vary: str, low: str, high: str, steps: int = 3) -> Words:
    return Words(vary, low, high, steps, None)


def one(vary: str, low: str, high: str, steps: int = 3, *, site: Site | None = None) -> Variation:
    return read_variations(site=site or room(), words=(words(vary, low, high, steps),))[0]


def faults_of(*given: Words, site: Site | None = None) -> str:
    with pytest.raises(InputFaults, match=r"got .*; allowed: ") as caught:
        read_variations(site=site or room(), words=given)
    return str(caught.value)


def handler_of(site: Site) -> AirHandler:
    assert site.air_handler is not None
    return site.air_handler


@pytest.mark.parametrize("name", ["electricity-price", "gas-price"])
def test_a_price_is_not_judged_before_the_sites_currency_is_known(name: str) -> None:
    faults = Faults()
    judge_words(words=(words(name, "0.10 EUR/kWh", "0.20 EUR/kWh"),), faults=faults)
    assert not len(faults)


def test_a_range_is_divided_evenly_and_its_ends_are_exact() -> None:
    variation = one("outdoor-air-fraction", "10 %", "60%", 11)
    assert variation.values[0] == 0.1
    assert variation.values[-1] == 0.6
    assert np.allclose(np.diff(variation.values), 0.05, rtol=0, atol=1e-15)
    assert (
        one("outdoor-air-fraction", "60 %", "10 %", 11).values == variation.values
    )  # written the other way round


def test_a_list_is_sorted() -> None:
    (variation,) = read_variations(
        site=room(), words=(Words("electricity-price", None, None, 0, "0.20 USD/kWh; 0.10 USD/kWh"),)
    )
    assert variation.values == pytest.approx((0.10 / 3.6e6, 0.20 / 3.6e6), rel=1e-14)


# (what, lowest, highest, in SI, what the room has today)
SIMPLE = (
    ("outdoor-air-fraction", "10 %", "50 %", 0.1, 0.25),
    ("outdoor-airflow", "600 cfm", "1,800 cfm", 600 * CFM, 900 * CFM),
    ("electricity-price", "0.10 USD/kWh", "0.30 USD/kWh", 0.10 / 3.6e6, None),
    ("gas-price", "0.50 USD/therm", "2 USD/therm", 0.50 / 105505585.262, None),
    ("discount-rate", "2 %", "9 %", 0.02, 0.05),
    ("humidity-limit", "50 %", "65 %", 0.50, 0.60),
    ("infiltration", "0.1 1/h", "1 ACH", 0.1 / 3600.0, 0.25 / 3600.0),
    ("gains", "50 %", "200 %", 0.5, 1.0),
    ("moisture-buffer", "3", "30", 3.0, 10.0),
    ("unit-price", "80 %", "150 %", 0.8, 1.0),
    ("outdoor-air-per-person:classroom", "2.5 L/s", "10 L/s", 0.0025, None),
    ("outdoor-air-per-area:classroom", "0.3 L/(s*m2)", "0.9 L/(s*m2)", 0.0003, None),
)


@pytest.mark.parametrize(("vary", "low", "high", "first", "now"), SIMPLE, ids=[case[0] for case in SIMPLE])
def test_each_value_is_read_in_its_unit_and_enters_the_site(
    vary: str, low: str, high: str, first: float, now: float | None
) -> None:
    variation = one(vary, low, high)
    assert variation.values[0] == pytest.approx(first, rel=1e-12)
    present = today(site=room(), variation=variation)
    assert present is not None
    if now is not None:
        assert present == pytest.approx(now, rel=1e-12)
    changed = changed_site(site=room(), settings=((variation, variation.values[-1]),))
    if vary in ("gains", "unit-price"):  # factors on what the site was read with
        return
    assert today(site=changed, variation=variation) == pytest.approx(variation.values[-1], rel=1e-12)
    back = changed_site(site=changed, settings=((variation, present),))
    assert today(site=back, variation=variation) == pytest.approx(present, rel=1e-12)


@pytest.mark.parametrize(("vary", "low", "high", "first", "now"), SIMPLE, ids=[case[0] for case in SIMPLE])
def test_all_else_is_held(vary: str, low: str, high: str, first: float, now: float | None) -> None:
    variation = one(vary, low, high)
    changed = changed_site(site=room(), settings=((variation, variation.values[0]),))
    part = {
        "outdoor": "air_handler", "electricity": "costs", "gas": "costs", "discount": "costs",
        "humidity": "targets", "infiltration": "space", "moisture": "space", "gains": "gains", "unit": "catalog",
    }[vary.partition("-")[0]]  # fmt: skip
    for field in fields(Site):
        if field.name not in (part, "assumptions"):
            assert getattr(changed, field.name) is getattr(room(), field.name), field.name
    if part == "air_handler":
        for field in fields(AirHandler):
            if field.name != "outdoor_airflow":
                assert getattr(changed.air_handler, field.name) is getattr(room().air_handler, field.name)
    varied = [one for one in changed.assumptions if one.source == "varied by the sweep"]
    assert len(varied) == 1
    assert varied[0].origin == "given"


def test_the_ventilation_standards_formula_by_hand() -> None:
    """60 people and 3,000 ft2 of class rooms: 60 x 10 cfm + 3,000 x 0.12 cfm = 960 cfm (ASHRAE 62.1-2019, eq. 6-1)."""
    variation = one("outdoor-air-per-person:classroom", "10 cfm", "20 cfm")
    changed = changed_site(site=room(), settings=((variation, variation.values[0]),))
    assert handler_of(changed).outdoor_airflow / CFM == pytest.approx(960.0, rel=1e-9)
    by_area = one("outdoor-air-per-area:classroom", "0.12 cfm/ft2", "0.3 cfm/ft2")
    changed = changed_site(site=room(), settings=((by_area, by_area.values[0]),))
    assert handler_of(changed).outdoor_airflow / CFM == pytest.approx(960.0, rel=1e-9)


def test_both_rates_of_the_standard_together() -> None:
    """60 x 5 cfm + 3,000 x 0.2 cfm = 900 cfm: in a grid neither rate falls back to the table's."""
    both = read_variations(
        site=room(),
        words=(
            words("outdoor-air-per-person:classroom", "5 cfm", "10 cfm"),
            words("outdoor-air-per-area:classroom", "0.06 cfm/ft2", "0.2 cfm/ft2"),
        ),
    )
    values = (both[0].values[0], both[1].values[-1])
    changed = changed_site(site=room(), settings=tuple(zip(both, values, strict=True)))
    assert handler_of(changed).outdoor_airflow / CFM == pytest.approx(900.0, rel=1e-9)


def test_gains_scale_people_and_heat_alike() -> None:
    variation = one("gains", "50 %", "200 %")
    changed = changed_site(site=room(), settings=((variation, 2.0),))
    for before, after in zip(room().gains, changed.gains, strict=True):
        if isinstance(before, PeopleGain):
            assert isinstance(after, PeopleGain)
            assert after.count == 2.0 * before.count
            assert after.latent == before.latent
        else:
            assert getattr(after, "power") == 2.0 * getattr(before, "power")  # noqa: B009 - one of several kinds


def test_unit_prices_scale_and_nothing_else_of_a_unit() -> None:
    variation = one("unit-price", "80 %", "150 %")
    changed = changed_site(site=room(), settings=((variation, 1.5),))
    for before, after in zip(room().catalog.units, changed.catalog.units, strict=True):
        assert after == replace(before, price=1.5 * before.price)


def test_a_nominal_discount_rate_is_varied_as_the_file_writes_it() -> None:
    """Nominal 8 % and 3 % inflation: (1.08 / 1.03) - 1 = 4.854369 % real (ASTM E917)."""
    costs = replace(
        room().costs, discount_rate_kind="nominal", inflation=0.03, discount_rate=1.05 / 1.03 - 1.0
    )
    site = replace(room(), costs=costs)
    variation = one("discount-rate", "3 %", "8 %", site=site)
    assert today(site=site, variation=variation) == pytest.approx(0.05, rel=1e-12)
    changed = changed_site(site=site, settings=((variation, 0.08),))
    assert changed.costs.discount_rate == pytest.approx(0.048543689320, rel=1e-9)


def test_of_several_humidity_limits_one_has_to_be_named() -> None:
    dew = HumidityTarget("night", "dew-point", 15.0, 0.5, np.ones(8760, bool), 40.0)
    site = replace(room(), targets=(*room().targets, dew))
    text = faults_of(words("humidity-limit", "50 %", "60 %"), site=site)
    assert (
        'got no name, and 2 limits; allowed: "humidity-limit:humidity target", "humidity-limit:night"' in text
    )
    variation = one("humidity-limit:night", "55 degF", "60 degF", site=site)
    changed = changed_site(site=site, settings=((variation, variation.values[0]),))
    assert changed.targets[0] is site.targets[0]
    assert changed.targets[1].limit == pytest.approx((55.0 - 32.0) / 1.8, rel=1e-12)


def test_weather_files_are_read_and_keep_the_calendar() -> None:
    files = f"{SCENARIOS}/weather/tidewater.csv; {SCENARIOS}/weather/mesa.csv"
    (variation,) = read_variations(site=room(), words=(Words("weather-file", None, None, 0, files),))
    assert variation.values == (0.0, 1.0)
    assert today(site=room(), variation=variation) is None
    changed = changed_site(site=room(), settings=((variation, 1.0),))
    assert (
        changed.weather.elevation > 1000.0
    )  # the file's own, as it knows it, or the site's where it does not
    assert changed.weather.first_weekday == room().weather.first_weekday
    assert changed.space is room().space
    same = changed_site(site=room(), settings=((variation, 0.0),))
    assert np.array_equal(same.weather.humidity_ratio, room().weather.humidity_ratio)


def tariff() -> Tariff:
    return Tariff(ElectricityTariff((), (), 0.0, 0.0), GasTariff((), 0.0, 0.0))


# (what was written, what the message has to say)
REFUSED: tuple[tuple[tuple[Words, ...], Sequence[str]], ...] = (
    ((words("outdoor-air", "1", "2"),), ('got "outdoor-air"; allowed: outdoor-air',)),
    ((words("infiltration", "3 cfm", "5"),), ("--from: infiltration: got", "--to: infiltration: got")),
    ((words("infiltration", "1 1/h", "1 1/h"),), ("another value than --from",)),
    ((words("infiltration", "1 1/h", "30 1/h", 1),), ("--steps: infiltration: got 1", "at most 20 1/h")),
    ((words("gains:people", "50 %", "200 %"),), ('got ":people"; allowed: nothing behind the name',)),
    ((words("outdoor-airflow", "600 cfm", "9,000 cfm"),), ("at most the supply airflow",)),
    ((words("humidity-limit", "2 %", "50 %"),), ("at least 10 % and at most 95 %",)),
    ((words("moisture-buffer", "3 kg", "0.5"),), ("--from: moisture-buffer", "--to: moisture-buffer")),
    ((words("outdoor-air-per-person:cinema", "1 cfm", "2 cfm"),), ('the use "cinema"; allowed:',)),
    ((words("outdoor-air-per-person", "1 cfm", "2 cfm"),), ("no use of the space",)),
    ((Words("gains", None, None, 0, "50 %; 50 %; x"),), ("a value twice", 'got "x"')),
    ((Words("weather-file", None, None, 0, "a.csv; b.csv"),), ("a.csv: file: got no such file", "b.csv: file")),
    ((words("gains", "1", "2"), words("gains", "1", "2")), ('"gains" twice; allowed: two different things',)),
    (
        (words("outdoor-airflow", "1 cfm", "9 cfm"), words("outdoor-air-fraction", "10 %", "20 %")),
        ("one way to say the outdoor air",),
    ),
    ((words("gains", "1", "2", 90), words("infiltration", "1 1/h", "2 1/h", 90)), ("at most 2,601 in all",)),
)  # fmt: skip


@pytest.mark.parametrize(
    ("given", "said"), REFUSED, ids=[case[0][0].vary + str(i) for i, case in enumerate(REFUSED)]
)
def test_what_is_wrong_is_refused_all_at_once(given: tuple[Words, ...], said: Sequence[str]) -> None:
    text = faults_of(*given)
    for words_ in said:
        assert words_ in text, text


def test_what_the_site_does_not_have_cannot_be_varied() -> None:
    bare = replace(room(), air_handler=None, gains=(), costs=replace(room().costs, tariff=tariff()))
    text = faults_of(words("outdoor-air-fraction", "1 %", "2 %"), words("gains", "1", "2"), site=bare)
    assert "a site without [air_handler]" in text
    assert "a site without gains" in text
    assert "[costs.tariff]" in faults_of(words("gas-price", "1 USD/therm", "2 USD/therm"), site=bare)
    assert "a site without people" in faults_of(
        words("outdoor-air-per-person:office", "1 cfm", "2 cfm"), site=replace(room(), gains=())
    )


def test_a_list_has_each_value_once_however_it_is_written() -> None:
    assert faults_of(Words("gains", None, None, 0, "0.5; 50 %; 1")) == (
        '--values: option: got a value twice; allowed: two or more, as "10 %; 20 %; 35 %"'
    )


def test_weather_that_no_file_can_be_called_is_refused() -> None:
    text = faults_of(Words("weather-file", None, None, 0, f"{'n' * 300}; \0"))
    assert ": file: got file name too long; allowed: a weather file\n" in text
    assert text.endswith("\\x00: file: got a name that no file can have; allowed: a weather file")


def test_options_belong_together_in_their_order() -> None:
    found = pair_words(
        vary=("gains", "weather-file"), low=("50 %",), high=("150 %",), steps=(5,), values=("a.csv; b.csv",)
    )
    assert found == (
        Words("gains", "50 %", "150 %", 5, None),
        Words("weather-file", None, None, 0, "a.csv; b.csv"),
    )
    both = pair_words(vary=("gains", "infiltration"), low=("1", "2"), high=("3", "4"), steps=(7,), values=())
    assert [one.steps for one in both] == [7, 7]
    assert pair_words(vary=("gains",), low=("1",), high=("2",), steps=(), values=())[0].steps == 11


def test_numbers_of_steps_are_whole_and_every_other_is_named() -> None:
    faults = Faults()
    assert count_steps(texts=("7", "-2"), faults=faults) == (7, -2)
    assert len(faults) == 0
    assert count_steps(texts=("seven", "5", "3.5"), faults=faults) == (11, 5, 11)
    allowed = "allowed: a whole number from 2 to 201"
    assert [str(fault) for fault in faults.all()] == [
        f'--steps: option: got "seven"; {allowed}',
        f'--steps: option: got "3.5"; {allowed}',
    ]


@pytest.mark.parametrize(
    ("vary", "low", "high", "steps", "values", "said"),
    [
        ((), (), (), (), (), "--vary: option: got not at all"),
        (("gains",) * 3, (), (), (), (), "--vary: option: got 3 times"),
        (("gains",), (), ("2",), (), (), "--from: option: got not at all; allowed: once"),
        (("gains",), ("1",), ("2",), (), ("3",), "--values: option: got once; allowed: not at all"),
        (("gains",), ("1",), ("2",), (3, 4), (), "--steps: option: got twice"),
        (("gains",), (), (), (), (), r"--from: option: .*\n--to: option: got not at all; allowed: once"),
    ],
)
def test_options_that_do_not_pair_are_refused(
    vary: tuple[str, ...],
    low: tuple[str, ...],
    high: tuple[str, ...],
    steps: tuple[int, ...],
    values: tuple[str, ...],
    said: str,
) -> None:
    with pytest.raises(InputFaults, match=said):
        pair_words(vary=vary, low=low, high=high, steps=steps, values=values)


def test_every_parameter_says_what_it_holds() -> None:
    assert {case[0].partition(":")[0] for case in SIMPLE} | {"weather-file"} == set(BY_NAME)
    for parameter in BY_NAME.values():
        assert parameter.held
        assert parameter.step_ip[0] > 0.0
        assert parameter.step_si[0] > 0.0
