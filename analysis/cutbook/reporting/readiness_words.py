"""Put into words what one more entry of the run sheet would give."""

from __future__ import annotations

import tomllib
from importlib.resources import files

from cutbook.model.run import Run
from cutbook.workup.readiness import readiness


def readiness_lines(run: Run) -> tuple[str, ...]:
    """One sentence for each thing that a run lacks; wording from `reports/readiness.toml`."""
    words = tomllib.loads(files("cutbook.reports").joinpath("readiness.toml").read_text(encoding="utf-8"))
    return tuple(words[one.code].format(about=one.about) for one in readiness(run))
