"""Put a planned distillation into a folder, whole or not at all."""

from __future__ import annotations

from pathlib import Path

from cutbook.importers.plan_file import PLAN_NAME
from cutbook.model.plan import FractionationPlan
from cutbook.model.run import Run
from cutbook.reporting.numbers import AS_WRITTEN, OutputSettings
from cutbook.reporting.plan_csv import plan_csv
from cutbook.reporting.plan_figure import plan_figure
from cutbook.reporting.plan_json import plan_record
from cutbook.reporting.publish import put_files
from cutbook.reporting.results_folder import PLAN_FOLDER
from cutbook.reporting.results_json import as_text


def publish_plan(
    plan: FractionationPlan, run: Run, out: Path | str, settings: OutputSettings = AS_WRITTEN
) -> dict[str, Path]:
    """Write plan.json, plan.csv and figures/plan.svg into the folder `out`, in place of a former plan.

    Parameters
    ----------
    plan : of a product of `run`. out : the folder; made when missing. settings : decimal sign.

    Returns
    -------
    dict
        File name -> path.

    Raises
    ------
    InputError
        When `out` is a link, a file, the run folder or one above it, holds something that is not a former plan, or
        cannot be written.
    """
    return put_files(
        out,
        run.folder,
        PLAN_FOLDER,
        lambda: {
            PLAN_NAME: as_text(plan_record(plan, run.id)).encode("utf-8"),
            "plan.csv": plan_csv(plan, settings).encode("utf-8"),
            "figures/plan.svg": plan_figure(plan, settings).encode("utf-8"),
        },
    )
