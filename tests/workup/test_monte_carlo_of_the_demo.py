"""First-order uncertainties of a demo run against Monte Carlo (JCGM 101) through the arithmetic written out anew."""

from pathlib import Path

import numpy as np
import pytest

from cutbook.chromatogram.noise import estimate_noise
from cutbook.chromatogram.signal_area import slice_areas
from cutbook.importers.run_sheet import read_run
from cutbook.quantitation.mass_slices import ResponseSettings
from cutbook.workup.work_up import work_up

FOLDER = Path(__file__).resolve().parents[2] / "examples" / "mixed-film"
DRAWS = 40_000
CUTS = {"gasoline": (1, 12), "diesel": (13, 20), "wax": (21, 99)}


@pytest.fixture(scope="module")
def findings():
    return work_up(read_run(FOLDER))


@pytest.fixture(scope="module")
def drawn(findings):
    """Yields of the cuts on feed, drawn; one array a cut."""
    rng = np.random.default_rng(7)
    sample = findings.samples[0]
    ladder, settings = sample.ladder, ResponseSettings()
    numbers = [share.n for share in sample.carbons.numbered()]
    edges = np.array([*sample.carbons.edges_min, sample.trace.time_min[-1]])
    noise = estimate_noise(sample.trace.signal)
    slices = slice_areas(sample.trace, sample.total, edges, sample.solvent_windows_min, noise)
    areas = slices.areas + slices.u_noise * rng.normal(size=(DRAWS, len(slices.areas)))
    for _, change in slices.by_doubt:
        areas = areas + change * rng.normal(size=(DRAWS, 1))
    across = slices.edge_signal.copy()
    across[[0, -1]] = 0.0
    areas = areas + ladder.u_time_min * np.diff(across) * rng.normal(size=(DRAWS, 1))
    middle = 0.5 * (edges[1:] + edges[:-1])
    at = np.interp(middle, ladder.times_min, ladder.carbons)
    blocks = np.array([(int(round(float(n))) - 1) // settings.block_carbons for n in at])
    classes = rng.normal(size=(DRAWS, blocks.max() + 1))[:, blocks]
    # the response itself is drawn, not its linear effect on the mass
    masses = areas / (1 - settings.u_class * classes)
    shares = masses / masses.sum(axis=1, keepdims=True)
    oil = (402 + 3 * rng.normal(size=DRAWS)) * (0.781 + 0.004 * rng.normal(size=DRAWS))
    feed = (700 + rng.normal(size=DRAWS) / np.sqrt(12)) + (21 + rng.normal(size=DRAWS) / np.sqrt(12))
    found = {}
    for cut, (low, high) in CUTS.items():
        inside = [low <= n <= high for n in numbers] + [high > 50]  # the last slice lies beyond the ladder
        found[cut] = 100 * oil / feed * shares[:, np.array(inside)].sum(axis=1)
    return found


@pytest.mark.parametrize("cut", list(CUTS))
def test_value_and_uncertainty_agree_with_monte_carlo(findings, drawn, cut):
    stated = findings.named()[f"cuts.carbon-number.{cut}.yield"]
    assert stated.value == pytest.approx(float(np.mean(drawn[cut])), abs=0.1 * stated.u)
    assert stated.u == pytest.approx(float(np.std(drawn[cut])), rel=0.05)
