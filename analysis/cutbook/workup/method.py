"""All settings of a work-up in one record."""

from __future__ import annotations

from dataclasses import dataclass

from cutbook.balance.mass_balance import BalanceSettings
from cutbook.identification.ladder import LadderSettings
from cutbook.identification.system_check import SystemCheckSettings


@dataclass(frozen=True)
class Method:
    """How a run is worked up; every part is described beside the function that obeys it."""

    ladder: LadderSettings = LadderSettings()
    system_check: SystemCheckSettings = SystemCheckSettings()
    balance: BalanceSettings = BalanceSettings()
