"""Wrong input, defects and stops: exit statuses, messages, and nothing half-written."""

from __future__ import annotations

import json
import os
import re
import subprocess
import sys
from pathlib import Path

import pytest

from selector.cli import app
from selector.inputs import site_file
from selector.inputs.new_site import suggested_limit
from selector.inputs.site_file import read_site
from selector.report import ask
from tests.commands import ANSWERS, run, words_of
from tests.sites import CATALOG, ROOM, SCENARIOS, write_room

# ---------------------------------------------------------------------------------------- new


def test_new_writes_a_site_that_check_accepts(tmp_path: Path) -> None:
    path = tmp_path / "site.toml"
    done = run("new", path, *words_of(ANSWERS))
    assert done.exit_code == 0, done.stderr
    assert "Next: selector check" in done.stdout
    assert read_site(path=path).name == "Town hall"


def test_new_asks_what_is_left_open_and_asks_again(tmp_path: Path) -> None:
    path = tmp_path / "site.toml"
    given = {key: value for key, value in ANSWERS.items() if key not in ("--floor-area", "--supply-airflow")}
    for key in ("--outdoor-airflow", "--cooling-capacity"):
        del given[key]
    done = run("new", path, *words_of(given), stdin="9000\n9000 ft2\nnone\n")
    assert done.exit_code == 0, done.stderr
    assert 'got "9000" (no unit)' in done.stdout
    assert read_site(path=path).air_handler is None


def test_new_asks_for_a_limit_as_the_profile_has_it_and_for_no_more_outdoor_air_than_air(
    tmp_path: Path,
) -> None:
    path = tmp_path / "site.toml"
    given = {**ANSWERS, "--profile": "store", "--supply-airflow": "9000 cfm"}
    del given["--humidity-limit"], given["--outdoor-airflow"]
    done = run("new", path, *words_of(given), stdin="50 %\n9001 cfm\n2250 cfm\n")
    assert done.exit_code == 0, done.stderr
    assert f"As {suggested_limit('store')}\n" in done.stdout
    assert 'got "9001 cfm"; allowed: at most the supply airflow, 9000 cfm' in done.stdout
    assert 'outdoor_airflow = "2250 cfm"' in path.read_text("utf-8")


def test_new_never_overwrites(tmp_path: Path) -> None:
    path = tmp_path / "site.toml"
    path.write_text("mine")
    done = run("new", path, *words_of(ANSWERS))
    assert done.exit_code == 2
    assert "got a file that is there; allowed: a new name" in done.stderr
    assert (
        "got a folder that is there; allowed: a new name" in run("new", tmp_path, *words_of(ANSWERS)).stderr
    )
    assert path.read_text() == "mine"


def test_new_refuses_all_wrong_options_at_once(tmp_path: Path) -> None:
    wrong = {
        **ANSWERS,
        "--floor-area": "9000",
        "--profile": "castle",
        "--ceiling-height": "-18 ft",
        "--outdoor-airflow": "99000 cfm",
        "--units": "metric",
        "--currency": "XXX",
    }
    done = run("new", tmp_path / "site.toml", *words_of(wrong))
    assert done.exit_code == 2
    assert [line.split(":")[0] for line in done.stderr.splitlines()] == [
        "--profile",
        "--floor-area",
        "--ceiling-height",
        "--outdoor-airflow",
        "--units",
        "--currency",
    ]
    assert done.stderr.endswith('--currency: option: got "XXX"; allowed: a code of ISO 4217, as USD or EUR\n')
    assert list(tmp_path.iterdir()) == []


def test_new_without_an_answer_is_wrong_input(tmp_path: Path) -> None:
    done = run("new", tmp_path / "site.toml", stdin="Town hall\n")
    assert done.exit_code == 2
    assert "an answer is missing" in done.stderr
    assert list(tmp_path.iterdir()) == []
    assert ask.NONE == "none"


def test_half_an_air_handler_is_refused(tmp_path: Path) -> None:
    half = {**ANSWERS, "--supply-airflow": "none"}
    done = run("new", tmp_path / "site.toml", *words_of(half))
    assert done.exit_code == 2
    assert '--cooling-capacity: option: got "25 ton" without an air handler' in done.stderr


# ---------------------------------------------------------------------------------------- refusals and exit statuses


@pytest.mark.parametrize("name", ["portfolio"])
def test_later_commands_are_refused_by_name(name: str) -> None:
    done = run(name, ROOM, "--vary", "outdoor-air-fraction")
    assert done.exit_code == 2
    known = [
        one.name or getattr(one.callback, "__name__", "") for one in app.registered_commands if not one.hidden
    ]
    assert done.stderr == f"{name}: not in this version; allowed: {', '.join(known)}\n"


@pytest.mark.parametrize("option", ["--report"])
@pytest.mark.parametrize("command", ["simulate"])
def test_later_options_are_refused_by_name(command: str, option: str) -> None:
    done = run(command, ROOM, option, "x")
    assert done.exit_code == 2
    assert f'{option}: option: got "x"; allowed: nothing: not in this version' in done.stderr


def test_wrong_input_is_one_message_and_no_traceback(tmp_path: Path) -> None:
    site = write_room(
        tmp_path, ('floor_area = "3000 ft2"', 'floor_area = "3000"'), ("max_units = 3", "max_units = -1")
    )
    done = run("choose", site, "--json", tmp_path / "x.json")
    assert done.exit_code == 2
    assert "space.floor_area" in done.stderr
    assert "limits.max_units" in done.stderr
    assert "Traceback" not in done.stderr
    assert done.stdout == ""
    assert [path.name for path in tmp_path.iterdir()] == ["room.toml"]


@pytest.mark.parametrize(
    ("words", "message"),
    [
        (("choose", ROOM, "--solver", "best"), '--solver: option: got "best"; allowed: highs or cbc'),
        (("choose", ROOM, "--seconds", "0"), '--seconds: option: got "0"; allowed: a number above 0'),
        (("simulate", ROOM, "--install", "2 precool-120"), "--install"),
        (("simulate", ROOM, "--json", ROOM), "got a file that is read; allowed: another file"),
        (("simulate", ROOM, "--json", "-", "--hourly", "-"), "got the same as --json"),
        (("simulate", ROOM, "--hourly", "/no/such/folder/x.csv"), "got a folder that is not there"),
        (("simulate", "nowhere.toml"), "nowhere.toml: file: got no such file or directory"),
        (("check", ROOM, "--units", "SI"), '--units: option: got "SI"; allowed: nothing: a site has display'),
        (("check", CATALOG, "--units", "metric"), '--units: option: got "metric"; allowed: IP or SI'),
        (("check", "nowhere"), "nowhere: file: got no such file or directory"),
        (("check", "n" * 300), "file: got file name too long; allowed: a site file that can be read"),
        (("simulate", ROOM, "--json", "n" * 300), "got a name that no file can have; allowed: another name"),
        (("new", "n" * 300 + ".toml"), "file: got a name that no file can have; allowed: another name"),
        (("choose", CATALOG), "file: got a folder; allowed: a site file that can be read"),
        (("rate", CATALOG / "units.csv", "precool-60"), "units.csv: folder: got a file; allowed: a folder"),
        (("rate", CATALOG, "precool-60", "--pressure", "0 Pa"), 'got "0 Pa"; allowed: from 50 to 110 kPa'),
        (
            ("simulate", ROOM, "--install", "2 precool-120 sideways"),
            'arrangement: got "sideways"; allowed: return-side',
        ),
        (
            ("simulate", ROOM, "--install", "-1 precool-120 standalone"),
            'count: got "-1"; allowed: a whole number',
        ),
        (
            ("choose", ROOM, "--work-years", "nan"),
            '--work-years: option: got "nan"; allowed: a number above 0',
        ),
        (("choose", ROOM, "--seconds", "inf"), '--seconds: option: got "inf"; allowed: a number above 0'),
        (("choose", ROOM, "--seconds", "soon"), '--seconds: option: got "soon"; allowed: a number above 0'),
        (("chose", ROOM), "chose"),
    ],
)
def test_wrong_words_are_status_2(words: tuple[str | Path, ...], message: str) -> None:
    done = run(*words)
    assert done.exit_code == 2
    assert message in done.stderr
    assert done.stdout == ""


def test_a_disk_that_is_full_leaves_nothing_and_says_so() -> None:
    done = run("simulate", ROOM, "--json", "/dev/full")
    assert done.exit_code == 2
    assert "/dev/full: file: got no space left on device; allowed: a place that can be written" in done.stderr
    assert done.stdout == ""


def test_weather_and_catalogue_that_are_folders_are_named(tmp_path: Path) -> None:
    site = write_room(tmp_path, ('weather/tidewater.csv"', 'weather"'), (f'"{CATALOG.as_posix()}"', '"."'))
    (tmp_path / "units.csv").mkdir()
    done = run("choose", site, "--json", tmp_path / "x.json")
    assert done.exit_code == 2
    assert "/scenarios/weather: file: got a folder; allowed: a weather file" in done.stderr
    assert "units.csv: file: got a folder; allowed: a CSV file" in done.stderr
    assert "ratings.csv: file: got no such file or directory; allowed: a CSV file" in done.stderr
    assert sorted(path.name for path in tmp_path.iterdir()) == ["room.toml", "units.csv"]


MARK = b"\xef\xbb\xbf"  # that an editor sets before UTF-8 text


@pytest.mark.parametrize(
    ("before", "between"),
    [(MARK, b"\n"), (b"", b"\r\n"), (MARK, b"\r\n"), (b"", b"\r")],
    ids=["mark", "two line ends", "both", "carriage returns"],
)
def test_files_of_other_editors_read_the_same(tmp_path: Path, before: bytes, between: bytes) -> None:
    """The same site, weather and catalogue with a byte order mark or other line ends give the same answer."""
    folder = tmp_path / "catalog"
    folder.mkdir()
    weather = SCENARIOS / "weather" / "tidewater.csv"
    parts = (
        (weather, tmp_path / "w.csv"),
        *((CATALOG / name, folder / name) for name in ("units.csv", "ratings.csv")),
    )
    for old, new in parts:
        new.write_bytes(before + old.read_bytes().replace(b"\n", between))
    site = write_room(
        tmp_path, (f'"{weather.as_posix()}"', '"w.csv"'), (f'"{CATALOG.as_posix()}"', '"catalog"')
    )
    site.write_bytes(before + site.read_bytes().replace(b"\n", b"\n" if between == b"\r" else between))
    found, wanted = (json.loads(run("simulate", path, "--json", "-").stdout) for path in (site, ROOM))
    for key in ("install", "costs", "humidity", "moisture_kg", "energy_kwh"):
        assert found[key] == wanted[key], key


def test_an_impossible_coil_names_the_file_and_the_key(tmp_path: Path) -> None:
    coil = 'total_capacity = "10 ton"\nsensible_heat_ratio = 0.99'
    done = run("check", write_room(tmp_path, ('total_capacity = "10 ton"', coil)))
    assert done.exit_code == 2
    assert "room.toml: air_handler.cooling_coil" in done.stderr
    assert "largest possible sensible heat ratio" in done.stderr


def broken(*, path: Path, no_defaults: bool) -> None:
    raise RuntimeError("first line\nsecond line")


@pytest.mark.parametrize("command", ["loads", "simulate", "choose"])
def test_a_slip_that_would_boil_the_space_is_refused(tmp_path: Path, command: str) -> None:
    site = write_room(tmp_path, ('power = "2 kW"', 'power = "20000 kW"'))
    done = run(command, site)
    assert (done.exit_code, done.stdout) == (2, "")
    assert re.fullmatch(
        rf"{re.escape(str(site))}: space, gains: got a space of [\d,]+ °C in hour \d+ of the year; allowed: below "
        r"100 °C: check units and amounts of gains, solar_aperture, heat_loss and cooling\n",
        done.stderr.removeprefix("compiling, once (half a minute to two minutes)\n"),
    )


def test_a_defect_of_ours_is_one_line_and_status_3(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(site_file, "read_site", broken)
    monkeypatch.delenv("SELECTOR_TRACE", raising=False)
    done = run("choose", ROOM)
    assert done.exit_code == 3
    assert len(done.stderr.splitlines()) == 1
    assert "RuntimeError: first line (test_cli_refusals.py, line" in done.stderr
    assert "report it" in done.stderr
    assert "SELECTOR_TRACE=1" in done.stderr


def test_the_full_trace_is_shown_on_request(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(site_file, "read_site", broken)
    monkeypatch.setenv("SELECTOR_TRACE", "1")
    done = run("choose", ROOM)
    assert done.exit_code == 3
    assert "Traceback" in done.stderr


def test_a_stop_from_the_keyboard_is_no_answer(monkeypatch: pytest.MonkeyPatch) -> None:
    def stopped(*, path: Path, no_defaults: bool) -> None:
        raise KeyboardInterrupt

    monkeypatch.setattr(site_file, "read_site", stopped)
    assert run("choose", ROOM).exit_code == 130


def test_names_that_people_type_do_not_reach_the_terminal_raw(tmp_path: Path) -> None:
    name = "Hall \\u001b[2J[red]" + "x" * 100
    done = run("simulate", write_room(tmp_path, ('name = "Test room"', f'name = "{name}"')))
    assert done.exit_code == 0
    assert "\x1b" not in done.stdout
    first = done.stdout.splitlines()[0]
    assert first.startswith("Hall \\x1b[2J[red]")
    assert first.endswith("FIRST ESTIMATE; invented prices, not for a bid")
    assert len(first) <= 80


# ---------------------------------------------------------------------------------------- as a program


def program(*words: str | Path, env: dict[str, str] | None = None) -> subprocess.CompletedProcess[bytes]:
    call = [sys.executable, "-m", "selector", *(str(word) for word in words)]
    return subprocess.run(
        call, capture_output=True, check=False, env={**os.environ, **(env or {})}, timeout=300
    )


def test_help_imports_nothing_heavy() -> None:
    code = (
        "import sys\nimport selector.cli\n"
        "heavy = {'numpy', 'numba', 'pandas', 'scipy', 'pvlib', 'pulp', 'pint', 'pydantic', 'rich', 'psychrolib'}\n"
        "print(sorted(heavy & set(sys.modules)))"
    )
    done = subprocess.run(
        [sys.executable, "-c", code], capture_output=True, check=True, text=True, timeout=300
    )
    assert done.stdout.strip() == "[]"


def test_help_names_the_commands() -> None:
    done = program("--help")
    assert done.returncode == 0
    for name in (b"new", b"check", b"rate", b"loads", b"simulate", b"choose", b"Exit status"):
        assert name in done.stdout


def test_an_ascii_terminal_gets_escapes_and_no_crash(tmp_path: Path) -> None:
    site = write_room(tmp_path, ("max_units = 3", 'max_units = 1\narrangements = ["standalone"]'))
    done = program("check", site, "--defaults", env={"PYTHONIOENCODING": "ascii", "PYTHONUTF8": "0"})
    assert done.returncode == 0, done.stderr
    assert b"\\xb0F" in done.stdout  # the degree sign of "80/67 °F entering"


def test_a_pipe_that_closes_early_is_no_error_message() -> None:
    call = [sys.executable, "-m", "selector", "check", str(ROOM)]
    with subprocess.Popen(call, stdout=subprocess.PIPE, stderr=subprocess.PIPE) as process:
        assert process.stdout is not None
        assert process.stderr is not None
        process.stdout.close()
        errors = process.stderr.read()
        assert process.wait(timeout=300) == 141
    assert b"Traceback" not in errors
    assert b"BrokenPipe" not in errors


COMPILING = b"compiling, once (half a minute to two minutes)\n"
FULL = b"standard output: file: got no space left on device; allowed: a place that can be written\n"


@pytest.mark.parametrize("words", [("simulate", ROOM, "--json", "-"), ("check", ROOM), ("new", "site.toml")])
def test_a_disk_that_is_full_behind_standard_output_is_no_defect(
    words: tuple[str | Path, ...], tmp_path: Path
) -> None:
    answers = words_of(ANSWERS) if words[0] == "new" else []
    call = [sys.executable, "-m", "selector", *(str(word) for word in words), *answers]
    with Path("/dev/full").open("wb") as full:
        done = subprocess.run(
            call, cwd=tmp_path, stdout=full, stderr=subprocess.PIPE, check=False, timeout=300
        )
    assert (done.returncode, done.stderr.removeprefix(COMPILING)) == (2, FULL)


def test_a_standard_output_that_is_closed_is_refused_before_any_work() -> None:
    call = [sys.executable, "-m", "selector", "check", str(ROOM)]
    closed = "import os, sys; os.close(1); os.execv(sys.executable, sys.argv[1:])"
    done = subprocess.run(
        [sys.executable, "-c", closed, *call], stderr=subprocess.PIPE, check=False, timeout=300
    )
    wanted = b"standard output: file: got closed; allowed: a place that can be written\n"
    assert (done.returncode, done.stderr) == (2, wanted)
