"""Write the example runs that come with the program."""

from __future__ import annotations

import shutil
import tempfile
from collections.abc import Iterator
from importlib.resources import as_file, files
from pathlib import Path

from cutbook.importers.run_sheet import RUN_SHEET
from cutbook.model.errors import InputError


def example_names() -> tuple[str, ...]:
    """Names of the example runs, sorted."""
    root = files("cutbook.examples")
    return tuple(sorted(entry.name for entry in root.iterdir() if entry.joinpath(RUN_SHEET).is_file()))


def write_examples(folder: Path) -> Iterator[Path]:
    """Copy each example run into a folder, whole or not at all; one that is there already is kept as it is.

    Parameters
    ----------
    folder : made with its parents when missing.

    Yields
    ------
    Path
        The run folder, once it is complete.

    Raises
    ------
    InputError
        When the folder cannot be written.
    """
    try:
        folder.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise InputError.single(
            str(folder), "", error.strerror or str(error), "a folder that can be written"
        ) from error
    for name in example_names():
        target = folder / name
        if not (target / RUN_SHEET).is_file():
            aside = Path(tempfile.mkdtemp(prefix=f".{name}.writing-", dir=folder))
            try:
                with as_file(files("cutbook.examples").joinpath(name)) as source:
                    shutil.copytree(source, aside / name, ignore=shutil.ignore_patterns("__pycache__", "results"))
                (aside / name).rename(target)
            except OSError as error:
                raise InputError.single(
                    str(target), "", error.strerror or str(error), "a folder that can be written"
                ) from error
            finally:
                shutil.rmtree(aside, ignore_errors=True)
        yield target
