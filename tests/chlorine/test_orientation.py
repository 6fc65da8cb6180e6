"""Limits for orientation: what they were read from, and how an oil is set beside them."""

import pytest
from chemicals import safety

from cutbook.chlorine.orientation import CHLORINE, WORKPLACE_AIR, orientation_caution, orientation_limits
from cutbook.identification.target_table import target_named
from cutbook.model.tables import reference
from cutbook.reporting.cautions import put_into_words

CAS = {
    "chlorobenzene": "108-90-7", "1,2-dichlorobenzene": "95-50-1", "1,4-dichlorobenzene": "106-46-7",
    "1,2,4-trichlorobenzene": "120-82-1", "benzyl chloride": "100-44-7", "hexachlorobenzene": "118-74-1",
    "hydrogen chloride": "7647-01-0",
}  # fmt: skip


@pytest.mark.parametrize("substance", CAS)
def test_workplace_limits_of_the_library_are_still_its(substance):
    ways = {"8 h mean": safety.TWA, "15 min": safety.STEL, "ceiling": safety.Ceiling}
    compared = 0
    for limit in orientation_limits(substance, WORKPLACE_AIR):
        if limit.kind != "library":
            continue
        compared += 1
        value, unit = ways[limit.quantity](CAS[substance])
        # 24.45 L/mol at 25 °C and 101.325 kPa
        expected = limit.value if limit.unit == "ppm" else limit.value * 24.45 / target_named(substance).molar_mass
        assert (unit, value) == ("ppm", pytest.approx(expected, rel=0.01))
    assert compared


def test_limits_name_their_country_or_say_that_they_are_a_usage():
    for row in reference("orientation_limits").rows:
        assert row["as_of"] and row["source"]
        assert row["jurisdiction"] or row["source_kind"] in ("from-memory", "patent"), row
    cracker = orientation_limits(CHLORINE, "steam cracker feed")
    assert [limit.value for limit in cracker] == [3, 5]  # check values 10 and 10b
    assert {limit.unit for limit in cracker} == {"mg/kg"}
    # US used oil: 40 CFR 279.11 table 1 and 279.10(b)(1), check values 10b
    assert [limit.value for limit in orientation_limits(CHLORINE, "used-oil fuel")] == [1000, 4000]


@pytest.mark.parametrize(
    ("mg_per_kg", "u", "above", "near", "below"),
    [
        (0.1, 0.01, 0, 0, 6),
        (20.0, 2.0, 3, 0, 3),  # 1, 3, 5 | 50, 1000, 4000
        (20.0, 8.0, 2, 1, 3),  # 4 to 36: 5 lies in it, 1 and 3 below it
        (5200.0, 100.0, 6, 0, 0),  # an oil without sorbent (Brebu 2004: 5000 to 5200)
    ],
)
def test_an_oil_is_set_above_beside_or_below_each_limit(mg_per_kg, u, above, near, below):
    facts = orientation_caution(mg_per_kg, u, "oil").facts
    counts = [0 if facts[key] == "none" else facts[key].count("mg/kg (") for key in ("above", "near", "below")]
    assert counts == [above, near, below]  # of 1, 3, 5, 50, 1000 and 4000 mg/kg


def test_each_limit_is_shown_with_its_standing():
    told = put_into_words(orientation_caution(20.0, 2.0, "oil"))
    assert told.level == "note"
    assert "steam cracker feed, usual maximum: 3 mg/kg (2022, from memory)" in told.text
    assert "a patent claim" in told.text
    assert "For orientation" in told.text
