"""Lay out the sheet Gas."""

from __future__ import annotations

from cutbook.gas.substances import substances
from cutbook.model.amount import nominal
from cutbook.model.result import Result
from cutbook.reporting.gas_words import gas_figures
from cutbook.reporting.repair_names import repair_names
from cutbook.reporting.sheet_writer import Sheet, definitions, digits_of
from cutbook.workup.findings import Findings
from cutbook.workup.gas_findings import GasFindings, GasShare


def write_gas(sheet: Sheet, findings: Findings) -> None:
    """Composition with its sums as formulas, then the figures, then every reference state; nothing without a gas."""
    sheet.head(sheet.about["columns"], freeze=True)
    gas = findings.gas
    if gas is None:
        sheet.say("name", "no gas was analysed", "quiet")
        sheet.row += 1
        return
    _composition(sheet, gas)
    sheet.caption("Figures of the product gas")
    sheet.head(definitions()["gas_figures"]["columns"], widths=False)
    for name, state, result in gas_figures(gas):
        sheet.figure(name, state, result)
    _peaks(sheet, gas)
    _meter(sheet, gas)
    sheet.caption("By volume at every reference state of ISO 6976:2016")
    sheet.head(definitions()["gas_states"]["columns"], widths=False)
    for one in gas.properties.volumetric:
        sheet.say("name", one.reference)
        for key in ("gross", "net", "wobbe", "wobbe_net", "density", "relative", "factor"):
            found: Result = getattr(one, {"relative": "relative_density", "factor": "compression_factor"}.get(key, key))
            sheet.number(key, found.value, max(2, digits_of(found)))
        sheet.row += 1


def _composition(sheet: Sheet, gas: GasFindings) -> None:
    """Components, then Σ x M, Σ x H and the sum of shares as formulas over their columns."""
    first = sheet.row
    known = substances()
    seen = [one for one in gas.composition if one.mole.value is not None]
    for one in seen:
        substance = known[one.component]
        sheet.say("name", one.component)
        sheet.number("mole", one.mole.value, digits_of(one.mole))
        sheet.number("u_mole", one.mole.u, digits_of(one.mole) + 1)
        sheet.number("mass", one.mass.value, digits_of(one.mass))
        sheet.number("u_mass", one.mass.u, digits_of(one.mass) + 1)
        sheet.number("molar_mass", nominal(substance.molar_mass), 3, "input")
        sheet.number("gross", nominal(substance.gross[15.0]), 2, "input")
        sheet.say("step", one.mole.step.id, "quiet")
        sheet.row += 1
    last = sheet.row - 1
    sheet.say("name", "sum, mean", bold=True)
    span = {key: f"{sheet.ref(key, first)}:{sheet.ref(key, last)}" for key in ("mole", "mass", "molar_mass", "gross")}
    for key in ("mole", "mass"):
        amount = sum(getattr(one, key).value or 0.0 for one in seen)
        sheet.worked(key, f"SUM({span[key]})", amount, amount, 2, bold=True)
    for key, found in (("molar_mass", gas.properties.molar_mass), ("gross", gas.properties.gross_molar)):
        value = sum(
            (one.mole.value or 0.0)
            * nominal(known[one.component].molar_mass if key == "molar_mass" else known[one.component].gross[15.0])
            for one in seen
        )
        sheet.worked(key, f"SUMPRODUCT({span['mole']},{span[key]})/100", value / 100, found.value, 3, bold=True)
    sheet.say("reason", "mean molar mass and gross calorific value by mole, from the shares", "quiet")
    sheet.row += 1
    for one in gas.composition:
        if one.mole.value is None:
            _not_seen(sheet, one)


_HOW = {"standard": "gas standard", "relative": "relative, from {reference}", "none": "none"}


def _peaks(sheet: Sheet, gas: GasFindings) -> None:
    """Every peak of the gas traces: its raw share is its area over the response beside it."""
    if not gas.traced:
        return
    about = definitions()["gas_peaks"]
    sheet.caption(about["title"])
    sheet.head(about["columns"], widths=False)
    for traced in gas.traced:
        responses = {one.detector: one.responses for one in traced.readings}
        for one in traced.signals:
            response = responses[one.detector].get(one.component) if one.share.value is not None else None
            sheet.say("name", one.component)
            sheet.number("apex_min", one.apex_min, 3)
            sheet.number("area", one.area, 4)
            if response is not None:
                per_percent = nominal(response.amount) / 100
                sheet.number("response", per_percent, 4, "input")
                formula = f"{sheet.ref('area')}/{sheet.ref('response')}"
                sheet.worked("mole", formula, one.area / per_percent, one.share.value, digits_of(one.share))
                sheet.number("u_mole", one.share.u, digits_of(one.share) + 1)
            told = _HOW[one.how].format(reference="" if response is None else response.reference)
            left = "" if one.taken or response is None else "; taken from the other detector"
            sheet.say("text", one.file)
            sheet.say("reason", f"{told}{left}", "quiet")
            sheet.say("step", one.share.step.id, "quiet")
            sheet.row += 1


def _meter(sheet: Sheet, gas: GasFindings) -> None:
    """What passed from reading to reading, with its sum as a formula; then what was repaired."""
    if gas.meter is None:
        return
    about = definitions()["gas_meter"]
    sheet.caption(about["title"])
    sheet.head(about["columns"], widths=False)
    repaired: dict[str, list[str]] = {}
    for repair in gas.meter.repairs:
        repaired.setdefault(repair.place, []).append(f"{repair.found} {repair_names()[repair.kind]}".strip())
    first = sheet.row
    for part in gas.meter.parts:
        sheet.say("name", part.place)
        sheet.number("start_min", part.start_min, 1)
        sheet.number("end_min", part.end_min, 1)
        sheet.number("volume", nominal(part.volume_ml) / 1000, 3)
        sheet.number("pot", nominal(part.temperature_c), 2)
        sheet.number("kpa", nominal(part.pressure_kpa), 2)
        sheet.say("reason", "; ".join(repaired.pop(part.place, [])), "quiet")
        sheet.row += 1
    sheet.say("name", "sum", bold=True)
    value = sum(nominal(part.volume_ml) for part in gas.meter.parts) / 1000
    span = f"{sheet.ref('volume', first)}:{sheet.ref('volume', sheet.row - 1)}"
    sheet.worked("volume", f"SUM({span})", value, gas.meter.passed.value, 2, bold=True)
    sheet.row += 1
    for place, told in repaired.items():
        sheet.say("name", place or "whole log")
        sheet.say("reason", "; ".join(told), "quiet")
        sheet.row += 1


def _not_seen(sheet: Sheet, one: GasShare) -> None:
    sheet.say("name", one.component)
    limit = one.mole.limit
    told = f"below {limit:.3g} mole %" if limit is not None else sheet.why(one.mole)
    sheet.say("reason", told, "quiet")
    sheet.row += 1
