"""What is wrong with a command comes in one message: its words, its files, and the places of its results."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.commands import run
from tests.sites import CATALOG, ROOM, write_room

AREA = (
    'room.toml: space.floor_area: got "3000" (no unit); allowed: an area in ft2, m2 or sq ft, above 0 and at most '
    "1,000,000 m2"
)
SOLVER = '--solver: option: got "best"; allowed: highs or cbc'
MODEL = '--install: "0 precool-61 roof", model: got "precool-61"; allowed: precool-60 or precool-120'
DESIGN = (
    '--install: "0 precool-61 roof", count: got "0"; allowed: a whole number from 1 to 999, as in '
    "'2 precool-120 standalone'",
    MODEL,
    '--install: "0 precool-61 roof", arrangement: got "roof"; allowed: return-side, supply-side, coil-bypass, '
    "standalone, outdoor-air",
)
PLACE = "got a folder that is not there; allowed: a folder that is"
WRONG = ("--install", "0 precool-61 roof")
NOWHERE = "no-folder/x"


def lines(*words: str | Path) -> list[str]:
    done = run(*words)
    assert (done.exit_code, done.stdout) == (2, "")
    return done.stderr.splitlines()


@pytest.fixture
def broken(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A folder to work in, whose room.toml has one fault."""
    write_room(tmp_path, ('floor_area = "3000 ft2"', 'floor_area = "3000"'))
    monkeypatch.chdir(tmp_path)
    return tmp_path


def test_rate_judges_air_catalogue_model_units_and_place_together() -> None:
    air = ("--dry-bulb", "95", "--relative-humidity", "160 %", "--pressure", "1 bar")
    found = lines("rate", CATALOG, "rotor-61", *air, "--units", "metric", "--json", NOWHERE)
    assert found == [
        '--dry-bulb: option: got "95" (no unit); allowed: a temperature in degF, degC, °F or °C',
        '--relative-humidity: option: got "160 %"; allowed: a fraction from 0 to 1, bare or in %',
        f'--json: "{NOWHERE}": {PLACE}',
        f'{CATALOG}: MODEL: got "rotor-61"; allowed: rotor-60',
        '--units: option: got "metric"; allowed: IP or SI',
    ]


def test_rate_judges_the_air_beside_a_catalogue_that_is_broken(tmp_path: Path) -> None:
    found = lines("rate", tmp_path, "rotor-60", "--dry-bulb", "95", "--units", "metric")
    assert [line.partition(": got ")[0] for line in found] == [
        "--dry-bulb: option",
        f"{tmp_path}/units.csv: file",
        f"{tmp_path}/ratings.csv: file",
        "--units: option",
    ]


def test_check_judges_a_catalogue_and_what_stands_beside_it(tmp_path: Path) -> None:
    found = lines("check", tmp_path, "--units", "metric", "--json", "/no-folder/x")
    assert [line.partition(": got ")[0] for line in found] == [
        '--json: "/no-folder/x"',
        f"{tmp_path}/units.csv: file",
        f"{tmp_path}/ratings.csv: file",
        "--units: option",
    ]


@pytest.mark.usefixtures("broken")
@pytest.mark.parametrize(
    ("words", "wanted"),
    [
        (
            ("check", "--units", "SI", "--json", NOWHERE),
            (
                '--units: option: got "SI"; allowed: nothing: a site has display_units',
                AREA,
                f'--json: "{NOWHERE}": {PLACE}',
            ),
        ),
        (
            ("loads", "--json", "room.toml", "--hourly", "."),
            (
                AREA,
                '--json: "room.toml": got a file that is read; allowed: another file',
                '--hourly: ".": got a folder; allowed: a file',
            ),
        ),
        (
            ("simulate", *WRONG, "--report", "x", "--json", NOWHERE, "--workbook", "x.ods"),
            (
                '--report: option: got "x"; allowed: nothing: not in this version',
                AREA,
                *DESIGN,
                f'--json: "{NOWHERE}": {PLACE}',
                '--workbook: "x.ods": got another name; allowed: a file named *.xlsx',
            ),
        ),
        (
            ("choose", "--solver", "best", "--seconds", "x", "--json", NOWHERE, "--report", "x", "--hourly", "."),
            (
                SOLVER,
                '--seconds: option: got "x"; allowed: a number above 0',
                AREA,
                f'--json: "{NOWHERE}": {PLACE}',
                '--hourly: ".": got a folder; allowed: a file',
                '--report: "x": got another name; allowed: a file named *.html or *.htm',
            ),
        ),
        (
            ("compare", "--solver", "best", "--work-years", "nan", "--json", str(CATALOG / "units.csv")),
            (
                SOLVER,
                '--work-years: option: got "nan"; allowed: a number above 0',
                AREA,
                f'--json: "{CATALOG / "units.csv"}": got a file that is read; allowed: another file',
            ),
        ),
        (("schedule", *WRONG, "--csv", NOWHERE), (AREA, *DESIGN, f'--csv: "{NOWHERE}": {PLACE}')),
        (("commission", *WRONG, "--csv", NOWHERE), (AREA, *DESIGN, f'--csv: "{NOWHERE}": {PLACE}')),
        (
            ("chart", *WRONG, "--which", "cake", "--arrangement", "roof", "--out", NOWHERE),
            (
                '--which: option: got "cake"; allowed: psychrometric, humidity, moisture, money, duration',
                '--arrangement: option: got "roof"; allowed: return-side, supply-side, coil-bypass, standalone, '
                "outdoor-air",
                AREA,
                *DESIGN,
                f'--out: "{NOWHERE}": got another name; allowed: a file named *.svg or *.png',
            ),
        ),
        (
            (
                *("sweep", "--solver", "best", "--vary", "gainz", "--vary", "infiltration", "--csv", NOWHERE),
                *("--from", "1", "--from", "some", "--to", "2", "--to", "30 1/h", "--steps", "3", "--steps", "1"),
            ),
            (
                SOLVER,
                AREA,
                '--vary: option: got "gainz"; allowed: gains',
                "--steps: infiltration: got 1; allowed: a whole number from 2 to 201",
                '--from: infiltration: got "some"; allowed: a number first, then its unit: a number by time in 1/h, '
                "ACH or 1/s",
                '--to: infiltration: got "30 1/h"; allowed: a number by time in 1/h, ACH or 1/s, at least 0 and at '
                "most 20 1/h",
                f'--csv: "{NOWHERE}": {PLACE}',
            ),
        ),
        (
            ("sweep", "--vary", "gains", "--steps", "few", "--json", NOWHERE),
            (
                '--steps: option: got "few"; allowed: a whole number from 2 to 201',
                "--from: option: got not at all; allowed: once: --from and --to for each range, --values for each "
                "list and for weather-file",
                "--to: option: got not at all; allowed: once: --from and --to for each range, --values for each "
                "list and for weather-file",
                AREA,
                f'--json: "{NOWHERE}": {PLACE}',
            ),
        ),
    ],
    ids=lambda value: value[0] if value[0].isalpha() else "",
)  # fmt: skip
def test_faults_of_the_site_hide_no_others(words: tuple[str, ...], wanted: tuple[str, ...]) -> None:
    assert lines(words[0], "room.toml", *words[1:]) == list(wanted)
    assert [path.name for path in Path().iterdir()] == ["room.toml"]


def test_models_are_judged_only_by_a_catalogue_that_could_be_read(broken: Path) -> None:
    path = broken / "room.toml"
    path.write_text(path.read_text("utf-8").replace(CATALOG.as_posix(), "nowhere"), encoding="utf-8")
    found = lines("simulate", "room.toml", *WRONG)
    assert found == [
        AREA,
        "nowhere: folder: got nothing there; allowed: a folder with units.csv and ratings.csv",
        *(line for line in DESIGN if line != MODEL),
    ]


@pytest.mark.parametrize("text", ["a = ", "weather = 1\ncatalog = 2\ncosts = 3", 'catalog = "\\u0000"'])
def test_words_are_judged_beside_a_file_that_is_no_site(broken: Path, text: str) -> None:
    (broken / "room.toml").write_text(text, encoding="utf-8")
    found = lines("simulate", "room.toml", *WRONG, "--json", "room.toml")
    assert found[-3:] == [
        *(line for line in DESIGN if line != MODEL),
        '--json: "room.toml": got a file that is read; allowed: another file',
    ]
    assert found[0].startswith("room.toml: ")


def test_values_of_a_sweep_are_judged_beside_what_the_site_lacks(tmp_path: Path) -> None:
    """All that can be judged without the other: numbers of steps beside a value, values beside a name."""
    wanted = ("--from", "a", "--to", "3", "--steps", "1000000000")
    found = lines("sweep", ROOM, "--vary", "gains:people", *wanted, "--csv", tmp_path)
    assert found == [
        "--steps: gains: got 1000000000; allowed: a whole number from 2 to 201",
        '--from: gains: got "a"; allowed: a number first, then its unit: a share, bare or in %',
        '--vary: gains: got ":people"; allowed: nothing behind the name',
        f'--csv: "{tmp_path}": got a folder; allowed: a file',
    ]


@pytest.mark.parametrize(
    ("words", "wanted"),
    [
        (
            ("choose", ROOM, "--details", "--json", "-", "--seconds", "x"),
            [
                '--seconds: option: got "x"; allowed: a number above 0',
                "--details: option: got it beside --json -; allowed: one of the two",
            ],
        ),
        (
            ("choose", ROOM, "--details", "--hourly", "-"),
            ["--details: option: got it beside --hourly -; allowed: one of the two"],
        ),
        (
            ("simulate", ROOM, "--bill", "--json", "-"),
            ["--bill: option: got it beside --json -; allowed: one of the two"],
        ),
        (
            ("compare", ROOM, "--no-choice", "--solver", "cbc", "--work-years", "9", "--seconds", "9"),
            [
                f"{option}: option: got it beside --no-choice; allowed: one of the two"
                for option in ("--solver", "--seconds", "--work-years")
            ],
        ),
        (
            ("check", CATALOG, "--defaults", "--no-defaults"),
            [
                f"{option}: option: got it beside a catalogue; allowed: it beside a site"
                for option in ("--defaults", "--no-defaults")
            ],
        ),
    ],
)
def test_options_that_would_do_nothing_together_are_refused(
    words: tuple[str | Path, ...], wanted: list[str]
) -> None:
    assert lines(*words) == wanted
