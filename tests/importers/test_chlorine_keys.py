"""What a run sheet says of chlorine beside its products."""

import pytest

from cutbook.importers.run_sheet import read_run
from cutbook.model.errors import RunSheetError

SHEET = """
[run]
id = "C-1"
[[feed]]
material = "PVC"
mass = "100.0 g"
[[product]]
fraction = "oil"
mass = "20.0 g"
{product}
[chlorine]
{chlorine}
"""


def a_run(folder, chlorine='walls = "0.12 ± 0.02 g"', product=""):
    folder.mkdir(exist_ok=True)
    (folder / "run.toml").write_text(SHEET.format(chlorine=chlorine, product=product), encoding="utf-8")
    return read_run(folder)


def test_walls_reference_oil_and_sorbent_are_read(tmp_path):
    keys = 'walls = "0.12 g"\nreference_oil = "464 mg/kg"\nsorbent = "calcium carbonate"\nsorbent_mass = "4.0 g"'
    (found,) = a_run(tmp_path, keys).further["chlorine"]
    assert found["walls"].value == pytest.approx(0.12)
    assert found["reference_oil"].value == pytest.approx(464e-6)
    assert (found["sorbent"], found["sorbent_mass"].value) == ("calcium carbonate", pytest.approx(4.0))


@pytest.mark.parametrize(
    ("keys", "told"),
    [
        ('wals = "1 g"', "unknown key 'wals'.*Did you mean 'walls'"),
        ('sorbent = "calcium carbonate"', r"\[chlorine\], sorbent_mass: found nothing"),
        ('sorbent = "sand"\nsorbent_mass = "1 g"', "one of calcium carbonate"),
        ('reference_oil = "0 mg/kg"', "more than nothing"),
        ('reference_name = "run 3"', r"\[chlorine\], reference_oil: found nothing"),
        ('walls = "0.1 %"', "walls"),
    ],
)
def test_faults_are_one_line_each(tmp_path, keys, told):
    with pytest.raises(RunSheetError, match=told):
        a_run(tmp_path, keys)


def test_method_of_the_laboratory_stays_with_its_figure(tmp_path):
    product = 'chlorine = "42 mg/kg"\nchlorine_method = "combustion ion chromatography"'
    (oil,) = a_run(tmp_path, product=product).products
    assert oil.chlorine_method == "combustion ion chromatography"
    assert oil.measured["chlorine"] is oil.bulk_chlorine


def test_chlorine_of_washed_naphtha_is_not_that_of_the_product(tmp_path):
    product = 'chlorine = "42 mg/kg"\nchlorine_method = "washed naphtha"'
    (oil,) = a_run(tmp_path, product=product).products
    assert "chlorine" not in oil.measured
    assert oil.bulk_chlorine.value == pytest.approx(42e-6)


@pytest.mark.parametrize("product", ['chlorine_method = "other"', 'chlorine = "1 %"\nchlorine_method = "guess"'])
def test_method_without_a_figure_or_of_no_known_name_is_refused(tmp_path, product):
    with pytest.raises(RunSheetError):
        a_run(tmp_path, product=product)
