"""Where compiled functions are kept: never beside the sources, where they would outlive an installation."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import pytest

SHOW = "from {0} import {1} as one; print(one.stats.cache_path)"


@pytest.mark.parametrize(
    ("module", "function"),
    [
        ("selector.inputs.outdoor_states", "_of_dew_point"),
        ("selector.physics.moist_air", "enthalpy"),
        ("selector.physics.year", "advance"),
    ],
)
def test_what_is_compiled_is_kept_in_the_users_cache(module: str, function: str, tmp_path: Path) -> None:
    call = [sys.executable, "-c", SHOW.format(module, function)]
    done = subprocess.run(
        call, env={**os.environ, "XDG_CACHE_HOME": str(tmp_path)}, capture_output=True, text=True, check=True
    )
    assert done.stdout.startswith(str(tmp_path))
