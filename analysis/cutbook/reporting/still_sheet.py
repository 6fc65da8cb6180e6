"""Lay out the sheet Still log: what was written down, what follows from it, and what was repaired."""

from __future__ import annotations

from cutbook.fractions.equivalent_temperature import barometric_correction_c
from cutbook.model.result import Result
from cutbook.model.tables import reference
from cutbook.reporting.agreement_words import agreement_sentence, conversion_label, what_settles_it
from cutbook.reporting.page_still import BALANCE, HEADLINE
from cutbook.reporting.property_names import property_names
from cutbook.reporting.repair_names import repair_names, together
from cutbook.reporting.sheet_writer import Sheet, digits_of
from cutbook.workup.findings import DistillationFindings, Findings

_NO_DISTILLATION = "no distillation in the run sheet"
_READINGS = (
    ("time", "time_min", 1), ("pot", "pot_c", 1), ("head_read", "head_c", 1), ("volume", "volume_ml", 1),
    ("percent", "volume_percent", 1), ("mass", "mass_g", 2), ("kpa", "pressure_kpa", 2),
)  # fmt: skip


def write_still_logs(sheet: Sheet, findings: Findings) -> None:
    """One block a distillation: charge, rows, totals, cuts, temperatures, agreement with trace and plan, repairs."""
    if not findings.distillations:
        sheet.text(sheet.row, 0, _NO_DISTILLATION, "quiet")
        return
    constants = _constants(sheet)
    for still in findings.distillations:
        sheet.caption(f"{still.name}: {still.curve.log.file}")
        charge = _charge(sheet, still)
        _rows(sheet, still, charge, constants)
        _totals(sheet, still)
        _agreement(sheet, still)
        _plan(sheet, still)
        _repairs(sheet, still)


def _constants(sheet: Sheet) -> dict[str, str]:
    """The constants of the barometric correction with the addresses of their cells."""
    found = {}
    for row in reference("barometric_correction").rows[:3]:
        sheet.text(sheet.row, 0, f"barometric correction, {row['constant']}", "quiet")
        form = sheet.formats.get("input", align="right")
        sheet.page.write_number(sheet.row, 1, float(row["value"]), form)
        found[row["constant"]] = f"$B${sheet.row + 1}"
        sheet.row += 1
    return found


def _charge(sheet: Sheet, still: DistillationFindings) -> dict[str, tuple[str, float]]:
    """Mass and volume of the charge with the addresses of their cells."""
    found = {}
    for key, entered in (("mass", still.entry.charge_mass), ("volume", still.entry.charge_volume)):
        if entered is None:
            continue
        sheet.text(sheet.row, 0, f"charge ({entered.unit})", "quiet")
        sheet.page.write_number(sheet.row, 1, entered.value, sheet.formats.get("input", align="right"))
        found[key] = (f"$B${sheet.row + 1}", entered.value)
        sheet.row += 1
    return found


def _rows(
    sheet: Sheet, still: DistillationFindings, charge: dict[str, tuple[str, float]], constants: dict[str, str]
) -> None:
    sheet.head(sheet.about["columns"])
    curve = still.curve
    for point, reading in zip(curve.points, curve.log.readings, strict=True):
        sheet.say("place", point.place)
        for key, name, digits in _READINGS:
            sheet.number(key, getattr(reading, name), digits, "input")
        sheet.say("receiver", reading.receiver)
        sheet.say("text", reading.note)
        for key, result, raw in (
            ("mass_recovered", point.mass_recovered, "mass"), ("volume_recovered", point.volume_recovered, "volume"),
        ):  # fmt: skip
            value = reading.mass_g if raw == "mass" else reading.volume_ml
            share, cell = None, ""
            if value is not None and raw in charge:
                cell, whole = charge[raw]
                share = 100.0 * value / whole
            sheet.worked(key, f"100*{sheet.ref(raw)}/{cell}", share, result.value, digits_of(result))
            sheet.number(f"u_{key}", result.u, digits_of(result) + 1)
        head = point.head_temperature
        sheet.number("head", head.value, 1)
        sheet.number("u_head", head.u, 2)
        _equivalent(sheet, point.equivalent_temperature, head.value, point.pressure.value, reading.pressure_kpa,
                    constants)  # fmt: skip
        sheet.number("pressure", point.pressure.value, 2)
        sheet.say("step", point.equivalent_temperature.step.id, "quiet")
        sheet.row += 1


def _equivalent(
    sheet: Sheet, found: Result, head: float | None, pressure: float | None, read_kpa: float | None,
    constants: dict[str, str],
) -> None:  # fmt: skip
    """A formula where the barometric correction was used and the pressure stands in the row."""
    value = None
    if head is not None and pressure is not None:
        value = head + barometric_correction_c(head, pressure)
    t, p = sheet.ref("head"), sheet.ref("pressure")
    formula = f"{t}+{constants['factor']}*({constants['standard']}-{p})*({constants['zero']}+{t})"
    sheet.worked("equivalent", formula, value, found.value, 1)
    sheet.number("u_equivalent", found.u, 2)


def _totals(sheet: Sheet, still: DistillationFindings) -> None:
    curve = still.curve
    sheet.row += 1
    sheet.head(sheet.about["totals"], widths=False)
    of_charge = f"% of the charge, by {curve.basis}"
    by_volume = "% of the charge, by volume"
    whole = (curve.recovered, curve.residue, curve.loss)
    lines = [(name, one, of_charge) for name, one in zip(BALANCE, whole, strict=True)]
    lines += [(name, one, by_volume) for name, one in zip(BALANCE, curve.by_volume or (), strict=False)]
    for cuts, unit in ((curve.cuts, of_charge), (curve.cuts_by_volume, by_volume)):
        lines += [(f"{cut.cut} {cut.limits}", cut.mass, unit) for cut in cuts if cut.scheme == HEADLINE]
    for cuts, unit in ((curve.receivers, of_charge), (curve.receivers_by_volume, by_volume)):
        lines += [(f"receiver {cut.cut} {cut.limits}", cut.mass, unit) for cut in cuts]
    lines += [(property_names()[one.name], one.result, one.result.unit) for one in still.properties]
    for name, result, unit in lines:
        sheet.say("name", name)
        sheet.stated(result, unit)
        row, col = sheet.place("reason")
        sheet.text(row, col, sheet.why(result), "quiet")  # runs on over the empty cells to its right
        sheet.row += 1


def _agreement(sheet: Sheet, still: DistillationFindings) -> None:
    found = still.agreement
    if found is None:
        return
    sheet.row += 1
    sheet.text(sheet.row, 0, agreement_sentence(found), bold=True)
    sheet.row += 1
    for line in (*what_settles_it(found), "; ".join(conversion_label(found))):
        sheet.text(sheet.row, 0, line, "quiet")
        sheet.row += 1
    if not found.points:
        return
    sheet.head(sheet.about["agreement"], widths=False)
    for point in found.points:
        sheet.say("name", f"{point.recovered:g} % recovered, by {found.axis}")
        for key, result in (("still", point.still), ("trace", point.trace)):
            sheet.number(key, result.value, 1)
            sheet.number(f"u_{key}", result.u, 2)
        apart = None
        if point.still.value is not None and point.trace.value is not None:
            apart = point.still.value - point.trace.value
        sheet.worked("difference", f"{sheet.ref('still')}-{sheet.ref('trace')}", apart, point.difference.value, 1)
        sheet.number("u_difference", point.difference.u, 2)
        sheet.row += 1


def _plan(sheet: Sheet, still: DistillationFindings) -> None:
    if still.plan is None:
        return
    sheet.row += 1
    sheet.head(sheet.about["plan"], widths=False)
    for cut in still.plan.cuts:
        sheet.say("name", f"{cut.cut} (% of the charge)")
        sheet.number("planned", cut.planned, 1)
        sheet.number("found", cut.found.value, 1)
        apart = None if cut.found.value is None else cut.found.value - cut.planned
        sheet.worked("difference", f"{sheet.ref('found')}-{sheet.ref('planned')}", apart, cut.difference.value, 1)
        sheet.number("u_difference", cut.difference.u, 2)
        sheet.row += 1
    for head in still.plan.heads:
        sheet.say("name", f"head at {head.place} (°C)")
        sheet.number("planned", head.planned_c, 1)
        sheet.number("found", head.found_c, 1)
        sheet.worked("difference", f"{sheet.ref('found')}-{sheet.ref('planned')}", head.found_c - head.planned_c,
                     head.difference_c, 1)  # fmt: skip
        sheet.row += 1


def _repairs(sheet: Sheet, still: DistillationFindings) -> None:
    repairs = still.curve.log.repairs
    sheet.row += 1
    if not repairs:
        sheet.text(sheet.row, 0, "every line of the log was taken as it stands", "quiet")
        sheet.row += 1
        return
    sheet.head(sheet.about["repairs"], widths=False)
    for repair in together(repairs):
        sheet.say("place", repair.place)
        sheet.say("column", repair.column)
        sheet.say("found", repair.found)
        sheet.say("read_as", repair.read_as)
        sheet.say("what", repair_names()[repair.kind], "quiet")
        sheet.row += 1
