"""The house keeps its own rules."""

import ast
import tomllib
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]
PYPROJECT = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))
CODE = sorted((ROOT / "analysis" / "cutbook").rglob("*.py"))


def test_every_folder_of_code_is_in_packages():
    # a folder missing there works in an editable install and is silently left out of the wheel
    folders = {".".join(path.parent.relative_to(ROOT / "analysis").parts) for path in CODE}
    assert folders | {"cutbook.reference", "cutbook.reports", "cutbook.examples"} == set(
        PYPROJECT["tool"]["setuptools"]["packages"]
    )


@pytest.mark.parametrize("folder", ["reference", "reports", "examples"])
def test_every_data_file_is_covered_by_the_globs(folder):
    globs = PYPROJECT["tool"]["setuptools"]["package-data"][f"cutbook.{folder}"]
    covered = {path for pattern in globs for path in (ROOT / folder).glob(pattern)}
    data = {
        path
        for path in (ROOT / folder).rglob("*")
        if path.is_file()
        and path.suffix not in (".py", ".pyc")
        and not {"__pycache__", "generator", "results"} & set(path.relative_to(ROOT).parts)
    }
    assert data - covered == set()


@pytest.mark.parametrize("path", CODE, ids=lambda path: str(path.relative_to(ROOT / "analysis" / "cutbook")))
def test_every_module_is_short_and_every_public_name_is_documented(path):
    text = path.read_text(encoding="utf-8")
    assert len(text.splitlines()) <= 400
    tree = ast.parse(text)
    assert ast.get_docstring(tree), "module"
    for node in tree.body:
        if isinstance(node, (ast.FunctionDef, ast.ClassDef)) and not node.name.startswith("_"):
            assert ast.get_docstring(node), node.name


def test_importing_the_package_pulls_in_nothing_heavy():
    import subprocess
    import sys

    code = "import cutbook, sys; print([m for m in ('numpy', 'pandas', 'scipy', 'matplotlib') if m in sys.modules])"
    shown = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert shown.stdout.strip() == "[]"


def test_the_public_face_is_small_sorted_and_all_there():
    import cutbook

    assert list(cutbook.__all__) == sorted(cutbook.__all__, key=lambda name: (name.islower(), name))
    assert len(cutbook.__all__) <= 12
    for name in cutbook.__all__:
        assert getattr(cutbook, name).__doc__
    assert set(dir(cutbook)) == {*cutbook.__all__, "__version__"}
    with pytest.raises(AttributeError):
        _ = cutbook.nothing


def test_what_a_run_may_lack_has_its_words():
    words = tomllib.loads((ROOT / "reports" / "readiness.toml").read_text(encoding="utf-8"))
    tree = ast.parse((ROOT / "analysis" / "cutbook" / "workup" / "readiness.py").read_text(encoding="utf-8"))
    used = {
        node.args[0].value
        for node in ast.walk(tree)
        if isinstance(node, ast.Call) and getattr(node.func, "id", "") == "Missing"
    }
    assert used == set(words)
    assert all("{about}" in text for text in words.values())


def test_every_property_has_a_printed_name():
    words = tomllib.loads((ROOT / "reports" / "properties.toml").read_text(encoding="utf-8"))
    text = (ROOT / "analysis" / "cutbook" / "fractions" / "fuel_properties.py").read_text(encoding="utf-8")
    made = set()
    for node in ast.walk(ast.parse(text)):
        if not isinstance(node, ast.Call) or getattr(node.func, "attr", "") not in ("by", "given", "missing"):
            continue
        named = [key.value for key in node.keywords if key.arg == "name"] or node.args[:1]
        made |= {one.value for one in named if isinstance(one, ast.Constant)}
    assert len(made) >= 15
    assert made <= set(words)
