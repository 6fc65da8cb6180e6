"""Figures: told apart by every eye and in grey, the same bytes twice, nothing cut off."""

import itertools
import re
import xml.etree.ElementTree as ET

import numpy as np
import pytest
from reporting_builders import a_run

from cutbook.reporting.carbon_figure import carbon_ranges
from cutbook.reporting.chromatogram_figure import chromatogram_figure, cut_bands
from cutbook.reporting.figures import figures, file_stems
from cutbook.reporting.numbers import OutputSettings
from cutbook.reporting.style import lightness, looks, style
from cutbook.reporting.yield_figure import yield_figure

# Machado, Oliveira, Fernandes 2009, IEEE Trans. Vis. Comput. Graph. 15, 1291, severity 1.0 (values from memory)
SIGHT = {
    "normal": np.eye(3),
    "protan": np.array(
        [[0.152286, 1.052583, -0.204868], [0.114503, 0.786281, 0.099216], [-0.003882, -0.048116, 1.051998]]
    ),
    "deutan": np.array(
        [[0.367322, 0.860646, -0.227968], [0.280085, 0.672501, 0.047413], [-0.011820, 0.042940, 0.968881]]
    ),
    "tritan": np.array(
        [[1.255528, -0.076749, -0.178779], [-0.078411, 0.930809, 0.147602], [0.004733, 0.691367, 0.303900]]
    ),
}


def lab(colour, sight):
    rgb = np.array([int(colour[i : i + 2], 16) / 255 for i in (1, 3, 5)])
    linear = np.where(rgb <= 0.04045, rgb / 12.92, ((rgb + 0.055) / 1.055) ** 2.4)
    seen = np.clip(SIGHT[sight] @ linear, 0, 1)
    xyz = np.array([[0.4124, 0.3576, 0.1805], [0.2126, 0.7152, 0.0722], [0.0193, 0.1192, 0.9505]]) @ seen
    ratio = xyz / np.array([0.95047, 1.0, 1.08883])
    f = np.where(ratio > 0.008856, np.cbrt(ratio), 7.787 * ratio + 16 / 116)
    return np.array([116 * f[1] - 16, 500 * (f[0] - f[1]), 200 * (f[1] - f[2])])


def distance(a, b, sight):
    return float(np.linalg.norm(lab(a, sight) - lab(b, sight)))


@pytest.mark.parametrize("sight", SIGHT)
def test_any_two_cuts_are_told_apart(sight):
    cuts = style()["cuts"]
    for (a, one), (b, two) in itertools.combinations(cuts.items(), 2):
        if one["hatch"] == two["hatch"]:
            assert distance(one["colour"], two["colour"], sight) >= 20, (a, b)


@pytest.mark.parametrize("sight", SIGHT)
def test_signal_and_baselines_are_told_apart(sight):
    ink = style()["ink"]
    for a, b in itertools.combinations(("signal", "following", "total"), 2):
        assert distance(ink[a], ink[b], sight) >= 20, (a, b)


def test_lightness_falls_with_boiling_so_that_grey_print_reads():
    order = [style()["cuts"][cut]["colour"] for cut in ("gas", "gasoline", "diesel", "wax", "char")]
    steps = np.diff([lightness(colour) for colour in order])
    assert (steps < -12).all()


def test_lightness_of_black_and_white():
    assert lightness("#000000") == pytest.approx(0)
    assert lightness("#FFFFFF") == pytest.approx(100, abs=0.01)


def test_cuts_with_names_of_their_own_get_looks_of_their_own():
    found = looks(["gas", "naphtha", "middle distillate", "residue"])
    assert len({(look.colour, look.hatch) for look in found.values()}) == 4


@pytest.fixture(scope="module")
def drawn(findings):
    return figures(findings)


def test_each_sample_has_its_figures_and_the_run_its_bar(drawn):
    assert [one.file for one in drawn] == [
        "yields.svg",
        "oil-carbon-numbers.svg",
        "oil-boiling-curve.svg",
        "oil-chromatogram.svg",
        "wax-carbon-numbers.svg",
        "wax-boiling-curve.svg",
        "wax-chromatogram.svg",
        "oil-still.svg",
    ]


def test_figures_are_plain_svg_that_fetches_and_runs_nothing(drawn):
    for one in drawn:
        root = ET.fromstring(one.svg)
        assert root.tag.endswith("svg")
        assert "<script" not in one.svg
        outside = [a for a in re.findall(r'href="([^"]*)"', one.svg) if not a.startswith("#")]
        assert not outside
        assert len(one.svg) < 400_000


def test_the_same_findings_give_the_same_figures(drawn):
    assert [one.svg for one in figures(a_run())] == [one.svg for one in drawn]


def test_a_decimal_comma_changes_the_lettering_of_the_figures():
    run = a_run(points=1500)
    comma = OutputSettings(decimal="comma")
    assert yield_figure(run) != yield_figure(run, comma)
    assert chromatogram_figure(run.samples[0]) == chromatogram_figure(run.samples[0], comma)  # whole numbers only


def test_hostile_names_draw_as_text(hostile):
    assert all(ET.fromstring(one.svg) is not None for one in figures(hostile))


def test_a_run_without_a_ladder_still_draws_its_chromatogram():
    kinds = {one.kind for one in figures(a_run(ladder=False, points=1500))}
    assert kinds == {"yields", "chromatogram", "still"}


def test_a_closure_over_100_is_drawn_past_100():
    from dataclasses import replace

    from cutbook.model.amount import measured

    run = a_run(points=1500)
    oil = run.balance.products[1]
    much = replace(oil, yield_as_charged=replace(oil.yield_as_charged, amount=measured(60.0, 0.1, "weighing")))
    closure = replace(run.balance.closure, amount=measured(109.4, 0.5, "weighing"))
    products = (run.balance.products[0], much, *run.balance.products[2:])
    over = replace(run, balance=replace(run.balance, products=products, closure=closure))
    assert yield_figure(over) != yield_figure(run)
    ET.fromstring(yield_figure(over))


def test_a_negative_yield_is_named_and_not_drawn_backwards(findings):
    from dataclasses import replace

    from cutbook.model.amount import measured

    gas = findings.balance.products[0]
    less = replace(gas, yield_as_charged=replace(gas.yield_as_charged, amount=measured(-0.4, 0.6, "weighing")))
    rest = findings.balance.products[1:]
    svg = yield_figure(replace(findings, balance=replace(findings.balance, products=(less, *rest))))
    assert "<!-- gas −0.4 -->" in svg


def test_a_flat_trace_without_peaks_still_draws(findings):
    from dataclasses import replace

    sample = findings.samples[0]
    nothing = np.zeros_like(sample.trace.time_min)
    flat = replace(
        sample,
        trace=replace(sample.trace, signal=nothing),
        following=replace(sample.following, values=nothing),
        total=replace(sample.total, values=nothing),
        peaks=replace(sample.peaks, peaks=()),
        solvent_windows_min=(),
    )
    assert ET.fromstring(chromatogram_figure(flat)).tag.endswith("svg")


def test_bands_on_the_time_axis_join_without_gap(findings):
    bands = cut_bands(findings.samples[0])
    assert [cut for cut, _, _ in bands] == ["gasoline", "diesel", "wax"]
    assert all(a[2] == b[1] for a, b in itertools.pairwise(bands))


def test_limits_are_read_back_as_printed(findings):
    assert carbon_ranges(findings.samples[0]) == [
        ("gas", 1.0, 4.0),
        ("gasoline", 5.0, 12.0),
        ("diesel", 13.0, 20.0),
        ("wax", 21.0, float("inf")),
    ]


def test_file_names_are_plain_and_never_alike():
    assert file_stems(["Oil", "oil", "../../x", "=1+1", "\x00"]) == ["oil", "oil-2", "x", "1-1", "sample"]
