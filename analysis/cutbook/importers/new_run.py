"""Write a run folder with a commented run sheet."""

from __future__ import annotations

import os
import tempfile
from importlib.resources import files
from pathlib import Path

from cutbook.importers.run_sheet import RUN_SHEET
from cutbook.model.errors import RunSheetError


def new_run(folder: Path) -> Path:
    """A run folder with the commented sheet and a place for traces.

    Parameters
    ----------
    folder : made with its parents when missing; whatever is in it stays.

    Returns
    -------
    Path
        The run sheet.

    Raises
    ------
    RunSheetError
        When there is a run sheet already, or the folder cannot be written.
    """
    sheet = folder / RUN_SHEET
    text = files("cutbook.reports").joinpath("run_sheet_template.toml").read_text(encoding="utf-8")
    try:
        if sheet.exists() or sheet.is_symlink():
            raise RunSheetError.single(
                str(sheet), "", "a run sheet", "a folder without one", "It is not overwritten; choose another folder."
            )
        (folder / "traces").mkdir(parents=True, exist_ok=True)
        handle, aside = tempfile.mkstemp(prefix=".run-", suffix=".toml", dir=folder)
        try:
            with os.fdopen(handle, "w", encoding="utf-8", newline="\n") as stream:
                stream.write(text)
            os.chmod(aside, 0o644)
            os.rename(aside, sheet)
        finally:
            Path(aside).unlink(missing_ok=True)
    except OSError as error:
        raise RunSheetError.single(
            str(folder), "", error.strerror or str(error), "a folder that can be written"
        ) from error
    return sheet
