"""Still logs as people keep them: every repair listed, nothing lost, what is doubtful refused in one line."""

import datetime
import io

import pytest

from cutbook.importers.still_log import read_still_log
from cutbook.importers.trace_file import open_trace_file
from cutbook.model.errors import InputError
from cutbook.model.run import DistillationEntry
from cutbook.model.units import parse_quantity


def log_of(folder, text, **more):
    content = text if isinstance(text, bytes) else text.encode("utf-8")
    (folder / "still.csv").write_bytes(content)
    entry = DistillationEntry("still.csv", "[[distillation]] 1", "oil", **more)
    return read_still_log(open_trace_file(folder, "still.csv"), entry)


def refused(folder, text, **more):
    with pytest.raises(InputError) as error:
        log_of(folder, text, **more)
    assert "\n" not in str(error.value)
    return str(error.value)


def kinds(log):
    return [(repair.place, repair.kind) for repair in log.repairs]


PLAIN = "head_temperature_C,volume_mL\n60,0\n90,10\n120,20\n"


def test_a_plain_log_needs_no_repair(tmp_path):
    log = log_of(tmp_path, PLAIN)
    assert [(one.head_c, one.volume_ml) for one in log.readings] == [(60, 0), (90, 10), (120, 20)]
    assert [one.place for one in log.readings] == ["line 2", "line 3", "line 4"]
    assert log.repairs == ()
    assert log.step.cautions == ()
    assert (tmp_path / "still.csv").read_text() == PLAIN


@pytest.mark.parametrize(
    ("headings", "expected"),
    [
        ("Kopftemp. [°F];Destillat (cm³);Druck (mmHg)", (100.0, 10.0, 101.325)),
        ("head temp (F);vol ml;vacuum, mm Hg", (100.0, 10.0, 101.325)),
        ("Übergang in °F;Menge / mL;p in Torr", (100.0, 10.0, 101.325)),
    ],
)
def test_headings_and_units_in_two_languages(tmp_path, headings, expected):
    log = log_of(tmp_path, f"{headings}\n212;10;760\n230;20;760\n")
    first = log.readings[0]
    assert (first.head_c, first.volume_ml) == pytest.approx(expected[:2])
    assert first.pressure_kpa == pytest.approx(expected[2], rel=1e-6)


@pytest.mark.parametrize("delimiter", [",", ";", "\t", "|"])
def test_any_delimiter(tmp_path, delimiter):
    log = log_of(tmp_path, PLAIN.replace(",", delimiter))
    assert [one.volume_ml for one in log.readings] == [0, 10, 20]


def test_kelvin_and_kilopascal_and_litres(tmp_path):
    log = log_of(tmp_path, "head (K),volume (L),pressure (bar)\n400,0.010,1.0\n410,0.020,1.0\n")
    assert log.readings[0].head_c == pytest.approx(126.85)
    assert log.readings[1].volume_ml == pytest.approx(20)
    assert log.readings[0].pressure_kpa == pytest.approx(100)


def test_columns_written_without_a_word_for_them(tmp_path):
    log = log_of(tmp_path, "°C;mL\n60;0\n90;10\n")
    assert log.readings[1].head_c == 90


def test_decimal_commas_and_points_in_one_log(tmp_path):
    log = log_of(tmp_path, "T head °C;V mL\n60,5;0\n90.5;10,5\n120;20\n")
    assert [one.head_c for one in log.readings] == [60.5, 90.5, 120]
    assert log.readings[1].volume_ml == 10.5


def test_a_thousands_mark_is_read_when_the_log_tells_and_refused_when_not(tmp_path):
    text = "head °C;volume mL;pressure mbar\n60,5;0;1.013\n90,5;10;1.013\n"
    assert log_of(tmp_path, text).readings[0].pressure_kpa == pytest.approx(101.3)
    line = refused(tmp_path, "head °C;volume mL\n60;1,250\n90;1,300\n")
    assert "line 2" in line
    assert "thousands or decimals" in line


def test_ditto_marks_take_the_cell_above(tmp_path):
    text = 'head °C,volume mL,pressure mbar,receiver\n60,0,1002,1\n90,10,",",\n120,20,〃,do.\n'
    text = 'head °C,volume mL,pressure mbar,receiver\n60,0,1002,1\n90,10,","\n120,20,〃,do.\n'
    log = log_of(tmp_path, text)
    assert [one.pressure_kpa for one in log.readings] == pytest.approx([100.2] * 3)
    assert [one.receiver for one in log.readings] == ["1", "1", "1"]
    assert [kind for _, kind in kinds(log)].count("ditto") == 4


def test_a_ditto_mark_that_a_spreadsheet_quoted(tmp_path):
    log = log_of(tmp_path, 'head °C,volume mL,pressure mbar\n60,0,1002\n90,10,""""\n')
    assert log.readings[1].pressure_kpa == pytest.approx(100.2)


def test_a_repair_is_told_in_the_unit_of_the_log(tmp_path):
    log = log_of(tmp_path, 'head °C,volume mL,pressure mbar\n60,0,1002\n90,10,"\n')
    assert [repair.read_as for repair in log.repairs] == ["1002 mbar"]


def test_what_stands_above_the_headings_is_listed_as_not_read(tmp_path):
    log = log_of(tmp_path, "Still 3, 998 mbar\n\n" + PLAIN)
    assert [(one.place, one.kind, one.found) for one in log.repairs] == [
        ("line 1", "above_headings", "Still 3, 998 mbar")
    ]
    assert len(log.readings) == 3


def test_clock_times_run_over_midnight(tmp_path):
    log = log_of(tmp_path, "Zeit;head °C;V mL\n23:40;60;0\n23:55;90;10\n0:10;120;20\n")
    assert [one.time_min for one in log.readings] == [0, 15, 30]
    assert kinds(log) == [("line 4", "midnight")]


@pytest.mark.parametrize(
    ("heading", "times", "expected"),
    [
        ("time", ("9:05", "9:35"), 30),
        ("time (min)", ("5:30", "9:00"), 3.5),
        ("time", ("11:50 am", "1:20 pm"), 90),
        ("t (h)", ("0.5", "1.25"), 45),
        ("time", ("2026-03-12 09:05:00", "2026-03-12 09:35:30"), 30.5),
    ],
)
def test_times_in_their_many_forms(tmp_path, heading, times, expected):
    log = log_of(tmp_path, f"{heading};head °C;V mL\n{times[0]};60;0\n{times[1]};90;10\n")
    assert log.readings[1].time_min == pytest.approx(expected)


def test_a_time_that_falls_back_is_left_out(tmp_path):
    log = log_of(tmp_path, "time min;head °C;V mL\n10;60;0\n5;90;10\n20;120;20\n")
    assert [one.time_min for one in log.readings] == [0, None, 10]
    assert kinds(log) == [("line 3", "time_backward")]


def test_a_new_receiver_begins_again_and_is_added_up(tmp_path):
    text = "head °C,volume mL,receiver\n60,0,1\n90,30,1\n95,2,2\n120,20,2\n"
    log = log_of(tmp_path, text)
    assert [one.volume_ml for one in log.readings] == [0, 30, 32, 50]
    assert kinds(log) == [("line 4", "receiver")]


def test_a_receiver_changed_while_the_volume_runs_on(tmp_path):
    log = log_of(tmp_path, "head °C,volume mL,receiver\n60,0,1\n90,30,1\n95,32,2\n120,50,2\n")
    assert [one.volume_ml for one in log.readings] == [0, 30, 32, 50]
    assert [one.receiver for one in log.readings] == ["1", "1", "2", "2"]
    assert log.repairs == ()


@pytest.mark.parametrize(
    "rows",
    [
        "60,0,\n90,30,changed receiver\n95,2,\n120,20,\n",  # beside the last reading of the old one
        "60,0,\n90,30,\n95,2,new receiver\n120,20,\n",  # beside the first of the new one
        "60,0,\n90,30,\nVorlagenwechsel,,\n95,2,\n120,20,\n",  # on a line of its own
    ],
)
def test_a_note_tells_of_a_new_receiver(tmp_path, rows):
    log = log_of(tmp_path, "head °C,volume mL,note\n" + rows)
    assert [one.volume_ml for one in log.readings] == [0, 30, 32, 50]
    assert [one.receiver for one in log.readings] == ["1", "1", "2", "2"]
    assert [kind for _, kind in kinds(log) if kind != "words"] == ["receiver"]


@pytest.mark.parametrize(
    "text",
    [
        "note,head °C,volume mL\n,60,0\n,90,30\nnew receiver,95,2\n,120,20\n",  # the notes stand first
        "head °C,volume mL\n60,0\n90,30\nVorlagenwechsel,\n95,2\n120,20\n",  # there is no column for them
    ],
)
def test_a_note_tells_of_it_wherever_it_stands(tmp_path, text):
    log = log_of(tmp_path, text)
    assert [one.volume_ml for one in log.readings] == [0, 30, 32, 50]
    assert [kind for _, kind in kinds(log) if kind != "words"] == ["receiver"]


def test_a_receiver_change_that_nothing_tells_of_is_assumed_and_said(tmp_path):
    log = log_of(tmp_path, "head °C,volume mL\n60,0\n90,30\n95,2\n120,20\n")
    assert [one.volume_ml for one in log.readings] == [0, 30, 32, 50]
    assert kinds(log) == [("line 4", "receiver_assumed")]


def test_a_volume_that_falls_back_is_left_out_and_as_written_takes_it(tmp_path):
    text = "time min,head °C,volume mL\n0,60,0\n10,90,30\n20,100,35\n22,105,26\n30,120,50\n"
    log = log_of(tmp_path, text)
    assert [one.volume_ml for one in log.readings] == [0, 30, 35, None, 50]
    assert kinds(log) == [("line 5", "backward")]
    kept = log_of(tmp_path, text, as_written=("line 5",))
    assert [one.volume_ml for one in kept.readings] == [0, 30, 35, 26, 50]
    assert kept.repairs == ()


def test_of_two_readings_the_one_off_the_line_is_left_out(tmp_path):
    rows = "0,60,0\n10,90,40\n20,100,{}\n30,105,{}\n40,120,60\n"
    wrong_first = log_of(tmp_path, "time min,head °C,volume mL\n" + rows.format(58, 53))
    assert kinds(wrong_first) == [("line 4", "backward")]
    wrong_second = log_of(tmp_path, "time min,head °C,volume mL\n" + rows.format(47, 42))
    assert kinds(wrong_second) == [("line 5", "backward")]


@pytest.mark.parametrize(
    ("cell", "kind", "value"),
    [
        ("~45", "approximate", 45), ("ca. 45", "approximate", 45), ("45?", "approximate", 45),
        ("45 ml", "", 45), ("0.045 L", "other_unit", 45), ("> 45", "bound", None), ("-", "", None), ("n.a.", "", None),
    ],
)  # fmt: skip
def test_cells_as_hands_write_them(tmp_path, cell, kind, value):
    log = log_of(tmp_path, f"head °C;volume mL\n60;0\n90;{cell}\n120;80\n")
    assert log.readings[1].volume_ml == (None if value is None else pytest.approx(value))
    assert [one for _, one in kinds(log)] == ([kind] if kind else [])


def test_a_word_where_a_number_belongs_is_refused(tmp_path):
    line = refused(tmp_path, "head °C;volume mL\n60;0\n90;lots\n")
    assert "line 3" in line
    assert "'lots'" in line
    assert "still.csv" in line


def test_a_temperature_that_no_still_has_is_left_out(tmp_path):
    log = log_of(tmp_path, "head °C;volume mL\n60;0\n905;10\n120;20\n")
    assert [one.head_c for one in log.readings] == [60, None, 120]
    assert kinds(log) == [("line 3", "impossible")]
    kept = log_of(tmp_path, "head °C;volume mL\n60;0\n905;10\n120;20\n", as_written=("line 3",))
    assert kept.readings[1].head_c == 905


def test_a_pressure_that_no_still_has_is_left_out_even_as_written(tmp_path):
    text = "head °C;volume mL;pressure mbar\n60;0;1002\n90;10;1002175.9\n"
    for as_written in ((), ("line 3",)):
        log = log_of(tmp_path, text, as_written=as_written)
        assert log.readings[1].pressure_kpa is None
        assert kinds(log) == [("line 3", "impossible")]


def test_a_number_without_end_is_refused(tmp_path):
    assert "digits" in refused(tmp_path, f"head °C;volume mL\n60;0\n90;{'9' * 400}\n")


def test_totals_empty_rows_and_headings_again(tmp_path):
    text = "no;head °C;volume mL\n1;60;0\n;;\nno;head °C;volume mL\n2;90;10\nSumme;;10\n"
    log = log_of(tmp_path, text)
    assert len(log.readings) == 2
    assert {kind for _, kind in kinds(log)} == {"empty_row", "headings_again", "totals"}
    assert "still.column_unused" in {one.code for one in log.step.cautions}


def test_gauge_readings_become_absolute(tmp_path):
    text = "head °C;volume mL;vacuum bar\n60;0;-0.9\n90;10;-0.9\n"
    log = log_of(tmp_path, text, pressure=parse_quantity("99.0 kPa", "pressure", "", ""))
    assert log.readings[0].pressure_kpa == pytest.approx(9.0)
    assert kinds(log) == [("", "gauge")]
    assert "above 0" in refused(tmp_path, "head °C;volume mL;p bar\n60;0;-1.2\n90;10;-1.2\n")
    assert "among positive ones" in refused(tmp_path, "head °C;volume mL;p bar\n60;0;-0.2\n90;10;1.0\n")


def test_a_pressure_without_a_unit_is_refused_and_a_temperature_without_one_is_said(tmp_path):
    assert "without a unit" in refused(tmp_path, "head °C;volume mL;pressure\n60;0;10\n90;10;10\n")
    log = log_of(tmp_path, "head temperature;volume mL\n60;0\n90;10\n")
    assert [one.code for one in log.step.cautions] == ["still.unit_assumed"]


def test_percent_recovered_with_named_points(tmp_path):
    log = log_of(tmp_path, "recovered (%);temperature (°C)\nIBP;71\n5;110\n10;141\n")
    assert [one.volume_percent for one in log.readings] == pytest.approx([0, 5, 10])
    assert all(one.volume_ml is None for one in log.readings)
    assert log.resolution["volume"] == pytest.approx(1.0)


def test_columns_are_chosen_by_the_run_sheet(tmp_path):
    text = "T1;T2;V\n100;60;0\n150;90;10\n"
    line = refused(tmp_path, "T1 head °C;T2 head °C;V mL\n100;60;0\n150;90;10\n")
    assert "2 columns that may be the head temperature" in line
    log = log_of(tmp_path, text, columns={"pot_temperature": "T1", "head_temperature": "T2", "volume": "3"})
    assert (log.readings[1].pot_c, log.readings[1].head_c, log.readings[1].volume_ml) == (150, 90, 10)
    assert "Was 'T2' meant?" in refused(tmp_path, text, columns={"head_temperature": "T22", "volume": "V"})
    both = refused(tmp_path, text, columns={"pot_temperature": "T1", "head_temperature": "1"})
    assert "column 1 for pot_temperature and for head_temperature; expected two different columns" in both


def test_a_heading_that_stands_twice_is_no_choice(tmp_path):
    twice = refused(
        tmp_path, "T,t,V\n150,140,10\n160,150,20\n", columns={"head_temperature": " t ", "pot_temperature": "t"}
    )
    assert "column 2 for" in twice
    assert "'temp' for several headings" in refused(
        tmp_path, "Temp,TEMP,V\n150,140,10\n160,150,20\n", columns={"head_temperature": "temp"}
    )


def test_notes_may_hold_the_delimiter(tmp_path):
    log = log_of(tmp_path, "head °C,volume mL,note\n60,0,\n90,10,fog, and a smell\n")
    assert log.readings[1].note == "fog, and a smell"
    assert "3 cells" in refused(tmp_path, "head °C,volume mL\n60,0\n90,10,5\n")


def test_a_workbook_with_times_of_the_day(tmp_path):
    import openpyxl

    book = openpyxl.Workbook()
    sheet = book.active
    sheet.title = "Montag"
    sheet.append(["Destillation 4"])
    sheet.append(["Uhrzeit", "Kopf (°C)", "Volumen (mL)"])
    sheet.append([datetime.time(9, 5), 60.5, 0])
    sheet.append([datetime.time(9, 35), 90, 10])
    stream = io.BytesIO()
    book.save(stream)
    log = log_of(tmp_path, stream.getvalue())
    assert [one.time_min for one in log.readings] == [0, 30]
    assert [one.head_c for one in log.readings] == [60.5, 90]
    assert log.readings[0].place == "row 3"


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ("a,b\n1,2\n", "no line of headings"),
        ("head °C,volume mL\n", "headings without a reading"),
        ("head °C,volume mL\n60,0\n", "1 readings"),
        (b"\x00\x01\x02\x03" * 50, "no text and no workbook"),
        ("head °C   volume mL\n60   0\n90\n", "1 cells"),
    ],
)
def test_what_is_no_log_is_refused_in_one_line(tmp_path, text, told):
    assert told in refused(tmp_path, text)


def test_a_place_that_is_not_in_the_log_is_refused(tmp_path):
    assert "line 99" in refused(tmp_path, PLAIN, as_written=("line 99",))


def test_every_kind_of_repair_has_a_name():
    import re
    import tomllib
    from importlib.resources import files

    named = tomllib.loads(files("cutbook.reports").joinpath("repairs.toml").read_text(encoding="utf-8"))
    folder = files("cutbook.importers")
    used = set()
    for module in ("still_log", "still_numbers", "still_receivers"):
        source = folder.joinpath(f"{module}.py").read_text(encoding="utf-8")
        used |= set(re.findall(r'Repair\([^"]*?(?:"", )?(?:"", )?"([a-z_]+)"', source))
    assert {"ditto", "backward", "midnight", "totals"} <= used
    assert used <= set(named)
