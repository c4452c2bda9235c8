"""Texts in place of the page's pictures: every number that they say is one of JSON's.

Pages of a demo site, as the commands write them, and of the invented room.
"""

from __future__ import annotations

import re
from typing import Any

import pytest

from tests.report.pages import MONTHS, PAGES, Element, agrees, choice_page, read, texts_of

EVERY_PAGE = pytest.mark.parametrize("which", PAGES)
NUMBER = r"[+-]?\d[\d,]*(?:\.\d+)?"
UNIT = r"(?:%|°F|°C)"


class Words:
    """What a picture says, number by number: each that was held to JSON is struck out."""

    def __init__(self, root: Element, name: str) -> None:
        (figure,) = [one for one in root.every("figure") if one.attributes["id"] == f"figure-{name}"]
        (desc,) = list(figure.every("desc"))
        (told,) = [one for part in figure.every("details") for one in part.every("p")]
        assert desc.text() == told.text()
        self.text, self.drawn = told.text(), [one.text() for one in figure.every("text")]

    def strike(self, pattern: str, *, most: int = 0) -> list[re.Match[str]]:
        found = list(re.finditer(pattern, self.text))
        self.text = re.sub(pattern, "~", self.text, count=most)
        return found if not most else found[:most]

    def done(self, plain: dict[str, Any]) -> None:
        """Nothing with a digit is left but names that JSON has."""
        for words in sorted({*texts_of(plain)}, key=len, reverse=True):
            self.text = self.text.replace(words, "~")
        assert not re.search(r"\d", self.text), self.text


def holds(shown: str, value: float, kind: str, unit: str) -> None:
    assert agrees({"data-kind": kind, "data-unit": unit}, shown, value), (shown, value, kind, unit)


def number_of(shown: str) -> float:
    return float(shown.replace(",", ""))


def clock_of(hour: str) -> str:
    month, day, clock = re.split("[- ]", hour)
    return f"{int(day)} {MONTHS[int(month) - 1]} {clock}"


def here_of(plain: dict[str, Any]) -> dict[str, Any]:
    here: dict[str, Any] = plain.get("today", plain)
    return here


def design_of(install: list[dict[str, Any]]) -> str:
    return " + ".join(f"{one['count']} {one['model']}" for one in install)


@EVERY_PAGE
def test_the_money_picture_says_the_costs_of_json(which: str) -> None:
    made = PAGES[which]()
    here, words = here_of(made.result), Words(read(made.html), "money")
    if "best_by_arrangement" in here:
        ours = {name: one for name, one in here["best_by_arrangement"].items() if one and one["install"]}
        ours["existing system"] = here["existing_system"]
    else:
        ours = {one["name"]: one for one in here["options"]}
    (years,) = [one["value"] for one in here["assumptions"] if one["key"] == "costs.study_period"]
    (told,) = words.strike(r"over (\d+) years")
    assert float(told[1]) == years
    rows = words.strike(
        rf"(?<=[.] )([^.:,]*?)(?: \(chosen\))?(?:, ([^.:]*))?: first cost ({NUMBER}) USD, life-cycle cost "
        rf"({NUMBER}) USD(; does not keep every limit)?\."
    )
    assert sorted(one[1] for one in rows) == sorted(ours)
    for name, install, first, life_cycle, broken in (one.groups() for one in rows):
        json_has = ours[name]
        holds(first, json_has["costs"]["first"], "money", "USD")
        holds(life_cycle, json_has["costs"]["life_cycle"], "money", "USD")
        assert (broken is None) == json_has["feasible"]
        assert (install or "").rpartition(" ")[0] == design_of(json_has["install"])
    words.done(made.result)


@EVERY_PAGE
def test_the_humidity_picture_says_the_hours_of_json(which: str) -> None:
    """And the months of each limit: the highest of them is the year's worst, and their hours are the year's."""
    made = PAGES[which]()
    here, words = here_of(made.result), Words(read(made.html), "humidity")
    options = here["options"] if "existing_system" not in here else None
    ours = options[0] if options else here
    there = next(one for one in options if one["kind"] == "existing") if options else here["existing_system"]
    both = [("with the new units", ours)] if ours["install"] else []
    both.append(("existing system alone", there))
    for place, limit in enumerate(ours["humidity"]["limits"]):
        kind = "fraction" if limit["kind"] == "relative-humidity" else "temperature"
        (said,) = words.strike(rf"limit ({NUMBER}) ({UNIT}):", most=1)
        holds(said[1], limit["limit"], kind, said[2])
        for name, one in both:
            found = one["humidity"]["limits"][place]
            (told,) = words.strike(
                rf"{name}, ({NUMBER}) hours? a year above, ({NUMBER}) allowed; the worst is ({NUMBER}) ({UNIT}), "
                rf"([^;]*); by month ([^.]*(?:\.\d[^.]*)*)\.",
                most=1,
            )
            assert number_of(told[1]) == found["hours_above"]
            holds(told[2], found["allowed_hours_above"], "hours", "h")
            holds(told[3], found["worst"], kind, told[4])
            assert told[5] == clock_of(found["worst_hour"])
            months = re.findall(rf"([A-Z][a-z]+) ({NUMBER}|not in force) \((\d+) h\)", told[6])
            assert tuple(month for month, _, _ in months) == MONTHS
            assert max(number_of(most) for _, most, _ in months if most[0].isdigit()) == number_of(told[3])
            assert sum(int(hours) for _, _, hours in months) == found["hours_above"]
            assert [int(hours) for _, _, hours in months] == found["hours_above_by_month"]
            for (_, shown, _), value in zip(months, found["highest_by_month"], strict=True):
                assert (shown == "not in force") is (value is None)
                if value is not None:
                    holds(shown, value, kind, said[2])
            if options:  # hours above any of the limits
                pairs = zip(one["hours_above_by_month"], found["hours_above_by_month"], strict=True)
                assert all(whole >= part for whole, part in pairs)
    words.done(made.result)


@EVERY_PAGE
def test_the_moisture_picture_says_the_balance_of_json(which: str) -> None:
    made = PAGES[which]()
    here, words = here_of(made.result), Words(read(made.html), "moisture")
    unit = "kg" if which.startswith("demo") else "lb"
    for row in here["moisture_by_source_kg"]:
        (said,) = words.strike(
            rf"{re.escape(row['source'])}: ({NUMBER}) {unit} in the year; by month ([^.]*)\."
        )
        holds(said[1], row["year"], "moisture", unit)
        months = [one.rsplit(" ", 1) for one in said[2].split(", ")]
        assert tuple(month for month, _ in months) == MONTHS
        for (_, shown), value in zip(months, row["months"], strict=True):
            holds(shown, value, "moisture", unit)
    words.done(made.result)


# what a picture of the air calls a process of JSON
PROCESSES = {
    "unit": "Dehumidifier", "coil": "Cooling coil", "mixing": "Mixing", "fan": "Fan heat", "heating": "Heating",
    "space": "Gains of the space", "wheel": "Energy-recovery wheel",
}  # fmt: skip
STATE = (("dry_bulb", "temperature"), ("dew_point", "temperature"), ("relative_humidity", "fraction"),
         ("humidity_ratio", "humidity_ratio"), ("enthalpy", "enthalpy"))  # fmt: skip


def drawn_design(plain: dict[str, Any], name: str) -> dict[str, Any]:
    """The design of JSON whose air a picture shows, by the picture's name."""
    here, kind, number = here_of(plain), *name.removeprefix("psychrometric-").partition("-")[::2]
    found: dict[str, Any]
    if kind == "step":
        found = plain["steps"][int(number)]
    elif kind == "option":
        found = here["options"][int(number) - 1]
    elif kind == "existing":
        found = here["existing_system"]
    else:
        found = here["best_by_arrangement"][f"{kind}-{number}".removesuffix("-")]
    return found


def holds_the_hour(told: str, hour: dict[str, Any]) -> None:
    """When it is, the pressure, and what fan and coil do in it."""
    week = rf"({NUMBER}) % dew-point week" if hour["percent"] is not None else "of the year's weather"
    found = re.fullmatch(
        rf"[A-Z][a-z]+ (\d+ [A-Z][a-z]+ \d\d:00), {week}; ({NUMBER}) (\S+?)"
        rf"(?:; (?:fan off|fan on ({NUMBER}|under 1) % of the hour, (coil (?:off|on|at stage (\d))"
        rf"(?: for ({NUMBER}|under 1) %)?)))?",
        told,
    )
    assert found, told
    date, *percent, pressure, unit, fan, coil, stage, share = found.groups()
    assert date == clock_of(hour["time"])
    assert [number_of(one) for one in percent] == ([] if hour["percent"] is None else [hour["percent"]])
    holds(pressure, hour["pressure"], "pressure", unit)
    shares = [(fan, hour["fan_share"]), (share, hour["coil_share"])]
    for shown, value in shares:
        if shown == "under 1":
            assert 0.0 < value < 0.01
        elif shown is not None:
            holds(shown, value, "fraction", "%")
    if fan is None:
        assert hour["fan_share"] == 0.0
    else:
        assert (share is None) is (hour["coil_share"] == 0.0) is (coil == "coil off")
    if stage is not None:
        assert int(stage) == hour["coil_stage"]


@EVERY_PAGE
def test_the_pictures_of_the_air_say_the_states_of_json(which: str) -> None:
    """And each number said is one drawn, as another test holds to the simulation."""
    made = PAGES[which]()
    root = read(made.html)
    names = [one.attributes["id"].removeprefix("figure-") for one in root.every("figure")]
    names = [name for name in names if name.startswith("psychrometric-")]
    assert len(names) >= 2
    for name in names:
        words = Words(root, name)
        hour = drawn_design(made.result, name)["design_hour"]
        (told,) = words.strike(r"design hour: (.*?)\. (?=State 1, )")
        assert told[1] in words.drawn
        holds_the_hour(told[1], hour)
        states = words.strike(
            rf"State (\d+), (.*?): dry bulb ({NUMBER}) (\S+), dew point ({NUMBER}) (\S+), RH ({NUMBER}) (%), humidity "
            rf"ratio ({NUMBER}) (\S+), enthalpy ({NUMBER}) (\S+)\."
        )
        assert len(states) == len(hour["states"])
        for at, (state, json_has) in enumerate(zip(states, hour["states"], strict=True), start=1):
            assert int(state[1]) == at
            wet = " (water condenses, left out)" if json_has["relative_humidity"] > 1.0 else ""
            assert state[2] == json_has["state"] + wet
            pairs = zip(state.groups()[2::2], state.groups()[3::2], STATE, strict=True)
            for shown, unit, (key, kind) in pairs:
                holds(shown, json_has[key], kind, unit)
            (place,) = [place for place, one in enumerate(words.drawn) if one == f"{at} {state[2]}"][-1:]
            assert tuple(words.drawn[place + 1 : place + 6]) == state.groups()[2::2]
        processes = words.strike(r"(?<=[.~] )([A-Z][a-z -]+) from (\d+) to (\d+)")
        assert [(one[1], int(one[2]), int(one[3])) for one in processes] == [
            (PROCESSES[one["kind"]], one["from"], one["to"]) for one in hour["processes"]
        ]
        for rest in words.strike(r"(?:coil off|coil at stage \d)"):
            assert any(rest[0] in one for one in words.drawn)
        words.done(made.result)


@pytest.mark.parametrize("which", ["demo sweep", "sweep"])
def test_the_picture_of_the_range_says_the_costs_of_json(which: str) -> None:
    made = PAGES[which]()
    root, words = read(made.html), Words(read(made.html), "sweep")
    (axis, *_) = [
        one.attributes for one in root.every("data") if one.attributes["data-key"] == "steps.0.value"
    ]
    steps, sides = made.result["steps"], []
    for switch in made.result["switch_over"]:
        sides += [switch["below"], switch["above"]]
    places = {one["value"]: one["install"] for one in (*steps, *sides)}

    def value_at(shown: str, values: Any) -> float:
        (found,) = [value for value in values if agrees(axis, shown.split(" ")[0], value)]
        return float(found)

    costs = {
        "chosen design": {one["value"]: one["costs"]["life_cycle"] for one in steps}
        | {one["value"]: one["life_cycle"] for one in sides},
        "today's design, where it keeps every limit": {
            one["value"]: one["today_design"]["life_cycle"]
            for one in steps
            if one["today_design"]["feasible"]
        },
    }
    for stretch in words.strike(r"From (\S+ \S+) to (\S+ \S+): ([^.]*) \S+\."):
        for end in (stretch[1], stretch[2]):
            assert stretch[3] == design_of(places[value_at(end, places)])
    for name, known in costs.items():
        (said,) = words.strike(rf"Life-cycle cost, {name}: ((?:[^.]|\.\d)*)\.")
        pairs = re.findall(rf"({NUMBER} \S+) ({NUMBER}) USD", said[1])
        assert [value_at(at, known) for at, _ in pairs] == sorted(known)
        for at, cost in pairs:
            holds(cost, known[value_at(at, known)], "money", "USD")
    words.done(made.result)


def test_a_wrong_number_in_place_of_a_picture_would_be_noticed() -> None:
    html = choice_page().html
    (life_cycle,) = {f"{choice_page().result['costs']['life_cycle']:,.0f}"}
    root = read(html.replace(f"life-cycle cost {life_cycle} USD", "life-cycle cost 1,234 USD"))
    (told,) = Words(root, "money").strike(r"\(chosen\)[^:]*: first cost \S+ USD, life-cycle cost (\S+) USD")
    assert told[1] == "1,234"
    with pytest.raises(AssertionError, match="'1,234'"):
        holds(told[1], choice_page().result["costs"]["life_cycle"], "money", "USD")
