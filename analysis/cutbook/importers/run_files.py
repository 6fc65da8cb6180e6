"""Find the files that a run sheet names, inside the run folder and nowhere else."""

from __future__ import annotations

import re
from collections.abc import Mapping
from pathlib import Path, PurePosixPath
from typing import Any

from cutbook.importers.sheet_table import Sheet
from cutbook.model.errors import nearest, printable


class FileFinder:
    """Checks file names of a sheet.

    Parameters
    ----------
    folder : the run folder. sheet : takes the faults.
    """

    def __init__(self, folder: Path, sheet: Sheet) -> None:
        self.folder, self.sheet = folder, sheet

    def file(self, table: Mapping[str, Any], place: str, key: str, required: bool = False) -> str:
        """A file of the run folder by its relative name; "" when missing or refused."""
        name = self.sheet.text(table, place, key, required)
        if not name:
            return ""
        at = f"{place}, {key}"
        expected = "the name of a file in the run folder, such as traces/oil.cdf"
        if "\x00" in name or "\\" in name:
            self.sheet.fault(
                at, f"'{printable(name)}'", expected, "Write folders with a forward slash: traces/oil.cdf."
            )
            return ""
        parts = PurePosixPath(name).parts
        if name.startswith(("/", "~")) or re.match(r"^[A-Za-z]:", name) or ".." in parts:
            self.sheet.fault(
                at, f"'{printable(name)}', outside the run folder", expected, "Copy the file into the run folder."
            )
            return ""
        path = self.folder.joinpath(*parts)
        try:
            there = path.resolve(strict=True)
        except (OSError, RuntimeError, ValueError):
            self.sheet.fault(at, f"'{printable(name)}', no such file", "a file in the run folder", self._near(parts))
            return ""
        if not there.is_relative_to(self.folder.resolve()):
            self.sheet.fault(
                at, f"'{printable(name)}', a link that leads outside the run folder", expected,
                "Copy the file into the run folder.",
            )  # fmt: skip
            return ""
        if not there.is_file():
            self.sheet.fault(at, f"'{printable(name)}', not a regular file", expected)
            return ""
        return str(PurePosixPath(*parts))

    def _near(self, parts: tuple[str, ...]) -> str:
        """The file whose name comes closest, as a hint."""
        folder = self.folder.joinpath(*parts[:-1])
        try:
            names = sorted(entry.name for entry in folder.iterdir() if entry.is_file())
        except (OSError, ValueError):
            return "Names are relative to the run folder."
        near = nearest(parts[-1], names) if parts else ""
        return f"Did you mean '{'/'.join((*parts[:-1], near))}'?" if near else "Names are relative to the run folder."
