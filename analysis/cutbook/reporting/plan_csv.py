"""Write the cuts of a planned distillation as a text table that cannot run in a spreadsheet."""

from __future__ import annotations

import csv
import io
import math

from cutbook.model.plan import FractionationPlan
from cutbook.model.result import Result
from cutbook.reporting.numbers import AS_WRITTEN, COVERAGE_FACTOR, OutputSettings, figure, places
from cutbook.reporting.peaks_csv import text_cell

HEAD = (
    "cut", "limits", "kept", "mass_g", "mass_U", "share_percent", "share_U", "purity_percent", "purity_U",
    "recovery_percent", "recovery_U", "from_percent_over", "to_percent_over", "change_at_head_c", "pressure_kpa",
    "head_at_101.325_kpa_c", "pot_then_c",
)  # fmt: skip

CHLORINE = (
    "chlorine_mg_kg", "chlorine_U", "chlorine_at_least_mg_kg", "chlorine_at_most_mg_kg",
    "chlorine_by_boiling_point_mg_kg", "chlorinated_compounds",
)  # fmt: skip
"""Of each cut by the simulated still, and its best figure by boiling point alone."""


def plan_csv(plan: FractionationPlan, settings: OutputSettings = AS_WRITTEN) -> str:
    """plan.csv as text: one line a cut, in the order in which they come over, the residue last.

    UTF-8, comma and decimal point, or semicolon and decimal comma. U at k = 2. After the columns of `HEAD` two for each
    compound: how much of it is in the cut, in %, and U of that; then its content of the cut where its amount is known.
    Those of `CHLORINE` where the product was screened. Empty: not determined.
    """
    comma = settings.decimal == "comma"
    buffer = io.StringIO()
    writer = csv.writer(buffer, delimiter=";" if comma else ",", lineterminator="\n")
    head = list(HEAD)
    for fate in plan.compounds:
        head += [f"of_{fate.name}_percent", f"of_{fate.name}_U"]
        head += [f"content_of_{fate.name}_percent"] if fate.contents else []
    head += CHLORINE if plan.chlorine else ()
    writer.writerow([text_cell(cell) for cell in head])

    def plain(value: float | None, digits: int) -> str:
        if value is None or not math.isfinite(value):
            return ""
        return figure(value, digits, settings).replace("\N{MINUS SIGN}", "-")

    def both(result: Result) -> list[str]:
        if result.value is None:
            return ["", ""]
        wide = COVERAGE_FACTOR * (result.u or 0.0)
        digits = places(result.value, wide or None, result.unit)
        return [plain(result.value, digits), plain(wide, digits) if wide else ""]

    for number, cut in enumerate(plan.cuts):
        first, last = cut.first, cut.last
        row = [
            text_cell(cut.cut), text_cell(cut.limits), "yes" if cut.kept else "no",
            *both(cut.mass), *both(cut.share), *both(cut.purity), *both(cut.recovery),
            plain(first.distillate if first else None, 1), plain(last.distillate if last else None, 1),
            plain(last.head_c if last else None, 1), plain(last.pressure_kpa if last else None, 3),
            plain(last.equivalent_c if last else None, 1), plain(last.pot_c if last else None, 1),
        ]  # fmt: skip
        for fate in plan.compounds:
            row += both(fate.shares[number][1])
            if fate.contents:
                content = dict(fate.contents).get(cut.cut)
                row += both(content)[:1] if content is not None else [""]
        if plan.chlorine:
            still, boiling = plan.chlorine_of(cut.cut)
            row += ["", "", "", ""] if still is None else [
                *both(still.best), *both(still.lower)[:1], *both(still.upper)[:1]
            ]  # fmt: skip
            row += [""] if boiling is None else both(boiling.best)[:1]
            row.append("" if still is None else text_cell("; ".join(still.compounds)))
        writer.writerow(row)
    return buffer.getvalue()
