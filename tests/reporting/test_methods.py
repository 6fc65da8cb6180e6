"""The methods paragraph says what was done and nothing else."""

from reporting_builders import a_run

from cutbook.reporting.methods import methods_paragraph, open_range


def test_it_names_ladder_blank_response_cuts_and_uncertainty(findings):
    told = methods_paragraph(findings)
    for words in (
        "traces/ladder.csv, n-C5 to n-C40, 36 rungs",
        "subtraction of a blank run",
        "bleed model fitted",
        "same signal per mass",
        "gasoline C5–C12",
        "k = 2",
        "carbon disulfide",
    ):
        assert words in told, words


def test_what_was_by_difference_is_said():
    told = methods_paragraph(a_run(gas="by difference", points=1500))
    assert "The mass of gas was taken by difference" in told
    assert "volume and density" not in told


def test_a_run_without_a_ladder_claims_no_carbon_numbers():
    told = methods_paragraph(a_run(ladder=False, points=1500))
    assert "No n-alkane ladder was available for the oil" in told
    assert "Cuts by" not in told


def test_limits_are_told_in_words():
    assert open_range(3.0, 10.0) == "3 to 10"
    assert open_range(None, 0.1) == "at most 0.1"
    assert open_range(2.0, None) == "at least 2"
    assert open_range(None, None) == ""
