"""Sections that every page has: humidity, moisture, assumptions, record, cautions.

Each takes `Figures` of the part of the result that it shows.
"""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from pathlib import Path

from markupsafe import Markup

from selector.decide.evaluate import Evaluation
from selector.inputs.site import Install, Site
from selector.physics.prepare import WARM, Prepared
from selector.report.cautions import DEFER, cautions
from selector.report.charts import humidity_chart, moisture_chart
from selector.report.lines import run_notes, set_back_text
from selector.report.page_figures import NARROW, Figures, written
from selector.report.page_money import INVENTED
from selector.report.page_parts import Block, Pairs, Paragraph, Points, Section, Table, Text, picture, say
from selector.report.text import MONTHS, clean, design_text

AIR_CAPTION = "Air at each numbered place, and along the lines what happens to it between them."
TAKEN_OUT = ("cooling coil", "dehumidifiers", "stored")  # shown as what leaves the space


def humidity_section(
    *,
    prepared: Prepared,
    shown: Evaluation,
    existing: Evaluation,
    figures: Figures,
    there: Figures,
    word: str,
) -> Section:
    """Humidity through the year, with and without new units.

    Args: prepared; shown, the design; existing, the existing system alone; figures of the design and there, of the
        existing system; word, what the design is called.
    Returns: section.
    """
    chart = humidity_chart(prepared=prepared, evaluation=shown, existing=existing)
    blocks: list[Block] = [
        picture(
            chart=chart,
            caption="Each day's highest humidity in the hours in which the limit is in force, and the hours above it.",
        )
    ]
    new = bool(shown.install)
    rows: list[tuple[Text, ...]] = []
    for place, limit in enumerate(shown.limits):
        key = f"humidity.limits.{place}"
        pairs = [(word, figures)] if new else []
        pairs.append(("existing system alone", there))
        for name, source in pairs:
            rows.append(
                (
                    say("{}: {}", clean(limit.name), name),
                    source.limited(limit.kind, f"{key}.limit"),
                    source(f"{key}.hours_above", "hours", unit=False),
                    source(f"{key}.allowed_hours_above", "hours", unit=False),
                    source.limited(limit.kind, f"{key}.worst"),
                    source.hour(f"{key}.worst_hour"),
                )
            )
    heads = ("Limit", "Value", "Hours above [h a year]", "Allowed [h a year]", "Worst", "Worst hour starts")
    blocks.append(Table("Every limit, with and without", heads, tuple(rows), frozenset({2, 3})))
    blocks += _design_days(figures)
    points: list[Text] = [
        say(
            "Too warm (more than {} above the cooling set point): {} a year; with the existing system alone {}.",
            NARROW.join(written(WARM, "temperature_difference", figures.show)),
            figures("comfort.hours_too_warm", "hours"),
            there("comfort.hours_too_warm", "hours"),
        ),
        say(
            "Cooling runs out in {} a year, heating in {}.",
            figures("comfort.hours_short_of_cooling", "hours"),
            figures("comfort.hours_short_of_heating", "hours"),
        ),
    ]
    cold = set_back_text(shown)
    if cold is not None:
        points.append(f"Hours above: {cold}.")
    points += [f"{text}." for text in run_notes(shown, figures.show)]
    blocks.append(Points(tuple(points)))
    return Section("humidity", "Humidity through the year", tuple(blocks))


def _design_days(figures: Figures) -> list[Block]:
    days = figures.get("humidity.design_days") or []
    rows: list[tuple[Text, ...]] = []
    for place, day in enumerate(days):
        key = f"humidity.design_days.{place}"
        rows.append(
            (
                figures(f"{key}.percent", "ratio", decimals=1) + Markup(" % of hours"),
                figures.hour(f"{key}.site_week_from"),
                figures(f"{key}.outdoor_dew_point", "temperature"),
                figures(f"{key}.relative_humidity", "fraction"),
                figures(f"{key}.dew_point", "temperature"),
                figures(f"{key}.units_running", "ratio", decimals=1),
                "yes" if day["holds"] else "no",
            )
        )
    if not rows:
        return []
    heads = (
        "Dew-point design week",
        "Site as in the week from",
        "Outdoor dew point",
        "Space, worst RH",
        "Space, its dew point",
        "Units running",
        "Holds",
    )
    caption = "Beyond the typical year: a week at the design dew point"
    blocks: list[Block] = [Table(caption, heads, tuple(rows), frozenset({2, 3, 4, 5}))]
    if any(day["relative_humidity"] > 1.0 for day in days):
        blocks.append(Paragraph("Above saturation water would condense, which the model leaves out."))
    return blocks


def moisture_section(*, prepared: Prepared, shown: Evaluation, figures: Figures) -> Section:
    """Moisture balance by month and source.

    Args: prepared; shown, the design; figures of the result that has its `moisture_by_source_kg`.
    Returns: section.
    """
    rows: list[tuple[Text, ...]] = []
    for place, row in enumerate(figures.get("moisture_by_source_kg")):
        under = figures.under(f"moisture_by_source_kg.{place}")
        out = row["source"] in TAKEN_OUT
        sign = -1.0 if out else 1.0
        months = (under(f"months.{month}", "moisture", unit=False, times=sign) for month in range(12))
        name = clean(row["source"])
        rows.append(
            (
                f"{name} (taken out)" if out else name,
                *months,
                under("year", "moisture", unit=False, times=sign),
            )
        )
    unit = figures.unit("moisture")
    what = design_text(shown.install) if shown.install else "the existing system alone"
    table = Table(
        say(
            "Moisture [{}] by month and source, with {}; what comes in less what is taken out is nothing, to the "
            "rounding of the balance",
            unit,
            what,
        ),
        ("Source", *MONTHS, "Year"),
        tuple(rows),
        frozenset(range(1, 14)),
        wide=True,
    )
    chart = moisture_chart(prepared=prepared, evaluation=shown)
    return Section(
        "moisture",
        "Moisture balance by month and source",
        (picture(chart=chart, caption="Where the moisture comes from and where it goes."), table),
    )


def record_section(*, site: Site, figures: Figures, today: date) -> Section:
    """What the page was made from and by what, and who answers for it.

    Args: site; figures of the whole result; today, the date that stands on the page. Returns: section.
    """
    weather, catalog, book = figures.get("weather"), figures.get("catalog"), figures.get("price_book")
    kind = "synthetic weather" if weather["kind"] == "synthetic" else f"weather of a {weather['kind']}"
    pairs: list[tuple[str, Text]] = [
        ("Input hash (SHA-256 of all input files)", Markup('<code data-key="input_sha256">{}</code>').format(
            figures.get("input_sha256"))),
        ("Version", Markup('<span data-key="version">{}</span>').format(figures.get("version"))),
        ("Date", Markup('<time datetime="{}">{}</time>').format(today.isoformat(), today.isoformat())),
        ("Site file", clean(Path(site.file).name)),
        ("Weather", say("{}, {}, elevation {}; {} filled", clean(Path(site.weather.source).name), kind,
                        figures("weather.elevation", "length", digits=3),
                        figures("weather.hours_filled", "hours"))),
        ("Catalogue", say("{} units{}", figures("catalog.units", "count"),
                          "; " + INVENTED[0].lower() + INVENTED[1:-1] if catalog["invented"] else "")),
    ]  # fmt: skip
    if book is not None:
        pairs.append(
            (
                "Prices of installation",
                say("{}{}", clean(book["name"]), "; invented" if book["invented"] else ""),
            )
        )
    blank = Markup('<span class="blank"><span class="unseen">to be filled in by hand</span></span>')
    pairs += [("Engineer's name", blank), ("Signature and date", blank)]
    blocks: list[Block] = [Pairs(tuple(pairs))]
    notes = [clean(one) for one in figures.get("notes") or ()]
    if notes:
        blocks += [Paragraph("Noted while the inputs were read, in SI:"), Points(tuple(notes))]
    return Section("record", "Record", tuple(blocks))


def cautions_section(*, site: Site, install: Sequence[Install]) -> Section:
    """What can hurt someone, and who decides.

    Args: site; install, new units. Returns: section.
    """
    found = cautions(site=site, install=install)
    pairs = tuple((one.topic.capitalize(), one.text) for one in found)
    return Section("cautions", "Cautions", (Paragraph(DEFER), Pairs(pairs)))
