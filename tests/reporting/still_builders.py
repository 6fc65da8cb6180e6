"""A made-up distillation for reports: its log is text, as a hand would write it."""

from still_logs import curve_of, entry, receiver

from cutbook.fractions.still_properties import still_properties
from cutbook.workup.findings import DistillationFindings

LOG = """time,pot (°C),head (°C),volume (mL),pressure (mbar),receiver,note
13:00,110,82.0,0,1002,{receiver},first drop
13:10,150,121.5,25,",",{note}
13:20,188,160.0,50,",",
13:30,231,199.0,40,",",
13:40,250,215.0,75,",",
13:50,200,150.0,2,20,2,changed receiver
14:00,230,185.0,14,",",
"""


def a_distillation(receiver_name="1", note=""):
    """One distillation at the barometer and under vacuum, with a reading left out; volumes, a charge, a residue."""
    said = {
        "charge_mass": "79.0 g", "charge_volume": "100.0 mL", "residue_mass": "7.1 g", "kind": "simple",
        "receivers": (receiver("2", "11.2 g"),),
    }  # fmt: skip
    quoted = '"' + note.replace('"', '""') + '"' if note else ""
    curve = curve_of(LOG.format(receiver=receiver_name, note=quoted), "0.790 g/mL", **said)
    return DistillationFindings("oil", entry(**said), curve, still_properties(curve)[0])
