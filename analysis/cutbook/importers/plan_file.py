"""Read back a plan that was made before a distillation, from its plan.json."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any

from cutbook.model.errors import InputError
from cutbook.model.lineage import Source
from cutbook.model.plan import PlannedShare, PlanOnPaper, PlanPoint

PLAN_NAME = "plan.json"
PLAN = f"plan/{PLAN_NAME}"
"""Where a plan lies in a run folder."""
SCHEMA = 1
"""Of plan.json, as it is written and read."""
_LARGEST = 4_000_000  # bytes; a plan has some hundred
_MOST_POINTS = 20_000
_DO = "Make the plan again with `cutbook plan`."


def read_plan(folder: Path, name: str = PLAN) -> PlanOnPaper:
    """A plan as far as a log is held against it.

    Parameters
    ----------
    folder : of the run. name : of the plan in it.

    Raises
    ------
    InputError
        When the file cannot be read, is no plan of this program, or holds numbers that cannot be: shares outside 0 to
        100 %, temperatures or pressures that are none, amounts that go back.
    """
    reader = _Reader(name)
    record, sha256 = reader.opened(folder / name)
    about = reader.table(record, "plan")
    points = [reader.point(entry, f"course {n}") for n, entry in enumerate(reader.rows(record, "course"), 1)]
    if len(points) < 2:
        raise reader.refused("course", f"{len(points)} points", "two at least")
    for number, (one, two) in enumerate(zip(points, points[1:], strict=False), 2):
        if two.distillate < one.distillate - 1e-6:
            found = f"{two.distillate:g} % after {one.distillate:g} %"
            raise reader.refused(f"course {number}, percent", found, "amounts that rise")
    shares = []
    for number, entry in enumerate(reader.rows(record, "cuts"), 1):
        place = f"cuts {number}"
        if not isinstance(entry, Mapping):
            raise reader.refused(place, _shown(entry), "a table")
        if entry.get("share") is None:
            continue
        share = reader.table(entry, "share", place)
        shares.append(
            PlannedShare(
                reader.text(entry, "cut", place),
                reader.number(share, "value", f"{place}, share", -1.0, 101.0),
                reader.number(share, "u", f"{place}, share", 0.0, 100.0),
            )
        )
    return PlanOnPaper(
        Source(name, sha256),
        reader.text(about, "of", "plan"),
        reader.text(about, "scheme", "plan"),
        tuple(points),
        tuple(shares),
    )


class _Reader:
    """Takes values out of a plan, each held against what it may be."""

    def __init__(self, file: str) -> None:
        self.file = file

    def refused(self, place: str, found: str, expected: str) -> InputError:
        """The error about one place."""
        return InputError.single(self.file, place, found, expected, _DO)

    def opened(self, path: Path) -> tuple[Mapping[str, Any], str]:
        """The whole record, and the hash of its file."""
        try:
            if not path.is_file():
                raise self.refused("", "no ordinary file" if path.exists() else "no such file", "a plan.json")
            with path.open("rb") as stream:
                data = stream.read(_LARGEST + 1)
        except OSError as error:
            raise self.refused("", error.strerror or type(error).__name__, "a file that can be read") from error
        if len(data) > _LARGEST:
            raise self.refused("", f"more than {_LARGEST} bytes", "a plan.json")
        try:
            record = json.loads(data.decode("utf-8"), parse_constant=_no_number)
        except (ValueError, RecursionError) as error:
            raise self.refused("", "no JSON text", "a plan.json") from error
        if not isinstance(record, dict) or "cutbook" not in record or "plan" not in record:
            raise self.refused("", "JSON of something else", "a plan.json of this program")
        if record.get("schema") != SCHEMA:
            raise self.refused("schema", _shown(record.get("schema")), f"{SCHEMA}")
        return record, hashlib.sha256(data).hexdigest()

    def table(self, record: Mapping[str, Any], key: str, place: str = "") -> Mapping[str, Any]:
        """A table under a key."""
        value = record.get(key)
        if not isinstance(value, dict):
            raise self.refused(f"{place}, {key}" if place else key, _shown(value), "a table")
        return value

    def rows(self, record: Mapping[str, Any], key: str) -> Sequence[Any]:
        """A list under a key."""
        value = record.get(key)
        if not isinstance(value, list) or len(value) > _MOST_POINTS:
            raise self.refused(key, _shown(value), "a list")
        return value

    def text(self, record: Mapping[str, Any], key: str, place: str) -> str:
        """A text that is not empty."""
        value = record.get(key)
        if not isinstance(value, str) or not value or len(value) > 200:
            raise self.refused(f"{place}, {key}", _shown(value), "a text")
        return value

    def number(self, record: Mapping[str, Any], key: str, place: str, low: float, high: float) -> float:
        """A finite number within limits."""
        value = record.get(key)
        if isinstance(value, bool) or not isinstance(value, (int, float)):
            raise self.refused(f"{place}, {key}", _shown(value), "a number")
        if not low <= value <= high:
            raise self.refused(f"{place}, {key}", _shown(value), f"{low:g} to {high:g}")
        return float(value)

    def point(self, entry: Any, place: str) -> PlanPoint:
        """One point of the course."""
        if not isinstance(entry, dict):
            raise self.refused(place, _shown(entry), "a table")
        return PlanPoint(
            self.number(entry, "percent", place, -0.01, 100.01),
            self.number(entry, "head_c", place, -100.0, 900.0),
            self.number(entry, "equivalent_c", place, -200.0, 1000.0),
            self.number(entry, "pot_c", place, -100.0, 900.0),
            self.number(entry, "pressure_kpa", place, 1e-6, 1000.0),
            self.text(entry, "receiver", place),
            int(self.number(entry, "stage", place, 1.0, 1000.0)),
        )


def _no_number(text: str) -> float:
    raise ValueError(f"{text} is no number")


def _shown(value: Any) -> str:
    return "nothing" if value is None else f"{value!r}"[:80]
