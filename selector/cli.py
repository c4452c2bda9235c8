"""The commands: each reads, calls one function of the layers below, and hands the result to report/.

Everything heavy is imported inside the commands, so that `selector --help` answers at once.
Exit status: 0 done, 1 the answer is "not possible", 2 the input is wrong, 3 a defect of ours.
"""

from __future__ import annotations

import sys
from pathlib import Path
from typing import Annotated

import typer

from selector.inputs.errors import Faults
from selector.report.boundary import WRONG_INPUT, guarded
from selector.report.steps import in_place_of_screen as _in_place_of_screen
from selector.report.steps import read as _read
from selector.report.steps import refuse as _refuse
from selector.report.steps import refuse_beside as _refuse_beside

COMMANDS = (
    "new", "check", "rate", "loads", "simulate", "choose", "compare", "sweep", "schedule", "commission", "chart"
)  # fmt: skip
SOLVERS = ("highs", "cbc")

app = typer.Typer(
    add_completion=False,
    rich_markup_mode=None,
    pretty_exceptions_enable=False,
    no_args_is_help=True,
    help="Chooses dehumidifiers for a building: which, how many, and where in the duct system.",
    epilog="Exit status: 0 done, 1 not possible, 2 the input is wrong, 3 a defect of the program.",
)

SiteFile = Annotated[Path, typer.Argument(help="Site file (TOML).", metavar="SITE")]
Json = Annotated[
    str | None, typer.Option("--json", help="Write JSON to FILE, - for standard output.", metavar="FILE")
]
Hourly = Annotated[str | None, typer.Option("--hourly", help="Write a CSV of every hour.", metavar="FILE")]
Csv = Annotated[
    str | None, typer.Option("--csv", help="Write CSV to FILE, - for standard output.", metavar="FILE")
]
Named = Annotated[
    list[str] | None,
    typer.Option("--install", help='As "2 precool-120 standalone"; repeat for more.', metavar="TEXT"),
]
NoDefaults = Annotated[
    bool, typer.Option("--no-defaults", help="Refuse every value that the site leaves out.")
]
Report = Annotated[str | None, typer.Option("--report", help="Write a page for people.", metavar="FILE.html")]
NoReport = Annotated[str | None, typer.Option("--report", hidden=True)]
Workbook = Annotated[str | None, typer.Option("--workbook", help="Write a spreadsheet.", metavar="FILE.xlsx")]
Units = Annotated[str, typer.Option("--units", help="Show in IP or SI.")]
Solver = Annotated[str, typer.Option(help="highs or cbc; the answer is the same.")]
# numbers are read by us, so that a wrong one stands beside what else is wrong
Seconds = Annotated[
    str | None, typer.Option(help="Stop after so many seconds; it is then best-found.", metavar="NUMBER")
]
WorkYears = Annotated[
    str | None, typer.Option(help="Stop each search after so many simulated years.", metavar="NUMBER")
]


@app.command()
@guarded
def new(
    file: Annotated[Path, typer.Argument(help="Site file to write; must not be there yet.", metavar="FILE")],
    name: Annotated[str | None, typer.Option(help="What the building is called.")] = None,
    profile: Annotated[str | None, typer.Option(help="school, hall, office, pool, store or growing.")] = None,
    weather_file: Annotated[str | None, typer.Option(help="Weather file, seen from FILE's folder.")] = None,
    floor_area: Annotated[str | None, typer.Option(help='As "9000 ft2".')] = None,
    ceiling_height: Annotated[str | None, typer.Option(help='As "18 ft".')] = None,
    humidity_limit: Annotated[str | None, typer.Option(help='As "60 %" or "60 degF" of dew point.')] = None,
    supply_airflow: Annotated[str | None, typer.Option(help='As "9000 cfm"; none: no air handler.')] = None,
    outdoor_airflow: Annotated[str | None, typer.Option(help='As "2250 cfm".')] = None,
    cooling_capacity: Annotated[str | None, typer.Option(help='As "25 ton".')] = None,
    catalog: Annotated[str | None, typer.Option(help="Catalogue folder, seen from FILE's folder.")] = None,
    units: Annotated[str, typer.Option(help="IP or SI, for results.")] = "IP",
    currency: Annotated[str, typer.Option(help="Code of the currency.")] = "USD",
) -> int:
    """Ask the five-minute questions that no option answers, and write a site file."""
    from selector.report.ask import write_new_site

    given = {
        "name": name,
        "profile": profile,
        "weather_file": weather_file,
        "floor_area": floor_area,
        "ceiling_height": ceiling_height,
        "humidity_limit": humidity_limit,
        "supply_airflow": supply_airflow,
        "outdoor_airflow": outdoor_airflow,
        "cooling_capacity": cooling_capacity,
        "catalog": catalog,
    }
    write_new_site(file=file, given=given, display_units=units, currency=currency)
    return 0


@app.command()
@guarded
def check(
    path: Annotated[
        Path, typer.Argument(help="Site file, or the folder of a catalogue.", metavar="SITE|CATALOG")
    ],
    defaults: Annotated[
        bool, typer.Option("--defaults", help="List a site's defaults by their effect.")
    ] = False,
    no_defaults: NoDefaults = False,
    json_file: Json = None,
    units: Annotated[str | None, typer.Option("--units", help="Show a catalogue in IP or SI.")] = None,
) -> int:
    """Check a site or a catalogue, and say what was read."""
    from selector.inputs.reading import is_folder

    if is_folder(path):
        from selector.report.checking import show_catalog

        idle = {"--defaults": defaults, "--no-defaults": no_defaults}
        return show_catalog(folder=path, json_file=json_file, units=units or "IP", idle=idle)
    faults = Faults()
    if units is not None:
        allowed = "nothing: a site has display_units"
        faults.add(file="--units", where="option", got=f'"{units}"', allowed=allowed)
    site, _ = _read(path, no_defaults=no_defaults, outputs={"--json": json_file}, faults=faults)
    from selector.report.checking import show_site

    return show_site(site=site, defaults=defaults, json_file=json_file)


@app.command()
@guarded
def rate(
    folder: Annotated[Path, typer.Argument(help="Folder of a catalogue.", metavar="CATALOG")],
    model: Annotated[str, typer.Argument(help="Model of it.", metavar="MODEL")],
    dry_bulb: Annotated[str, typer.Option(help='Entering, as "80 degF".')] = "80 degF",
    relative_humidity: Annotated[str, typer.Option(help='Entering, as "60 %".')] = "60 %",
    pressure: Annotated[str, typer.Option(help='Of the air, as "101.325 kPa".')] = "101.325 kPa",
    outdoor_dry_bulb: Annotated[str, typer.Option(help="For reactivation air from outdoors.")] = "80 degF",
    outdoor_relative_humidity: Annotated[
        str, typer.Option(help="For reactivation air from outdoors.")
    ] = "60 %",
    units: Units = "IP",
    json_file: Json = None,
) -> int:
    """Show what one unit does to the air: entering, apparatus dew point, leaving."""
    from selector.report.rating_unit import show_rating

    states = {
        "dry_bulb": dry_bulb,
        "relative_humidity": relative_humidity,
        "pressure": pressure,
        "outdoor_dry_bulb": outdoor_dry_bulb,
        "outdoor_relative_humidity": outdoor_relative_humidity,
    }
    return show_rating(folder=folder, model=model, states=states, units=units, json_file=json_file)


@app.command()
@guarded
def loads(
    site_file: SiteFile, no_defaults: NoDefaults = False, json_file: Json = None, hourly: Hourly = None
) -> int:
    """Moisture and sensible load by source: the year, each month, the dew-point design hours."""
    outputs = {"--json": json_file, "--hourly": hourly}
    site, _ = _read(site_file, no_defaults=no_defaults, outputs=outputs, faults=Faults())
    from selector.report.loading import show_loads

    return show_loads(site=site, json_file=json_file, hourly=hourly)


@app.command()
@guarded
def simulate(
    site_file: SiteFile,
    install: Named = None,
    bill: Annotated[bool, typer.Option("--bill", help="Show the bill of quantities.")] = False,
    no_defaults: NoDefaults = False,
    json_file: Json = None,
    hourly: Hourly = None,
    report: NoReport = None,
    workbook: Workbook = None,
) -> int:
    """Simulate one design through the year; without --install the existing system alone."""
    faults = Faults()
    _refuse(options={"--report": report}, faults=faults)
    outputs = {"--json": json_file, "--hourly": hourly, "--workbook": workbook}
    _refuse_beside(options={"--bill": bill}, beside=_in_place_of_screen(outputs), faults=faults)
    site, parts = _read(
        site_file, no_defaults=no_defaults, install=install or (), outputs=outputs, faults=faults
    )
    from selector.report.simulating import show_simulation

    return show_simulation(
        site=site, install=parts, bill=bill, json_file=json_file, hourly=hourly, workbook=workbook
    )


@app.command()
@guarded
def choose(
    site_file: SiteFile,
    details: Annotated[
        bool, typer.Option("--details", help="Show what stands behind the first screen.")
    ] = False,
    solver: Solver = "highs",
    seconds: Seconds = None,
    work_years: WorkYears = None,
    what_if: Annotated[
        bool | None,
        typer.Option("--what-if/--no-what-if", help="Look closely, or not at all, at what would change it."),
    ] = None,
    no_defaults: NoDefaults = False,
    json_file: Json = None,
    hourly: Hourly = None,
    report: Report = None,
    workbook: Workbook = None,
) -> int:
    """Choose which dehumidifiers, how many, and where, with a proof."""
    from selector.inputs.search_limits import judge_search, limit_search

    faults = Faults()
    most_seconds, most_years = judge_search(
        solver=solver, solvers=SOLVERS, seconds=seconds, work_years=work_years, faults=faults
    )
    outputs = {"--json": json_file, "--hourly": hourly, "--workbook": workbook, "--report": report}
    _refuse_beside(options={"--details": details}, beside=_in_place_of_screen(outputs), faults=faults)
    site, _ = _read(site_file, no_defaults=no_defaults, outputs=outputs, faults=faults)
    from selector.report.choosing import show_choice

    return show_choice(
        site=limit_search(site=site, work_years=most_years),
        solver=solver,
        seconds=most_seconds,
        details=details,
        json_file=json_file,
        hourly=hourly,
        workbook=workbook,
        report=report,
        what_if=what_if,
    )


@app.command()
@guarded
def compare(
    site_file: SiteFile,
    no_choice: Annotated[
        bool, typer.Option("--no-choice", help="Compare without searching for the best design.")
    ] = False,
    solver: Solver = "highs",
    seconds: Seconds = None,
    work_years: WorkYears = None,
    no_defaults: NoDefaults = False,
    json_file: Json = None,
    report: Report = None,
    workbook: Workbook = None,
) -> int:
    """Compare the site's named options with the chosen design and with the existing system."""
    from selector.inputs.search_limits import judge_search, limit_search

    faults = Faults()
    most_seconds, most_years = judge_search(
        solver=solver, solvers=SOLVERS, seconds=seconds, work_years=work_years, faults=faults
    )
    idle = {
        "--solver": solver != SOLVERS[0],
        "--seconds": seconds is not None,
        "--work-years": work_years is not None,
    }
    _refuse_beside(options=idle, beside="--no-choice" if no_choice else None, faults=faults)
    outputs = {"--json": json_file, "--workbook": workbook, "--report": report}
    site, _ = _read(site_file, no_defaults=no_defaults, outputs=outputs, faults=faults)
    from selector.report.side_by_side import show_comparison

    return show_comparison(
        site=limit_search(site=site, work_years=most_years),
        search=not no_choice,
        solver=solver,
        seconds=most_seconds,
        json_file=json_file,
        workbook=workbook,
        report=report,
    )


@app.command()
@guarded
def sweep(
    site_file: SiteFile,
    vary: Annotated[
        list[str] | None,
        typer.Option(
            "--vary", help="What to vary, as outdoor-airflow (all: README); twice for a grid.", metavar="NAME"
        ),
    ] = None,
    low: Annotated[
        list[str] | None, typer.Option("--from", help='Lowest value, as "10 %".', metavar="TEXT")
    ] = None,
    high: Annotated[list[str] | None, typer.Option("--to", help="Highest value.", metavar="TEXT")] = None,
    steps: Annotated[
        list[str] | None,
        typer.Option("--steps", help="How many values, 11 unless given.", metavar="NUMBER"),
    ] = None,
    values: Annotated[
        list[str] | None,
        typer.Option(
            "--values", help='Instead of a range: "10 %; 25 %; 50 %", or weather files.', metavar="TEXT"
        ),
    ] = None,
    fresh: Annotated[
        bool, typer.Option("--fresh", help="Do not take finished steps of an earlier run.")
    ] = False,
    solver: Solver = "highs",
    work_years: WorkYears = None,
    no_defaults: NoDefaults = False,
    json_file: Json = None,
    csv_file: Csv = None,
    report: Report = None,
) -> int:
    """Choose at one value after another: what is chosen where, and where the choice changes."""
    from selector.inputs.search_limits import judge_search, limit_search
    from selector.inputs.vary_words import count_steps, pair_words

    faults = Faults()
    _, most_years = judge_search(
        solver=solver, solvers=SOLVERS, seconds=None, work_years=work_years, faults=faults
    )
    counts = count_steps(texts=steps or (), faults=faults)
    words = faults.attempt(
        lambda: pair_words(vary=vary or (), low=low or (), high=high or (), steps=counts, values=values or ())
    )
    from selector.report.sweeping import read_sweep, show_sweep

    outputs = {"--json": json_file, "--csv": csv_file, "--report": report}
    site, variations = read_sweep(
        site_file, no_defaults=no_defaults, words=words or (), outputs=outputs, faults=faults
    )
    return show_sweep(
        site=limit_search(site=site, work_years=most_years),
        words=words or (),
        variations=variations,
        solver=solver,
        fresh=fresh,
        typed={"--solver": solver if solver != SOLVERS[0] else None, "--work-years": work_years, **outputs},
        json_file=json_file,
        csv_file=csv_file,
        report=report,
    )


@app.command()
@guarded
def schedule(
    site_file: SiteFile,
    install: Named = None,
    no_defaults: NoDefaults = False,
    json_file: Json = None,
    csv_file: Csv = None,
) -> int:
    """Write the equipment schedule: of the design named, or else of the one chosen."""
    from selector.report.equipment import show_equipment

    return show_equipment(
        what="schedule",
        site_file=site_file,
        install=install or (),
        no_defaults=no_defaults,
        json_file=json_file,
        csv_file=csv_file,
    )


@app.command()
@guarded
def commission(
    site_file: SiteFile,
    install: Named = None,
    no_defaults: NoDefaults = False,
    json_file: Json = None,
    csv_file: Csv = None,
) -> int:
    """Write the commissioning sheet: what to read on site, and how the units are controlled."""
    from selector.report.equipment import show_equipment

    return show_equipment(
        what="commission",
        site_file=site_file,
        install=install or (),
        no_defaults=no_defaults,
        json_file=json_file,
        csv_file=csv_file,
    )


@app.command()
@guarded
def chart(
    site_file: SiteFile,
    which: Annotated[
        str, typer.Option("--which", help="psychrometric, humidity, moisture, money or duration.")
    ],
    out: Annotated[
        str, typer.Option("--out", help="File to write, SVG or PNG.", metavar="FILE.svg|FILE.png")
    ],
    install: Named = None,
    arrangement: Annotated[
        str | None, typer.Option("--arrangement", help="Draw its best design, not the chosen one.")
    ] = None,
    no_defaults: NoDefaults = False,
) -> int:
    """Draw a chart for your own document: of the design named, or else of the one chosen."""
    from selector.report.charts_command import show_chart

    return show_chart(
        site_file=site_file,
        install=install or (),
        which=which,
        arrangement=arrangement,
        out=out,
        no_defaults=no_defaults,
    )


def _later(name: str) -> None:
    """Take a command's name so that it is refused by name, whatever follows it."""

    @app.command(
        name, hidden=True, context_settings={"allow_extra_args": True, "ignore_unknown_options": True}
    )
    def refused() -> None:
        print(f"{name}: not in this version; allowed: {', '.join(COMMANDS)}", file=sys.stderr)
        raise typer.Exit(WRONG_INPUT)


_later("portfolio")


def main() -> None:
    """Run the command line."""
    for stream in (sys.stdout, sys.stderr):
        if hasattr(stream, "reconfigure"):
            stream.reconfigure(errors="backslashreplace")
    app()
