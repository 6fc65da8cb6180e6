"""Runs whose elements are looked at, from dictionaries of the keys of a run sheet."""

import json
from pathlib import Path

from cutbook.importers.run_sheet import read_run
from cutbook.workup.work_up import work_up

EXAMPLES = Path(__file__).resolve().parents[2] / "examples"


C, H, OX, N, CL = 12.011, 1.008, 15.999, 14.007, 35.45


"""Conventional atomic masses (IUPAC 2021)."""


PE = 2 * H / (C + 2 * H)


WATER = 2 * H / (2 * H + OX)


SCRUBBER = """
[[scrubber]]
solution_volume = "1.000 L"
aliquot = "25.00 mL"
titrant = "0.1000 mol/L"
titre = ["18.32 mL", "18.28 mL", "18.35 mL"]
blank = "0.05 mL"
method = "{method}"
"""


def a_run(folder, feeds=None, products=None, more="", files=None):
    """A run of feeds and products, each a dictionary of keys of the run sheet."""
    folder.mkdir(exist_ok=True)

    def tables(name, rows):
        lines = []
        for row in rows:
            lines += [f"[[{name}]]"]
            lines += [f"{k} = {str(v).lower() if isinstance(v, bool) else json.dumps(v)}" for k, v in row.items()]
        return "\n".join(lines) + "\n"

    feeds = feeds or [{"material": "PE", "mass": "100.0 ± 0.1 g"}]
    products = products or [{"fraction": "oil", "mass": "100.0 ± 0.1 g"}]
    text = '[run]\nid = "E-1"\n' + tables("feed", feeds) + tables("product", products) + more
    (folder / "run.toml").write_text(text, encoding="utf-8")
    for name, content in (files or {}).items():
        (folder / name).write_text(content, encoding="utf-8")
    return read_run(folder)


def found(tmp_path, **what):
    return work_up(a_run(tmp_path / "run", **what))


def share(findings, name, element):
    stream = next(one for one in findings.elements.balance.streams if one.name == name)
    held = stream.elements[element].share
    return held if held is None or isinstance(held, float) else held.nominal_value


def codes(findings):
    return {one.code for one in findings.cautions}
