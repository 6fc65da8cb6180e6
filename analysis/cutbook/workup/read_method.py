"""Read the settings of a work-up from `method.toml` or another file."""

from __future__ import annotations

from dataclasses import dataclass
from hashlib import sha256
from pathlib import Path

from cutbook.fractions.cut_schemes import chosen_schemes
from cutbook.importers.run_sheet import load_toml
from cutbook.importers.settings import fill_settings
from cutbook.model.errors import Fault, InputError, RunSheetError
from cutbook.model.lineage import Source
from cutbook.workup.method import Method

SETTINGS_FILE = "method.toml"


@dataclass(frozen=True)
class ReadMethod:
    """Settings and the file that they were read from, None when all are defaults."""

    method: Method
    source: Source | None


def read_method(folder: Path | str, settings: Path | str | None = None) -> ReadMethod:
    """The settings for a run folder.

    Parameters
    ----------
    folder : the run folder; its `method.toml` is read when there is one.
    settings : another file to read in its place.

    Returns
    -------
    ReadMethod

    Raises
    ------
    RunSheetError
        With every unknown key (and the nearest known one) and every value that cannot be.
    """
    path = Path(settings) if settings is not None else Path(folder) / SETTINGS_FILE
    if settings is None and not path.exists() and not path.is_symlink():
        return ReadMethod(Method(), None)
    content, table = load_toml(path.parent, path.name, "Settings are optional; leave the file out for the defaults.")
    method = fill_settings(Method, table, path.name)
    try:
        chosen_schemes(method.cuts)
    except InputError as refused:
        raise RunSheetError(
            *(Fault(path.name, f.place, f.found, f.expected, f.do) for f in refused.faults)
        ) from refused
    return ReadMethod(method, Source(path.name, sha256(content).hexdigest()))
