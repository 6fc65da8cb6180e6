"""The page: one file that fetches nothing and runs nothing but its own script."""

import base64
import hashlib
import json
import re

import pytest
from reporting_builders import TAG, a_run

from cutbook.reporting.numbers import OutputSettings
from cutbook.reporting.packed_trace import unpacked
from cutbook.reporting.page import json_in_page, page


@pytest.fixture(scope="module")
def html(findings):
    return page(findings)


def test_the_policy_names_the_hash_of_every_script_and_style(html):
    policy = re.search(r'Content-Security-Policy" content="([^"]*)"', html).group(1).replace("&#39;", "'")
    assert policy.startswith("default-src 'none'")
    assert "unsafe" not in policy
    scripts = re.findall(r"<script>(.*?)</script>", html, re.S)
    styles = re.findall(r"<style>(.*?)</style>", html, re.S)
    assert len(scripts) == 2
    assert len(styles) == 1
    for text in scripts + styles:
        digest = base64.b64encode(hashlib.sha256(text.encode()).digest()).decode()
        assert f"'sha256-{digest}'" in policy


def test_nothing_outside_the_file_is_named(html):
    body = re.sub(r"<script>.*?</script>", "", html, flags=re.S)
    assert not re.findall(r'(?:src|href)="(?!data:|#)[^"]*"', body)
    assert "style=" not in re.sub(r"<style>.*?</style>", "", body, flags=re.S)


def test_hostile_text_is_escaped_everywhere():
    told = page(a_run(hostile=True, points=1500), drawn=())
    assert TAG not in told
    assert "<img src=http" not in told
    assert told.count("<script") == 3
    assert "&lt;/script&gt;" in told


def test_json_in_the_page_cannot_end_its_element():
    text = json_in_page({"a": "</script><!--&"})
    assert not re.search(r"[<>&]", text)
    assert json.loads(text) == {"a": "</script><!--&"}


def test_the_whole_trace_is_inside_to_the_stated_step(html, findings):
    data = json.loads(re.search(r'id="traces">(.*?)</script>', html, re.S).group(1))
    trace, sample = data["traces"]["t1"], findings.samples[0].trace
    again = unpacked(trace["signal"]["text"], trace["signal"]["step"])
    assert len(again) == len(sample.signal)
    assert abs(again - sample.signal).max() <= trace["signal"]["step"] / 2 * (1 + 1e-9)
    assert f"signal rounded to {trace['signal']['step']:g}" in html


def test_cautions_come_before_the_numbers_and_dangers_first(html):
    assert html.index('id="cautions"') < html.index('id="yields"') < html.index('id="balance"')
    levels = re.findall(r'class="caution (\w+)"', html)
    assert levels == sorted(levels, key=["danger", "warning", "note"].index)


def test_headline_numbers_carry_their_uncertainty(html, findings):
    from cutbook.reporting.numbers import expanded_text, value_text

    gasoline = findings.named()["cuts.carbon-number.gasoline.yield"]
    assert re.search(rf">{value_text(gasoline)}<span class=\"pm\">&nbsp;±&nbsp;{expanded_text(gasoline)}", html)


def test_a_missing_number_says_so_and_why():
    told = page(a_run(gas="by difference", points=1500), drawn=())
    assert "not determined" in told
    assert "taken as the difference to 100 %" in told


def test_every_scheme_stands_there_with_its_limits(html):
    for text in ("C5–C12", "C5–C11", "36–200 °C", "carbon-4-12-20", "boiling-36-200-350"):
        assert text in html


def test_a_run_without_a_ladder_makes_a_page():
    told = page(a_run(ladder=False, points=1500), drawn=())
    assert "No cuts: no sample has an n-alkane ladder." in told
    assert "Peaks (" in told


def test_the_decimal_comma_reaches_text_tables_and_chart():
    told = page(a_run(points=1500), OutputSettings(decimal="comma"), drawn=())
    assert '"decimal":"comma"' in told
    assert re.search(r'<td class="n">\d+,\d+</td>', told)
    assert not re.search(r'<td class="n">\d+\.\d+</td>', told)


def test_the_same_findings_give_the_same_page():
    assert page(a_run(points=1500), drawn=()) == page(a_run(points=1500), drawn=())
