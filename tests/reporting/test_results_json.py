"""results.json: the names of the contract, numbers as they are, null for what is missing."""

import json
import math

import pytest
from reporting_builders import a_run

from cutbook.reporting.results_json import as_text, results


def every_value(found):
    if isinstance(found, dict):
        for value in found.values():
            yield from every_value(value)
    elif isinstance(found, list):
        for value in found:
            yield from every_value(value)
    else:
        yield found


def quantities(found):
    if isinstance(found, dict):
        if "value" in found and "u" in found:
            yield found
        for value in found.values():
            yield from quantities(value)
    elif isinstance(found, list):
        for value in found:
            yield from quantities(value)


@pytest.fixture(scope="module")
def found(findings):
    return json.loads(as_text(results(findings)))


def test_the_keys_of_the_contract_are_there(found):
    assert {"schema", "cutbook", "run", "inputs", "settings", "cautions", "balance", "samples", "cuts"} <= set(found)
    assert isinstance(found["schema"], int)
    assert {"id", "date", "title"} <= set(found["run"])
    assert all({"path", "sha256", "role", "of"} <= set(one) for one in found["inputs"])
    assert all({"code", "level", "about", "text"} <= set(one) for one in found["cautions"])
    assert {"feed", "products", "closure", "reconciled"} <= set(found["balance"])
    assert all({"fraction", "mass", "yield"} <= set(one) for one in found["balance"]["products"])
    assert all({"of", "detector", "file", "carbon_numbers", "cuts"} <= set(one) for one in found["samples"])
    assert all({"n", "mass"} <= set(one) for one in found["samples"][0]["carbon_numbers"])
    assert all({"scheme", "cut", "mass"} <= set(one) for one in found["samples"][0]["cuts"])
    assert all({"scheme", "cut", "yield"} <= set(one) for one in found["cuts"])


def test_a_quantity_has_value_u_and_unit_and_nothing_else(found):
    listed = list(quantities({key: found[key] for key in ("balance", "samples", "cuts")}))
    assert len(listed) > 100
    assert all({"value", "u", "unit"} == set(one) for one in listed)


def test_numbers_are_unrounded_and_those_of_the_findings(found, findings):
    named = findings.named()
    gasoline = next(c for c in found["cuts"] if (c["scheme"], c["cut"]) == ("carbon-number", "gasoline"))
    wanted = named["cuts.carbon-number.gasoline.yield"]
    assert gasoline["yield"] == {"value": wanted.value, "u": wanted.u, "unit": "%"}
    bins = {one["n"]: one["mass"]["value"] for one in found["samples"][0]["carbon_numbers"]}
    assert bins[12] == named["samples.oil.carbon_numbers.12.mass"].value
    assert bins[None] == named["samples.oil.carbon_numbers.did-not-elute.mass"].value


def test_a_missing_number_is_null_and_its_caution_is_named():
    found = results(a_run(gas="by difference"))
    assert found["balance"]["closure"] is None
    told = {one["name"]: one for one in found["missing"]}
    assert told["balance.closure"]["code"] == "balance.by_difference"
    assert "difference" in told["balance.closure"]["text"]
    assert "balance.by_difference" in {one["code"] for one in found["cautions"]}


def test_a_run_without_a_ladder_has_no_carbon_numbers_but_says_so():
    found = results(a_run(ladder=False))
    assert found["samples"][0]["carbon_numbers"] == []
    assert found["samples"][0]["ladder"] is None
    assert found["samples"][0]["peaks"] > 50
    assert "report.no_ladder" in {one["code"] for one in found["cautions"]}


def test_there_is_no_nan_and_no_infinity(found):
    numbers = [value for value in every_value(found) if isinstance(value, float)]
    assert numbers
    assert all(math.isfinite(value) for value in numbers)


def test_every_number_has_a_step_that_is_listed_and_a_budget_that_adds_up(found, findings):
    listed = {step["id"]: step for step in found["steps"]}
    for name, result in findings.named().items():
        lineage = found["lineage"][name]
        assert lineage["step"] in listed
        if result.u:
            assert math.sqrt(sum(part**2 for _, part in lineage["budget"])) == pytest.approx(result.u)
    assert all(before in listed for step in listed.values() for before in step["inputs"])


def test_the_same_findings_give_the_same_text():
    assert as_text(results(a_run(points=2000))) == as_text(results(a_run(points=2000)))


def test_hostile_text_survives_as_text(hostile):
    found = json.loads(as_text(results(hostile)))
    assert found["run"]["id"] == hostile.run.id
    assert found["balance"]["products"][-1]["fraction"].startswith("=HYPERLINK")


def test_the_whole_run_sensitivity_is_the_mass_weighted_sum_of_the_samples(found):
    whole = next(c for c in found["cuts"] if (c["scheme"], c["cut"]) == ("carbon-number", "gasoline"))["sensitivity"]
    feed = found["balance"]["feed"]["value"]
    mass = {p["fraction"]: p["mass"]["value"] for p in found["balance"]["products"] if p["mass"]}
    per_sample = {
        s["of"]: next(v for v in s["sensitivity"] if (v["scheme"], v["cut"]) == ("carbon-number", "gasoline"))
        for s in found["samples"]
    }
    for place, variant in enumerate(whole["variants"]):
        grams = sum(mass[of] * one["variants"][place]["mass"] / 100 for of, one in per_sample.items())
        assert variant["mass"] == pytest.approx(100 * grams / feed)
