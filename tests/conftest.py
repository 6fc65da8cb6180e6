"""Makes `reporting_builders` importable for all tests that need finished findings."""

import importlib.util
import sys
from pathlib import Path

import pytest

# the simulator of the example generator gives tests their traces of known content
sys.path[:0] = [
    str(Path(__file__).resolve().parents[1] / "examples" / "generator"),
    str(Path(__file__).parent / "balance"),
    str(Path(__file__).parent / "chromatogram"),
    str(Path(__file__).parent / "workup"),
    str(Path(__file__).parent / "importers"),
    str(Path(__file__).parent / "fractions"),
    str(Path(__file__).parent / "chlorine"),
    str(Path(__file__).parent / "coldflow"),
    str(Path(__file__).parent / "gas"),
    str(Path(__file__).parent / "balance"),
    str(Path(__file__).parent / "published"),
    str(Path(__file__).parent / "reporting"),
    str(Path(__file__).parent / "cli"),
]

NAME = "reporting_builders"
if NAME not in sys.modules:
    spec = importlib.util.spec_from_file_location(NAME, Path(__file__).parent / "reporting" / "builders.py")
    module = importlib.util.module_from_spec(spec)
    sys.modules[NAME] = module
    spec.loader.exec_module(module)


@pytest.fixture(scope="session")
def findings():
    """A run with everything: two samples, gas measured by volume, char, a hold-up trap."""
    return sys.modules[NAME].a_run()


@pytest.fixture(scope="session")
def hostile():
    """The same with text that wants to be a formula, a tag or a terminal command."""
    return sys.modules[NAME].a_run(hostile=True)
