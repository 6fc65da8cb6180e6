"""Know results by what they were made from, so that nothing is worked up twice.

results.json tells under "made_from" the fingerprint of all that went in, the hash of every other file of the folder,
a seal over its own text, and the summary as it was printed. When all of them still hold, so do the results.
"""

from __future__ import annotations

import functools
import hashlib
import json
import platform
import re
from collections.abc import Iterator, Mapping
from contextlib import suppress
from dataclasses import dataclass, fields
from importlib import metadata
from importlib.resources import files as package_files
from importlib.resources.abc import Traversable
from pathlib import Path
from typing import TYPE_CHECKING, Any

from cutbook import __version__
from cutbook.importers.plan_file import PLAN
from cutbook.model.lineage import Source, canonical
from cutbook.model.run import Run
from cutbook.reporting.numbers import OutputSettings
from cutbook.reporting.results_folder import RESULTS, result_files

if TYPE_CHECKING:
    from cutbook.workup.findings import Findings
    from cutbook.workup.method import Method
    from cutbook.workup.read_method import ReadMethod

UNSEALED = "0" * 64
"""Stands in results.json for its seal while the seal is computed."""
PACKAGES = ("cutbook", "cutbook.reference", "cutbook.reports")


@dataclass(frozen=True)
class Known:
    """Results that still hold: what was printed of them, and their files by name."""

    lines: tuple[str, ...]
    record: dict[str, Any]
    files: dict[str, Path]


def made_from(
    findings: Findings, output: OutputSettings, files: Mapping[str, bytes], summary: Mapping[str, Any]
) -> dict[str, Any]:
    """What findings were made from, for results.json.

    The hashes of the inputs are those of the bytes that were worked up, not of what lies on the disk by now.

    Parameters
    ----------
    findings : of one run.
    output : how they are written.
    files : content of every other file of the results folder, by name.
    summary : what is printed after a work-up: "lines" and "record".
    """
    read = {one.source.path: one.source.sha256 for one in findings.inputs if one.role not in ("run sheet", "settings")}
    settings = next((one.source for one in findings.inputs if one.role == "settings"), None)
    # a file that is named and was not read yet decides nothing; it is hashed for the day on which it does
    inputs = {name: _sha256(findings.run.folder / name) for name in named_files(findings.run) if name not in read}
    return {
        "fingerprint": _fingerprint(findings.run, findings.method, settings, {**inputs, **read}, output),
        "files": {name: hashlib.sha256(content).hexdigest() for name, content in files.items()},
        "summary": summary,
        "seal": UNSEALED,
    }


def sealed(text: str) -> bytes:
    """results.json with its seal: the hash of the file as it was with zeros there."""
    seal = hashlib.sha256(text.encode("utf-8")).hexdigest()
    return text.replace(_seal(UNSEALED), _seal(seal)).encode("utf-8")


def known(run: Run, method: ReadMethod, output: OutputSettings, out: Path) -> Known | None:
    """The results in the folder `out`, when they are whole, unaltered and made from exactly this.

    Parameters
    ----------
    run, method : as they are read now.
    output : as it is asked for now.
    out : the results folder.

    Returns
    -------
    Known or None
        None when anything differs, is missing or cannot be read: then it is to be worked up.
    """
    if out.is_symlink() or not out.is_dir():
        return None
    there = result_files(out)
    match _unsealed(there.pop(RESULTS, None)):
        case {
            "fingerprint": str(mark),
            "files": dict(hashes),
            "summary": {"lines": list(lines), "record": dict(record)},
        }:
            pass
        case _:
            return None
    if hashes != {name: _sha256(path) for name, path in there.items()}:
        return None
    inputs = {name: _sha256(run.folder / name) for name in named_files(run)}
    if mark != _fingerprint(run, method.method, method.source, inputs, output):
        return None
    return Known(tuple(map(str, lines)), record, {name: out / name for name in (RESULTS, *hashes)})


def named_files(run: Run) -> tuple[str, ...]:
    """Every file that a run sheet names, each once, in its order, and the plan of a distillation."""
    of_traces = (name for entry in run.traces for name in (entry.file, entry.ladder, entry.blank))
    of_others = (entry.get("file", "") for entries in run.further.values() for entry in entries)
    of_stills = [entry.file for entry in run.distillations]
    if of_stills and (run.folder / PLAN).is_file():  # made before, and held against the logs
        of_stills.append(PLAN)
    return tuple(dict.fromkeys(name for name in (*of_traces, *of_stills, *of_others) if name))


@functools.cache
def program() -> str:
    """Digest of the program: its source, its data, its version and the libraries that it calculates with."""
    digest = hashlib.sha256(f"{__version__} {platform.python_version()} {' '.join(_libraries())}".encode())
    for package in PACKAGES:
        for name, file in _source_and_data(package_files(package), package):
            digest.update(f"\n{name}\n".encode() + hashlib.sha256(file.read_bytes()).digest())
    return digest.hexdigest()


def _source_and_data(folder: Traversable, name: str) -> Iterator[tuple[str, Traversable]]:
    for entry in sorted(folder.iterdir(), key=lambda one: one.name):
        if entry.is_dir() and entry.name != "__pycache__":
            yield from _source_and_data(entry, f"{name}/{entry.name}")
        elif entry.is_file() and not entry.name.endswith((".pyc", ".pyo")):
            yield f"{name}/{entry.name}", entry


def _libraries() -> Iterator[str]:
    try:
        wanted = metadata.requires("cutbook") or []
    except metadata.PackageNotFoundError:  # run from its source without being installed
        return
    for name in (re.match(r"[\w.-]+", line) for line in wanted if "extra ==" not in line):
        if name:
            with suppress(metadata.PackageNotFoundError):
                yield f"{name[0]}={metadata.version(name[0])}"


def _fingerprint(
    run: Run, method: Method, settings: Source | None, inputs: Mapping[str, str | None], output: OutputSettings
) -> str:
    """Hash over all that decides the results. Where the run folder lies decides nothing."""
    content = [
        program(),
        {one.name: canonical(getattr(run, one.name)) for one in fields(run) if one.name != "folder"},
        canonical(method),
        canonical(settings),
        sorted(inputs.items()),
        canonical(output),
    ]
    return hashlib.sha256(json.dumps(content, ensure_ascii=True).encode()).hexdigest()


def _unsealed(path: Path | None) -> Any:
    """The entry "made_from" of a results.json whose seal holds; None otherwise."""
    if path is None:
        return None
    try:
        text = path.read_bytes().decode("utf-8")
        entry = json.loads(text)["made_from"]
        seal = entry["seal"]
        before = text.replace(_seal(seal), _seal(UNSEALED)).encode("utf-8")
    except (OSError, ValueError, LookupError, TypeError, RecursionError):
        return None
    return entry if seal == hashlib.sha256(before).hexdigest() else None


def _seal(value: str) -> str:
    return f'"seal": "{value}"'


def _sha256(path: Path) -> str | None:
    try:
        with path.open("rb") as stream:
            return hashlib.file_digest(stream, "sha256").hexdigest()
    except OSError:
        return None
