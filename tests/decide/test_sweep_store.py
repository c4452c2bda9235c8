"""What a sweep keeps on disk: steps come back as they were, and none of another site."""

from __future__ import annotations

from pathlib import Path

from selector.decide.sweep import sweep
from selector.decide.sweep_store import Store, key_of
from selector.inputs.site_file import read_site
from tests.decide.small_cases import make_case
from tests.decide.sweeps import swept_room, varied, without_work
from tests.sites import prepared_room, write_room


def test_a_step_comes_back_from_disk_as_it_was(tmp_path: Path) -> None:
    file = tmp_path / "steps.jsonl"
    store = Store(file=file)
    for step in (swept_room().now, *swept_room().steps):
        store.add(step=step)
    with file.open("a", encoding="utf-8") as open_file:
        open_file.write('{"values": [0.5], "best"')  # cut off in the middle of a line
    again = Store(file=file)
    staying = swept_room().now.install
    for step in swept_room().steps:
        assert again.get(values=step.values, staying=staying) == step
    assert again.get(values=(), staying=None) == swept_room().now
    assert again.get(values=(0.5,), staying=staying) is None
    assert again.get(values=swept_room().steps[0].values, staying=()) is None  # of another design of today


def test_a_second_run_takes_all_from_the_first(tmp_path: Path) -> None:
    prepared = make_case(5).prepared
    variations = varied(prepared.site, ("gains", "50 %", "400 %", 4))
    file = tmp_path / "steps.jsonl"
    first = sweep(prepared=prepared, variations=variations, store=file, processes=1)
    second = sweep(prepared=prepared, variations=variations, store=file, processes=1)
    assert (first.reused, second.reused) == (0, 4)
    assert second.year_equivalents == 0.0
    assert without_work(second) == without_work(first)
    more = varied(prepared.site, ("gains", "50 %", "400 %", 7))  # every second step is there
    third = sweep(prepared=prepared, variations=more, store=file, between=False, processes=1)
    assert third.reused == 4
    assert [step.install for step in third.steps][::2] == [step.install for step in first.steps]


def test_another_site_has_steps_of_its_own(tmp_path: Path) -> None:
    path = write_room(tmp_path, ("count = 60", "count = 61"))
    sites = (read_site(path=path), prepared_room().site)
    keys = {
        key_of(site=site, variations=varied(site, given), solver=solver)
        for site in sites
        for given in (("gains", "1", "2", 3), ("infiltration", "0.1 1/h", "1 1/h", 3))
        for solver in ("highs", "cbc")
    }
    assert len(keys) == 8
    same = key_of(site=sites[1], variations=varied(sites[1], ("gains", "1", "3", 9)), solver="highs")
    assert same in keys  # another range or number of steps of the same thing


def test_an_interrupt_keeps_what_is_finished(tmp_path: Path) -> None:
    prepared = make_case(5).prepared
    variations = varied(prepared.site, ("gains", "50 %", "400 %", 4))
    file = tmp_path / "steps.jsonl"

    def stop(what: str, share: float) -> None:
        if what.startswith("2 of"):
            raise KeyboardInterrupt

    found = sweep(prepared=prepared, variations=variations, store=file, processes=1, progress=stop)
    assert found.interrupted
    assert not found.complete
    assert len(found.steps) == 2
    after = sweep(prepared=prepared, variations=variations, store=file, processes=1)
    assert after.reused == 2
    assert after.complete
    whole = sweep(prepared=prepared, variations=variations, processes=1)
    assert without_work(after) == without_work(whole)
