"""Run folders that are worked up in no time, and the command that does so in a process of its own."""

import os
import subprocess
import sys

SHEET = """\
[run]
id = "{name}"

[[feed]]
material = "HDPE"
mass = "100.0 g"

[[product]]
fraction = "char"
mass = "{mass}"
"""


def small_run(folder, name="", mass="20.1 g"):
    """A run in a folder, which is made; named after it where no name is given."""
    folder.mkdir(exist_ok=True)
    (folder / "run.toml").write_text(SHEET.format(name=name or folder.name, mass=mass), encoding="utf-8")
    return folder


def command(*words):
    return [sys.executable, "-m", "cutbook.cli", "workup", *(str(word) for word in words)]


def call_apart(*words, **more):
    """The command, run to its end; `more` goes into its environment."""
    environment = {**os.environ, "PYTHONUTF8": "1", **more}
    return subprocess.run(command(*words), capture_output=True, text=True, encoding="utf-8", env=environment)
