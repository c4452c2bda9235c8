"""The psychrometric chart read with a ruler, against the handbook's tables and examples and against CoolProp.

Curves and guides are psychrolib's, whose moist air is a mixture of ideal gases; the handbook's tables and CoolProp
hold real moist air, which at saturation takes up to 0.5 % more water. The tolerances are what was found, rounded up.
Sources: ASHRAE Handbook Fundamentals 2017, ch. 1, Tables 2 and 3 and its worked examples; CoolProp 7, HAPropsSI
(ASHRAE RP-1485).
"""

from __future__ import annotations

import dataclasses
import functools
from typing import Literal

import numpy as np
import pytest
from CoolProp.HumidAirProp import HAPropsSI

from selector.decide.duty import air_of
from selector.inputs.si import psychrolib
from selector.inputs.site import FloatArray
from selector.report.charts import psychrometric_chart, svg_of
from selector.report.charts_guides import Frame
from selector.report.charts_states import DesignAir, Process, State
from tests.report.pictures import Picture, Scale
from tests.sites import room

SEA_LEVEL = 101325.0
AT_1500_M = 84555.9  # Pa, standard atmosphere
Units = Literal["IP", "SI"]
WIDE = Frame((0.0, 50.0), (0.0, 0.040))


class Read:
    """A chart whose points and curves are read off in the units of its axes."""

    def __init__(
        self, units: Units, pressure: float, states: tuple[tuple[float, float], ...], frame: Frame
    ) -> None:
        """states: dry bulb in °C and humidity ratio in kg/kg."""
        self.pressure, self.units = pressure, units
        found = tuple(
            State((f"state {at}",), air_of(dry_bulb=t, humidity_ratio=w, pressure=pressure), False)
            for at, (t, w) in enumerate(states)
        )
        joins = tuple(Process("mixing", at, at + 1, False) for at in range(len(found) - 1))
        air = DesignAir(0, "year", None, pressure, 0.0, 0.0, 0, "", None, (), (), found, joins)
        site = dataclasses.replace(room(), display_units=units)
        made = psychrometric_chart(site=site, install=(), air=air, frame=frame)
        self.shown = Picture(svg_of(chart=made), made.name)
        self.ratio: Scale = self.shown.scale(1, "y")
        self.dry_bulb: Scale = self.shown.scale(2, "x")

    def state(self, at: int) -> tuple[float, float]:
        """Dry bulb and humidity ratio of a plotted state."""
        x, y = self.shown.marker(f"state-{at + 1}")
        return float(self.dry_bulb.read(x)), float(self.ratio.read(y))

    def curve(self, which: str) -> tuple[FloatArray, FloatArray]:
        corners = self.shown.path(which)
        return self.dry_bulb.read(corners[:, 0]), self.ratio.read(corners[:, 1])

    def ratio_on(self, which: str, dry_bulb: float) -> float:
        """Humidity ratio of a curve above a dry bulb."""
        t, w = self.curve(which)
        order = np.argsort(t)
        assert t.min() <= dry_bulb <= t.max()
        return float(np.interp(dry_bulb, t[order], w[order]))

    def dew_point(self, at: int) -> float:
        """Dew point of a state, straight between the two marks of the left scale that it lies between."""
        marks = sorted(
            (place, float(words.replace("\N{MINUS SIGN}", "-"))) for place, words in self.shown.ticks(3, "y")
        )
        places, values = zip(*marks, strict=True)
        y = self.shown.marker(f"state-{at + 1}")[1]
        assert places[0] <= y <= places[-1]
        return float(np.interp(y, places, values))

    def enthalpy(self, at: int) -> float:
        """Enthalpy of a state from the guides that cross its dry bulb: above one dry bulb it is straight."""
        t, w = self.state(at)
        marks = []
        for name in self.shown.ids("enthalpy-"):
            reach = self.curve(name)[0]
            if reach.min() <= t <= reach.max():
                marks.append((self.ratio_on(name, t), float(name.removeprefix("enthalpy-"))))
        ratios, values = zip(*sorted(marks), strict=True)
        assert len(ratios) >= 2
        slope, zero = np.polyfit(ratios, values, 1)
        return float(zero + slope * w)

    def enthalpy_along_saturation(self, dry_bulb: float) -> float:
        """Enthalpy of saturated air between the guides that start left and right of it."""
        starts = sorted(
            (float(self.curve(name)[0].min()), float(name.removeprefix("enthalpy-")))
            for name in self.shown.ids("enthalpy-")
        )
        places, values = zip(*starts, strict=True)
        return float(np.interp(dry_bulb, places, values))

    def relative_humidity(self, at: int) -> float:
        """Relative humidity of a state between the curves that it lies between, % above its dry bulb."""
        t, w = self.state(at)
        marks = [(0.0, 0.0)]
        for name in ("saturation", *self.shown.ids("rh-")):
            if self.curve(name)[0].max() >= t:  # others have left the picture
                marks.append((self.ratio_on(name, t), 100.0 if name == "saturation" else float(name[3:])))
        ratios, values = zip(*sorted(marks), strict=True)
        return float(np.interp(w, ratios, values))


@functools.cache
def ground(units: Units, pressure: float) -> Read:
    return Read(units, pressure, ((25.0, 0.010),), WIDE)


# Table 2, 101.325 kPa: humidity ratio at saturation; found 0.43 % and 0.46 % below
@pytest.mark.parametrize(("dry_bulb", "ratio"), [(5.0, 0.005425), (25.0, 0.020173)])
def test_saturation_is_the_handbooks_table_2(dry_bulb: float, ratio: float) -> None:
    assert ground("SI", SEA_LEVEL).ratio_on("saturation", dry_bulb) == pytest.approx(
        1000.0 * ratio, rel=0.005
    )
    in_ip = ground("IP", SEA_LEVEL).ratio_on("saturation", 1.8 * dry_bulb + 32.0)
    assert in_ip == pytest.approx(7000.0 * ratio, rel=0.005)


# Table 3: pressure of saturated water vapour, and what it makes of humidity ratio (eq. 20); found within 0.02 %
@pytest.mark.parametrize(("dry_bulb", "vapour"), [(5.0, 872.6), (25.0, 3169.7)])
def test_saturation_is_the_handbooks_table_3(dry_bulb: float, vapour: float) -> None:
    ratio = 0.621945 * vapour / (SEA_LEVEL - vapour)
    assert ground("SI", SEA_LEVEL).ratio_on("saturation", dry_bulb) == pytest.approx(1000.0 * ratio, rel=3e-4)


@pytest.mark.parametrize("pressure", [SEA_LEVEL, AT_1500_M])
@pytest.mark.parametrize("units", ["IP", "SI"])
def test_every_corner_of_a_humidity_curve_is_coolprops(units: Units, pressure: float) -> None:
    read = ground(units, pressure)
    names = read.shown.ids("rh-")
    assert {float(name.removeprefix("rh-")) for name in names} == {20.0, 40.0, 60.0, 80.0}
    for name in (*names, "saturation"):
        share = 1.0 if name == "saturation" else float(name.removeprefix("rh-")) / 100.0
        t, w = read.curve(name)
        celsius = t if units == "SI" else (t - 32.0) / 1.8
        ratio = w / (1000.0 if units == "SI" else 7000.0)
        for at in range(0, t.size, 8):
            real = HAPropsSI("W", "T", celsius[at] + 273.15, "P", pressure, "R", share)
            assert ratio[at] == pytest.approx(
                real, rel=0.0075, abs=2e-8
            )  # found 0.70 % at 50 °C and saturation


@pytest.mark.parametrize("pressure", [SEA_LEVEL, AT_1500_M])
@pytest.mark.parametrize("units", ["IP", "SI"])
def test_every_corner_of_an_enthalpy_guide_is_coolprops(units: Units, pressure: float) -> None:
    read = ground(units, pressure)
    names = read.shown.ids("enthalpy-")
    assert len(names) >= 8
    for name in names:
        mark = float(name.removeprefix("enthalpy-"))
        t, w = read.curve(name)
        for at in range(0, t.size, 20):
            celsius = t[at] if units == "SI" else (t[at] - 32.0) / 1.8
            ratio = w[at] / (1000.0 if units == "SI" else 7000.0)
            real = HAPropsSI("H", "T", celsius + 273.15, "P", pressure, "W", max(ratio, 0.0))
            # dry air has none at 0 °C and 0 °F; found within 0.10 kJ/kg and 0.041 Btu/lb
            shown = real / 1000.0 if units == "SI" else real / 2326.0 + 7.68
            assert mark == pytest.approx(shown, abs=0.11 if units == "SI" else 0.045)


@pytest.mark.parametrize("pressure", [SEA_LEVEL, AT_1500_M])
@pytest.mark.parametrize("units", ["IP", "SI"])
def test_every_mark_of_the_dew_point_scale_is_coolprops(units: Units, pressure: float) -> None:
    read = ground(units, pressure)
    marks = read.shown.ticks(3, "y")
    assert len(marks) >= 6
    for place, words in marks:
        mark = float(words.replace("\N{MINUS SIGN}", "-"))
        celsius = mark if units == "SI" else (mark - 32.0) / 1.8
        real = HAPropsSI("W", "T", celsius + 273.15, "P", pressure, "R", 1.0)
        ratio = float(read.ratio.read(place)) / (1000.0 if units == "SI" else 7000.0)
        assert ratio == pytest.approx(real, rel=0.0051)  # found 0.50 %


# state from dry bulb and relative humidity: CoolProp's humidity ratio in g/kg, dew point in °C and enthalpy in kJ/kg
STATES = (
    (26.67, 0.60, SEA_LEVEL, 13.2159, 18.27, 60.52),
    (26.67, 0.40, SEA_LEVEL, 8.7486, 11.97, 49.13),
    (23.89, 0.50, SEA_LEVEL, 9.2772, 12.85, 47.63),
    (12.78, 0.95, SEA_LEVEL, 8.7663, 12.00, 34.97),
    (35.00, 0.40, SEA_LEVEL, 14.2005, 19.39, 71.64),
    (30.00, 0.80, SEA_LEVEL, 21.6758, 26.17, 85.56),
    (26.67, 0.60, AT_1500_M, 15.8960, 18.27, 67.39),
    (25.00, 0.50, AT_1500_M, 11.9261, 13.87, 55.56),
)


@pytest.mark.parametrize(("dry_bulb", "share", "pressure", "ratio", "dew_point", "enthalpy"), STATES)
def test_a_state_is_read_off_as_coolprop_has_it(
    dry_bulb: float, share: float, pressure: float, ratio: float, dew_point: float, enthalpy: float
) -> None:
    celsius = dry_bulb + 273.15
    assert 1000.0 * HAPropsSI("W", "T", celsius, "P", pressure, "R", share) == pytest.approx(ratio, abs=0.006)
    read = Read("SI", pressure, ((dry_bulb, ratio / 1000.0),), WIDE)
    assert read.state(0) == pytest.approx(
        (dry_bulb, ratio), abs=1.4e-4
    )  # found 1.36e-4, the rounding of the file
    assert read.relative_humidity(0) == pytest.approx(100.0 * share, abs=0.4)  # found 0.38
    # the scale between marks of 5 K is read as straight: found 0.12 K
    assert read.dew_point(0) == pytest.approx(dew_point, abs=0.13)
    assert read.enthalpy(0) == pytest.approx(enthalpy, abs=0.045)  # found 0.041


def test_the_handbooks_example_of_a_state_from_two_thermometers_si() -> None:
    """Example 1: 40 °C dry bulb and 20 °C wet bulb at 101.325 kPa, read off the handbook's own chart."""
    ratio = float(psychrolib.GetHumRatioFromTWetBulb(40.0, 20.0, SEA_LEVEL))
    read = Read("SI", SEA_LEVEL, ((40.0, ratio),), WIDE)
    assert read.state(0)[1] == pytest.approx(6.5, abs=0.11)  # printed 6.5 g/kg; found 6.40
    assert read.dew_point(0) == pytest.approx(7.0, abs=0.25)  # printed 7; found 7.24
    assert read.relative_humidity(0) == pytest.approx(14.0, abs=0.09)  # printed 14 %; found 13.92
    assert read.enthalpy(0) == pytest.approx(56.7, abs=0.03)  # printed 56.7; found 56.72


def test_the_handbooks_example_of_a_state_from_two_thermometers_ip() -> None:
    """Example 1 of the IP edition: 100 °F dry bulb and 65 °F wet bulb at 14.696 psia."""
    pressure = 14.696 * 6894.757
    ratio = float(psychrolib.GetHumRatioFromTWetBulb(68.0 / 1.8, 33.0 / 1.8, pressure))
    read = Read("IP", pressure, ((68.0 / 1.8, ratio),), WIDE)
    assert read.state(0) == pytest.approx(
        (100.0, 7000.0 * 0.00523), abs=0.35
    )  # printed 0.00523; found 0.00518
    assert read.dew_point(0) == pytest.approx(40.0, abs=0.08)  # printed 40 °F; found 39.92
    assert read.relative_humidity(0) == pytest.approx(13.0, abs=0.29)  # printed 13 %; found 12.71
    assert read.enthalpy(0) == pytest.approx(29.80, abs=0.055)  # printed 29.80; found 29.746


def test_the_handbooks_cooling_example_ends_on_saturation() -> None:
    """Moist-air cooling: 30 °C, 50 % to saturated air at 10 °C; the inputs are a value from memory."""
    first = float(psychrolib.GetHumRatioFromRelHum(30.0, 0.5, SEA_LEVEL))
    last = float(psychrolib.GetSatHumRatio(10.0, SEA_LEVEL))
    read = Read("SI", SEA_LEVEL, ((30.0, first), (10.0, last)), WIDE)
    assert read.state(0)[1] == pytest.approx(13.3, abs=0.011)  # g/kg; found 13.31
    assert read.state(1)[1] == pytest.approx(7.66, abs=0.03)  # found 7.63
    assert read.state(1)[1] == pytest.approx(read.ratio_on("saturation", 10.0), abs=1e-9)
    assert read.relative_humidity(1) == pytest.approx(100.0, abs=1e-9)
    assert read.dew_point(1) == pytest.approx(10.0, abs=1e-9)
    # 5.70 kg/s, by the handbook's balance 198 kW with the condensate's heat: 0.0324 kg/s at 10 °C
    heat = 5.70 * (read.enthalpy(0) - read.enthalpy_along_saturation(10.0)) - 0.0324 * 42.0
    assert heat == pytest.approx(198.0, abs=0.57)  # found 197.44


# adiabatic mixing of 2 m³/s at 4 °C dry bulb, 2 °C wet bulb with 6.25 m³/s at 25 °C, 50 %: the handbook prints 8.3 g/kg
# and 19.5 °C; its inputs are a value from memory. IP edition: 5,000 cfm at 40/35 °F with 15,000 cfm at 75 °F, 50 %
MIXING: tuple[tuple[Units, float, float, float, float, float, float, float], ...] = (
    ("SI", 4.0, 2.0, 2.0, 25.0, 6.25, 19.63, 8.25),
    ("IP", 40.0, 35.0, 5000.0, 75.0, 15000.0, 65.81, 53.3),
)


@pytest.mark.parametrize(
    ("units", "cold", "wet", "cold_air", "warm", "warm_air", "dry_bulb", "ratio"), MIXING
)
def test_mixed_air_lies_on_the_line_that_joins_its_parts(
    units: Units,
    cold: float,
    wet: float,
    cold_air: float,
    warm: float,
    warm_air: float,
    dry_bulb: float,
    ratio: float,
) -> None:
    def celsius(value: float) -> float:
        return value if units == "SI" else (value - 32.0) / 1.8

    low = celsius(cold), float(psychrolib.GetHumRatioFromTWetBulb(celsius(cold), celsius(wet), SEA_LEVEL))
    high = celsius(warm), float(psychrolib.GetHumRatioFromRelHum(celsius(warm), 0.5, SEA_LEVEL))
    read = Read(units, SEA_LEVEL, (low, high), WIDE)
    flows = [
        air / float(psychrolib.GetMoistAirVolume(t, w, SEA_LEVEL))
        for air, (t, w) in ((cold_air, low), (warm_air, high))
    ]
    share = flows[1] / sum(flows)
    ends = read.shown.path("process-1-mixing")
    place = ends[0] + share * (ends[1] - ends[0])
    # the chart's axes are dry bulb and humidity ratio, so a mixture divides the line by mass: found 0.04 K, for
    # the vapour's own heat
    assert float(read.dry_bulb.read(place[0])) == pytest.approx(dry_bulb, abs=0.05 if units == "SI" else 0.09)
    assert float(read.ratio.read(place[1])) == pytest.approx(ratio, rel=0.003)
