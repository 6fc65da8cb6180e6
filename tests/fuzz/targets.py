"""What is fuzzed: every importer, the run sheet and the settings; what each must do with any bytes at all.

A target of files takes bytes and returns whether they were read. It may refuse them with an InputError whose message is whole lines, one a
fault; whatever else is raised is a bug.
"""

import atexit
import hashlib
import io
import json
import math
import shutil
import socket
import tempfile
import zipfile
from pathlib import Path

import numpy as np

from cutbook.fractions.cut_schemes import CutSettings, chosen_schemes
from cutbook.fractions.still_curve import still_curve
from cutbook.fractions.still_properties import still_properties
from cutbook.gas.air import product_gas
from cutbook.gas.calorific import gas_properties
from cutbook.gas.composition import gas_composition
from cutbook.gas.meter import MeterEntry, metered_gas, passed_between
from cutbook.gas.substances import component_named, substances
from cutbook.importers import andi, jcamp_dx, mzml, mzxml, text_columns, workbook_columns
from cutbook.importers.gas_meter import read_meter_log
from cutbook.importers.gas_table import read_gas_table
from cutbook.importers.packed_file import DamagedError, unpacked
from cutbook.importers.plan_file import read_plan
from cutbook.importers.recognise import ScanImporter, importer_of
from cutbook.importers.run_sheet import read_run
from cutbook.importers.spectrum_table import read_spectrum_table
from cutbook.importers.still_log import read_still_log
from cutbook.importers.trace_file import TraceFile
from cutbook.model.amount import nominal
from cutbook.model.errors import InputError
from cutbook.model.lineage import Source
from cutbook.model.run import DistillationEntry, Product, TraceEntry
from cutbook.model.scans import ScanSeries
from cutbook.model.trace import ListedPeaks, Trace
from cutbook.model.units import parse_factor, parse_quantity
from cutbook.reporting.halogen_words import against_formula, halogen_record
from cutbook.workup.read_method import read_method

ENTRY = TraceEntry(file="input", place="[[trace]] 1", role="sample")


def _no_network(*args, **kwargs):
    raise AssertionError("a look-up on the network")


socket.getaddrinfo = _no_network
socket.socket.connect = _no_network


def _file(content):
    return TraceFile("input", content, hashlib.sha256(content).hexdigest())


def _sound(found):
    """What was read must be fit for use: finite, rising, of one length."""
    if isinstance(found, Trace):
        assert np.isfinite(found.signal).all()
        assert (np.diff(found.time_min) > 0).all()
    elif isinstance(found, ListedPeaks):
        assert all(np.isfinite([peak.apex_min, peak.area]).all() for peak in found.peaks)
    else:
        assert isinstance(found, ScanSeries)
        assert np.isfinite(found.total).all()
        assert np.isfinite(found.intensity).all()


def _tried(read, *arguments):
    """Whether the bytes were read."""
    try:
        found = read(*arguments)
    except InputError as refused:
        assert refused.faults
        for fault in refused.faults:
            line = fault.line()
            assert line.isprintable(), line
            assert len(line) < 2500
        return False
    _sound(found)
    return True


def _read_all(importer, file):
    """Whether a trace or scans came out."""
    trace = _tried(importer.read, file, ENTRY)
    return isinstance(importer, ScanImporter) and _tried(importer.read_scans, file) or trace


def by_content(content):
    """As `cutbook check FILE` and a run do it: packed or not, by its first bytes."""
    if content.startswith(b"\x1f\x8b"):
        try:
            content = unpacked(content, 2**20)
        except DamagedError as refused:
            assert "\n" not in str(refused)
            return False
    file = _file(content or b" ")
    try:
        importer = importer_of(file)
    except InputError as refused:
        assert "\n" not in str(refused)
        return False
    return _read_all(importer, file)


def _of(importer):
    def target(content):
        return _read_all(importer, _file(content))

    return target


def workbook_parts(content):
    """A workbook whose sheet, strings and styles are the input, since no chance finds the checksums of an archive."""
    parts = content.split(b"\0\0PART\0\0")
    buffer = io.BytesIO()
    with zipfile.ZipFile(buffer, "w", zipfile.ZIP_STORED) as archive:
        for name, part in zip(WORKBOOK_PARTS, [*parts, *([b""] * len(WORKBOOK_PARTS))], strict=False):
            if part:
                archive.writestr(name, part)
    return _read_all(workbook_columns, _file(buffer.getvalue()))


def still_log(content):
    """A log, and the curve that would be made of it: whatever a log holds, its curve must not fail."""
    file = _file(content or b" ")
    for entry in STILLS:
        try:
            log = read_still_log(file, entry)
        except InputError as refused:
            assert all(fault.line().isprintable() for fault in refused.faults)
            return False
        numbers = [value for one in log.readings for value in (one.head_c, one.volume_ml, one.mass_g, one.pressure_kpa)]
        assert np.isfinite([value for value in numbers if value is not None]).all()
        curve = still_curve("oil", log, entry, OIL, Source("run.toml", "0" * 64), SCHEMES)
        still_properties(curve)
    return True


def gas_table(content):
    """A table, and the product gas and heating value that would be made of it: whatever it holds, they must not fail."""
    try:
        table = read_gas_table(_file(content or b" "), "[[gas_analysis]] 1", component_named, tuple(substances()), {})
        analysed = gas_composition(table, "", "gas")
        gas = product_gas(analysed, "", "gas")
    except InputError as refused:
        assert all(fault.line().isprintable() for fault in refused.faults)
        return False
    assert np.isfinite([nominal(share) for share in gas.shares.values()]).all()
    assert abs(sum(nominal(share) for share in gas.shares.values()) - 1) < 1e-9
    assert np.isfinite(gas_properties(gas.shares, "gas", gas.step).gross.value)
    return True


def gas_meter(content):
    """A meter log, and what would be counted from it: whatever it holds, counting gives a figure or a refusal."""
    try:
        log = read_meter_log(_file(content or b" "), {})
        counted = metered_gas(log, METER, Source("run.toml", "0" * 64))
    except InputError as refused:
        assert all(fault.line().isprintable() for fault in refused.faults)
        return False
    assert np.isfinite(counted.passed.value)
    assert np.isfinite(counted.passed.u)
    passed_between(counted, [-math.inf, 10.0, math.inf])
    return True


METER = MeterEntry("gas", "[[gas_meter]] 1", parse_quantity("19 °C", "temperature", "", ""),
                   parse_quantity("100 kPa", "pressure", "", ""), None, None)  # fmt: skip
OIL = Product("oil", "[[product]] 1", density=parse_quantity("0.79 g/mL", "density", "", ""))
SCHEMES = [(name, one) for name, one in chosen_schemes(CutSettings()).shown if one.kind == "boiling range"]
STILLS = (
    DistillationEntry("input", "[[distillation]] 1", "oil"),
    DistillationEntry("input", "[[distillation]] 1", "oil", "standard-test", thermometer_lag=parse_quantity(
        "20 s", "time", "", ""), emergent_stem_c=50.0, stem_temperature=parse_quantity("30 °C", "temperature", "", ""),
        charge_mass=parse_quantity("250 g", "mass", "", "")),
)  # fmt: skip
WORKBOOK_PARTS = (
    "xl/worksheets/sheet1.xml", "xl/sharedStrings.xml", "xl/workbook.xml", "xl/styles.xml", "[Content_Types].xml",
    "_rels/.rels", "xl/_rels/workbook.xml.rels",
)  # fmt: skip

_FOLDER = Path(tempfile.mkdtemp(prefix="fuzz-", dir="/dev/shm" if Path("/dev/shm").is_dir() else None))
atexit.register(shutil.rmtree, _FOLDER, ignore_errors=True)
(_FOLDER / "traces").mkdir()
(_FOLDER / "traces" / "oil.csv").write_text("time (min)\tFID\n", encoding="utf-8")


def run_sheet(content):
    (_FOLDER / "run.toml").write_bytes(content)
    try:
        run = read_run(_FOLDER)
    except InputError as refused:
        for fault in refused.faults:
            assert fault.line().isprintable()
        return False
    for entry in run.traces:
        for name in (entry.file, entry.ladder, entry.blank):
            assert (_FOLDER / name).resolve().is_relative_to(_FOLDER.resolve())
    return True


def plan(content):
    (_FOLDER / "plan.json").write_bytes(content)
    try:
        found = read_plan(_FOLDER, "plan.json")
    except InputError as refused:
        for fault in refused.faults:
            assert fault.line().isprintable()
        return False
    assert np.isfinite([point.equivalent_c for point in found.points]).all()
    return True


def settings(content):
    (_FOLDER / "method.toml").write_bytes(content)
    try:
        read_method(_FOLDER)
    except InputError as refused:
        for fault in refused.faults:
            assert fault.line().isprintable()
        return False
    return True


def quantities(content):
    text = content.decode("utf-8", "replace")
    for dimension in ("mass", "volume", "temperature", "pressure", "fraction", "time", "density"):
        try:
            parse_quantity(text, dimension, "run.toml", "x")
        except InputError as refused:
            assert all(fault.line().isprintable() for fault in refused.faults)
    parse_factor(text)


def lone_spectrum(content):
    """A spectrum without a time, and what is told of its halogens and its formula, which must be plain JSON."""
    try:
        file = _file(content or b" ")
        found = jcamp_dx.lone_spectrum(file) if jcamp_dx.recognises(file.content[:4096]) else read_spectrum_table(file)
    except InputError as refused:
        assert all(fault.line().isprintable() for fault in refused.faults)
        return False
    if found is None:
        return False
    json.dumps([halogen_record(found), against_formula(found)], allow_nan=False)
    return True


TARGETS = {
    "by-content": by_content,
    "andi": _of(andi),
    "mzml": _of(mzml),
    "mzxml": _of(mzxml),
    "jcamp-dx": _of(jcamp_dx),
    "lone-spectrum": lone_spectrum,
    "text": _of(text_columns),
    "workbook": _of(workbook_columns),
    "workbook-parts": workbook_parts,
    "still-log": still_log,
    "gas-table": gas_table,
    "gas-meter": gas_meter,
    "plan": plan,
    "run-sheet": run_sheet,
    "settings": settings,
    "quantities": quantities,
}
