"""Look into a lone file: what it is and what can be read from it."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from pathlib import Path

from cutbook.importers import jcamp_dx
from cutbook.importers.gas_meter import METER_LOG, read_meter_heading, read_meter_log
from cutbook.importers.gas_table import KIND, read_gas_heading, read_gas_table
from cutbook.importers.headed_table import headed_table
from cutbook.importers.recognise import ScanImporter, importer_of
from cutbook.importers.spectrum_table import read_spectrum_table
from cutbook.importers.still_headings import read_still_heading
from cutbook.importers.still_log import STILL_LOG, read_still_log
from cutbook.importers.trace_file import TraceFile, open_trace_file
from cutbook.model.cautions import Caution
from cutbook.model.errors import InputError
from cutbook.model.gas import GasTable, MeterLog
from cutbook.model.run import DistillationEntry, TraceEntry
from cutbook.model.scans import ScanSeries, Spectrum
from cutbook.model.still import StillLog
from cutbook.model.trace import ListedPeaks, Trace


@dataclass(frozen=True, eq=False)
class FileContents:
    """What a file holds.

    signal : its trace or list of peaks, None where there is none. scans : its mass spectra, None where there are none.
    still : the log of a distillation, None where it is none. meter : the log of a gas meter, None where it is none.
    gas : the composition of a gas, None where it is none. spectrum : one mass spectrum without a time, None where there
    is none.
    refused : why it gave no signal or no scans, though its format may hold them.
    """

    name: str
    sha256: str
    mebibytes: float
    signal: Trace | ListedPeaks | None
    scans: ScanSeries | None
    refused: tuple[InputError, ...]
    still: StillLog | None = None
    meter: MeterLog | None = None
    gas: GasTable | None = None
    spectrum: Spectrum | None = None

    @property
    def cautions(self) -> tuple[Caution, ...]:
        """The doubts that reading raised, each once."""
        steps = [one.step for one in (self.signal, self.scans, self.still, self.meter, self.gas) if one is not None]
        return tuple(dict.fromkeys(caution for step in steps for caution in step.all_cautions()))


def look_into(path: Path, known: Callable[[str], str], names: Sequence[str]) -> FileContents:
    """Read all that a file offers.

    Parameters
    ----------
    path : of the file. known, names : how gas components are told, as of `read_gas_table`.

    Returns
    -------
    FileContents
        With a signal, scans or both, a lone mass spectrum, the log of a distillation or of a gas meter, or the
        composition of a gas.

    Raises
    ------
    InputError
        When the file cannot be read, is of no known format, or gives neither a signal, nor scans, nor a log, nor a
        composition.
    """
    file = open_trace_file(path.parent, path.name)
    if (meter := _meter_log(file)) is not None:
        return FileContents(path.name, file.sha256, len(file.content) / 2**20, None, None, (), None, meter)
    importer = importer_of(file)
    refused: list[InputError] = []
    signal: Trace | ListedPeaks | None = None
    scans: ScanSeries | None = None
    try:
        signal = importer.read(file, TraceEntry(file=path.name, place="", role="sample"))
    except InputError as error:
        refused.append(error)
    # the signal of another detector has no spectra beside it, which is nothing to speak of
    if isinstance(importer, ScanImporter) and (signal is None or signal.detector == "MS"):
        try:
            scans = importer.read_scans(file)
        except InputError as error:
            refused.append(error)
    lone = None
    if signal is None and scans is None:
        lone = jcamp_dx.lone_spectrum(file) if importer is jcamp_dx else read_spectrum_table(file)
    if lone is not None:
        return FileContents(path.name, file.sha256, len(file.content) / 2**20, None, None, (), spectrum=lone)
    if signal is None and scans is None:
        still = _still_log(file)
        gas = _gas_table(file, known, names) if still is None else None
        if still is None and gas is None:
            raise refused[0]
        return FileContents(path.name, file.sha256, len(file.content) / 2**20, None, None, (), still, None, gas)
    return FileContents(path.name, file.sha256, len(file.content) / 2**20, signal, scans, tuple(refused))


def _meter_log(file: TraceFile) -> MeterLog | None:
    """The meter log in a file; None where no line of it heads a counter in a unit of volume beside a time or a state,
    or where it heads a distillation.

    Raises
    ------
    InputError
        When it is headed like one and cannot be read as one.
    """
    try:
        headings = headed_table(file, {}, METER_LOG).headings
    except InputError:
        return None
    counters = [read for text in headings if (read := read_meter_heading(text)).field == "reading"]
    still = {read_still_heading(text).field for text in headings}
    if {"pot_temperature", "receiver", "mass"} & still or not any(read.unit for read in counters):
        return None
    # "volume" beside a temperature is what a still log has; a meter says that it is one, or has no temperature
    if "head_temperature" in still and all(read_still_heading(read.text).field == "volume" for read in counters):
        return None
    return read_meter_log(file, {})


def _still_log(file: TraceFile) -> StillLog | None:
    """The log in a file, None where no line of it heads one.

    Raises
    ------
    InputError
        When it is headed like a log and cannot be read as one.
    """
    entry = DistillationEntry(file.name, "", "")
    try:
        headed_table(file, {}, STILL_LOG)
    except InputError:
        return None
    return read_still_log(file, entry)


def _gas_table(file: TraceFile, known: Callable[[str], str], names: Sequence[str]) -> GasTable | None:
    """The composition in a file, None where no line of it heads components and their shares.

    Raises
    ------
    InputError
        When it is headed like a composition and cannot be read as one.
    """
    try:
        headings = headed_table(file, {}, KIND).headings
    except InputError:
        return None
    fields = {read_gas_heading(text) for text in headings}
    if "component" not in fields or not ("share" in fields or {"area", "response"} <= fields):
        return None
    return read_gas_table(file, "", known, names, {})
