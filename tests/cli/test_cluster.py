"""The same runs on the workers of a scheduler: the same results, and a worker that dies loses nothing."""

import os
import signal
import socket
import subprocess
import sys
import threading
import time

import pytest
from click.testing import CliRunner
from small_runs import call_apart, small_run

from cutbook.cli import cluster
from cutbook.cli.job import Job
from cutbook.cli.main import main

pytest.importorskip("distributed", exc_type=ImportError)

CLUSTER = """\
import sys
from distributed import LocalCluster

if __name__ == "__main__":
    with LocalCluster(n_workers=2, threads_per_worker=1, processes=True, dashboard_address=None, host="127.0.0.1") as two:
        print(two.scheduler_address, *(one.process.pid for one in two.workers.values()), flush=True)
        sys.stdin.read()
"""


@pytest.fixture
def running(tmp_path):
    """Address of a scheduler with two workers, and their process numbers."""
    script = tmp_path / "two_workers.py"
    script.write_text(CLUSTER, encoding="utf-8")
    process = subprocess.Popen(
        [sys.executable, str(script)], stdin=subprocess.PIPE, stdout=subprocess.PIPE, stderr=subprocess.DEVNULL,
        text=True, cwd=tmp_path,
    )  # fmt: skip
    address, *pids = process.stdout.readline().split()
    yield address, [int(pid) for pid in pids]
    process.communicate()


def one_line(*words):
    done = CliRunner().invoke(main, ["workup", *(str(word) for word in words)])
    assert done.exit_code == 1
    assert done.stderr.count("\n") == 1
    return done.stderr


@pytest.mark.skipif(os.name != "posix", reason="kills with a signal of POSIX")
def test_a_batch_on_a_cluster_gives_what_it_gives_here_though_a_worker_is_killed(tmp_path, running, monkeypatch):
    names = [f"run-{number}" for number in range(6)]
    for name in names:
        small_run(tmp_path / name)
    (tmp_path / "bad").mkdir()
    monkeypatch.chdir(tmp_path)
    here = CliRunner().invoke(main, ["workup", *names, "bad"])
    expected = {name: (tmp_path / name / "results" / "results.json").read_bytes() for name in names}
    address, pids = running

    def strike():
        # while a worker is at its first run, which it has begun when the folder aside appears
        while not list(tmp_path.glob("*/.results.writing-*")) and not struck.is_set():
            time.sleep(0.001)
        os.kill(pids[0], signal.SIGKILL)

    struck = threading.Event()
    striker = threading.Thread(target=strike)
    striker.start()
    there = call_apart(*names, "bad", "--cluster", address, "--fresh")
    struck.set()
    striker.join()
    assert (there.returncode, there.stdout) == (here.exit_code, here.stdout)
    assert there.returncode == 1
    assert there.stderr.splitlines()[-1] == "1 of 7 runs was not worked up: bad"
    assert {name: (tmp_path / name / "results" / "results.json").read_bytes() for name in names} == expected
    for name in names:
        again = CliRunner().invoke(main, ["workup", str(tmp_path / name)])
        assert again.output.splitlines()[-1].startswith("  unchanged")
        assert sorted(entry.name for entry in (tmp_path / name).iterdir()) == ["results", "run.toml"]


def test_nobody_at_the_address_is_one_line_before_long(monkeypatch):
    monkeypatch.setattr(cluster, "ANSWER_S", 1)
    with socket.socket() as bound:  # a port that is taken and does not listen
        bound.bind(("127.0.0.1", 0))
        address = f"tcp://127.0.0.1:{bound.getsockname()[1]}"
        assert one_line("x", "--cluster", address) == (
            f"{address}, --cluster: found no scheduler that answers; expected the address of a running Dask scheduler "
            "with workers, such as tcp://host:8786\n"
        )


@pytest.mark.parametrize("address", ["", "host", "host:8786", "http://host:8786", "tcp://host", "tcp://a b:1"])
def test_what_is_no_address_is_one_line(address):
    assert "--cluster: found no address of a scheduler" in one_line("x", "--cluster", address)


def test_without_dask_one_line_says_what_to_install(monkeypatch):
    monkeypatch.setitem(sys.modules, "distributed", None)
    assert one_line("x", "--cluster", "tcp://127.0.0.1:8786") == (
        "--cluster needs Dask: pip install 'cutbook[cluster]'\n"
    )


def test_a_worker_with_another_program_does_not_work_up(tmp_path):
    done = cluster.on_worker(Job(tmp_path, tmp_path / "results"), "another digest")
    assert "another version of cutbook" in str(done.error)
