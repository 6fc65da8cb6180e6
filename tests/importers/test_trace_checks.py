"""Signals that are not what they should be."""

import numpy as np
import pytest
from importer_contract import line_of, read

TIMES = np.arange(600) / 100
SIGNAL = 10 + 90 * np.exp(-0.5 * ((TIMES - 3) / 0.05) ** 2) + 0.01 * np.sin(np.arange(600) * 1.7)


def table(times=TIMES, signal=SIGNAL):
    return "\n".join(["time (min)\tsignal (pA)", *(f"{t}\t{y}" for t, y in zip(times, signal, strict=True)), ""])


def codes(trace):
    return [one.code for one in trace.step.cautions]


def test_times_that_fall_are_refused_with_their_line(tmp_path):
    times = TIMES.copy()
    times[810 - 600] = times[208]
    assert line_of(tmp_path, table(times)) == (
        "trace, line 212: found time 2.08 min after 2.09 min; expected rising times. Was the file exported from two "
        "injections?"
    )


def test_a_time_twice_with_two_signals_is_refused(tmp_path):
    times = TIMES.copy()
    times[100] = times[99]
    line = line_of(tmp_path, table(times))
    assert line.startswith("trace, line 102: found time 0.99 min twice with signals ")
    assert line.endswith("expected one signal at each time. Remove the row that is wrong")


def test_a_row_written_twice_is_left_out_and_said(tmp_path):
    times, signal = np.insert(TIMES, 100, TIMES[99]), np.insert(SIGNAL, 100, SIGNAL[99])
    trace = read(tmp_path, table(times, signal))
    assert codes(trace) == ["trace.repeated_rows"]
    assert dict(trace.step.cautions[0].facts) == {"count": 1, "first": "line 102"}
    assert len(trace.signal) == 600


def test_a_small_gap_is_said_and_a_large_one_refused(tmp_path):
    kept = (TIMES < 1.0) | (TIMES > 1.2)
    trace = read(tmp_path, table(TIMES[kept], SIGNAL[kept]))
    assert codes(trace) == ["trace.gap"]
    kept = (TIMES < 1.0) | (TIMES > 2.0)
    assert line_of(tmp_path, table(TIMES[kept], SIGNAL[kept])).startswith(
        "trace, 0.99 to 2.01 min: found gaps over 17.0 % of the run (1 in all, this is the widest); expected at most 5 % "
        "outside the solvent window."
    )


def test_a_gap_under_the_declared_solvent_does_not_count(tmp_path):
    kept = (TIMES < 1.0) | (TIMES > 2.0)
    trace = read(tmp_path, table(TIMES[kept], SIGNAL[kept]), solvent_window_min=(0.9, 2.1))
    assert codes(trace) == ["trace.gap"]


@pytest.mark.parametrize("word", ["nan", "inf", "", "-1e300"])
def test_a_signal_that_is_no_number_is_refused_with_its_line(tmp_path, word):
    rows = table().split("\n")
    rows[50] = f"0.49\t{word}"
    line = line_of(tmp_path, "\n".join(rows))
    assert "line 51" in line


def test_a_constant_signal_is_refused(tmp_path):
    assert line_of(tmp_path, table(signal=np.full(600, 3.0))) == (
        "trace: found a signal of 3 throughout; expected a signal that varies. Was the detector lit?"
    )


def test_too_few_points_are_refused(tmp_path):
    assert line_of(tmp_path, table(TIMES[:50], SIGNAL[:50])) == (
        "trace: found 50 points; expected at least 100. Is this the whole trace?"
    )


def test_a_run_of_seconds_called_hours_is_refused(tmp_path):
    text = table(TIMES * 60).replace("(min)", "(h)")
    assert line_of(tmp_path, text) == (
        "trace: found a run of 21564 min; expected 0.1 to 2880 min. Is the unit of time right?"
    )


def test_flat_tops_are_said_with_their_times(tmp_path):
    trace = read(tmp_path, table(signal=np.minimum(SIGNAL, 60.0)))
    (told,) = trace.step.cautions
    assert (told.code, told.facts["count"], told.facts["times"], told.facts["value"]) == (
        "trace.saturated",
        1,
        "3.00",
        60.0,
    )


def test_a_broad_peak_in_coarse_steps_is_not_called_flat(tmp_path):
    broad = np.round(10 + 90 * np.exp(-0.5 * ((TIMES - 3) / 0.8) ** 2))
    assert codes(read(tmp_path, table(signal=broad))) == []


def test_sampling_that_drifts_is_said(tmp_path):
    assert codes(read(tmp_path, table(TIMES * (1 + 0.1 * TIMES)))) == ["trace.uneven_sampling"]
