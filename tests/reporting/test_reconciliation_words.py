"""What a reconciliation says, in sentences."""

from dataclasses import replace

from cutbook.model.amount import measured
from cutbook.model.balance import Imbalance, ReconciledValue, Reconciliation, Suspected
from cutbook.model.lineage import Step
from cutbook.model.result import Result
from cutbook.reporting.numbers import OutputSettings
from cutbook.reporting.reconciliation_words import chance, reconciliation_sentences, worth_showing

STEP = Step("made for a test/1")


def result(value, u, unit="g"):
    return Result("r", measured(value, u, "r"), unit, "", STEP)


def solved(name, share, u):
    raw = Result.missing("raw", "%", name, STEP, "balance.not_measured")
    return ReconciledValue(name, "C", raw, result(share, u, "%"), None, "solved")


def found(difference, p=0.11):
    imbalance = Imbalance("mass", result(difference, 1.0))
    shares = (solved("char", 139.0, 62.0), solved("gas", 83.0, 2.0))
    return Reconciliation((), shares, (imbalance,), 2.5, 1, p, (), STEP)


def test_a_small_chance_is_told_as_small_and_not_in_thirty_noughts():
    assert chance(0.114) == "0.11"
    assert chance(1.6e-35) == "< 0.0001"
    assert chance(1.6e-35, OutputSettings(decimal="comma")) == "< 0,0001"
    assert "p = 0.11)" in reconciliation_sentences(found(1.0))[0]
    assert "p < 0.0001)" in reconciliation_sentences(found(1.0, 1e-9))[0]


def test_a_share_that_may_be_anything_is_not_shown():
    assert [one.stream for one in worth_showing(found(1.0))] == ["gas"]


def test_a_lost_product_is_named_where_less_was_found_than_fed():
    suspect = Suspected("oil", "", 4.0, 1e-4, result(400.0, 0.5), result(410.0, 1.0), ())
    for difference, lost in ((10.0, True), (-10.0, False)):
        told = reconciliation_sentences(replace(found(difference), suspects=(suspect,)))
        assert told[0].startswith("The mass of oil is not believed")
        assert any("lost or never collected" in one for one in told) is lost
