"""Turn what a small-batch plastic pyrolysis run left behind into answers that can be checked.

>>> import cutbook
>>> findings = cutbook.work_up(cutbook.read_run("runs/LB-03"))     # doctest: +SKIP
>>> findings.named()["cuts.carbon-number.gasoline.yield"].value    # doctest: +SKIP
>>> findings.table("carbon_numbers")                               # doctest: +SKIP
>>> cutbook.publish(findings, "runs/LB-03/results")                # doctest: +SKIP
"""

from __future__ import annotations

from importlib import import_module
from typing import TYPE_CHECKING, Any

__version__ = "0.1.0"

_HOMES = {
    "Findings": "cutbook.workup.findings",
    "InputError": "cutbook.model.errors",
    "Method": "cutbook.workup.method",
    "Result": "cutbook.model.result",
    "Run": "cutbook.model.run",
    "explain": "cutbook.reporting.explanation",
    "publish": "cutbook.reporting.publish",
    "read_method": "cutbook.workup.read_method",
    "read_run": "cutbook.importers.run_sheet",
    "work_up": "cutbook.workup.work_up",
}
__all__ = [
    "Findings",
    "InputError",
    "Method",
    "Result",
    "Run",
    "explain",
    "publish",
    "read_method",
    "read_run",
    "work_up",
]

if TYPE_CHECKING:
    from cutbook.importers.run_sheet import read_run
    from cutbook.model.errors import InputError
    from cutbook.model.result import Result
    from cutbook.model.run import Run
    from cutbook.reporting.explanation import explain
    from cutbook.reporting.publish import publish
    from cutbook.workup.findings import Findings
    from cutbook.workup.method import Method
    from cutbook.workup.read_method import read_method
    from cutbook.workup.work_up import work_up


def __getattr__(name: str) -> Any:
    """Import what is asked for when it is asked for, so that `import cutbook` costs next to nothing."""
    if name in _HOMES:
        return getattr(import_module(_HOMES[name]), name)
    raise AttributeError(f"module 'cutbook' has no attribute '{name}'")


def __dir__() -> list[str]:
    """The public names."""
    return [*__all__, "__version__"]
