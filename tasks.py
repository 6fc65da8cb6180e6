"""Set up and run everything: python3 tasks.py demo | test | check | examples | bench | fuzz [INPUTS].

Needs Python 3.11 or newer only. `fuzz` feeds each importer, the run sheet and the settings INPUTS damaged inputs
(100,000 when not said, about half an hour on two cores); it needs Linux.
"""

import hashlib
import os
import subprocess
import sys
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

ROOT = Path(__file__).resolve().parent
VENV = ROOT / ".venv"
PYTHON = VENV / ("Scripts/python.exe" if os.name == "nt" else "bin/python")


def run(*command):
    print("+", " ".join(str(part) for part in command), flush=True)
    if (code := subprocess.call([str(part) for part in command], cwd=ROOT)) != 0:
        sys.exit(code)


def set_up(extra):
    """Create .venv and install the project into it, unless pyproject.toml is unchanged since the last time."""
    try:
        import ensurepip  # noqa: F401
        import venv
    except ImportError:
        sys.exit("Python lacks the venv module; install it first (Debian and Ubuntu: apt install python3-venv).")
    stamp = VENV / f"installed{extra}.stamp"
    wanted = hashlib.sha256((ROOT / "pyproject.toml").read_bytes()).hexdigest()
    if PYTHON.exists() and stamp.exists() and stamp.read_text() == wanted:
        return
    if not PYTHON.exists():
        print("creating", VENV, flush=True)
        venv.create(VENV, with_pip=True)
    run(PYTHON, "-m", "pip", "install", "--quiet", "--disable-pip-version-check", "--editable", f".{extra}")
    stamp.write_text(wanted)


def test():
    set_up("[dev]")
    run(PYTHON, "-m", "pytest")


def check():
    set_up("[dev]")
    run(PYTHON, "-m", "ruff", "check", ".")
    run(PYTHON, "-m", "ruff", "format", "--check", ".")
    run(PYTHON, "-m", "mypy")
    run(PYTHON.with_name("lint-imports" + PYTHON.suffix))


def demo():
    """Write the example runs, work them up, say where the results are."""
    set_up("")
    run(PYTHON, "-m", "cutbook.cli", "demo", ROOT / "demo")


def examples():
    """Make the example runs anew."""
    set_up("")
    run(PYTHON, ROOT / "examples" / "generator" / "make_examples.py")


def bench():
    """Print the speed of the hot paths beside their floors; --short takes one round only."""
    set_up("[dev]")
    run(PYTHON, ROOT / "tests" / "speed" / "bench.py", *sys.argv[2:])


def fuzz():
    """Fuzz every target, two side by side; what crashes is left in tests/fuzz/crashes."""
    inputs = sys.argv[2] if len(sys.argv) > 2 else "100000"
    set_up("[dev,fuzz]")
    script = ROOT / "tests" / "fuzz" / "run_fuzz.py"
    names = subprocess.check_output([PYTHON, script, "names"], text=True, cwd=ROOT, stderr=subprocess.DEVNULL).split()

    def one(name):
        ended = subprocess.run([PYTHON, script, name, inputs], cwd=ROOT, stdout=subprocess.PIPE,
                               stderr=subprocess.STDOUT, text=True, errors="replace")  # fmt: skip
        print(f"{name}: {inputs} inputs, {'no crash' if ended.returncode == 0 else 'CRASHED'}", flush=True)
        if ended.returncode:
            print("\n".join(ended.stdout.splitlines()[-25:]), flush=True)
        return ended.returncode

    with ThreadPoolExecutor(2) as pool:
        if any(list(pool.map(one, names))):
            sys.exit(1)


TASKS = {"demo": demo, "test": test, "check": check, "examples": examples, "bench": bench, "fuzz": fuzz}

if __name__ == "__main__":
    if sys.version_info < (3, 11):
        sys.exit(f"Python 3.11 or newer is needed; this is {sys.version.split()[0]}.")
    if len(sys.argv) < 2 or sys.argv[1] not in TASKS or (len(sys.argv) > 2 and sys.argv[1] not in ("bench", "fuzz")):
        sys.exit(f"usage: python3 tasks.py {' | '.join(TASKS)}")
    TASKS[sys.argv[1]]()
