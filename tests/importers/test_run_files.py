"""Files that a run sheet names."""

import os
import sys

import pytest
from run_sheets import TRACE, a_folder

from cutbook.importers.run_sheet import read_run
from cutbook.model.errors import RunSheetError


def test_a_link_out_of_the_folder_is_refused(tmp_path):
    (tmp_path / "secret").write_text("x", encoding="utf-8")
    folder = a_folder(tmp_path, TRACE.replace("oil-fid", "link"))
    (folder / "traces" / "link.cdf").symlink_to(tmp_path / "secret")
    with pytest.raises(RunSheetError, match="'traces/link.cdf', a link that leads outside the run folder"):
        read_run(folder)


def test_a_link_inside_the_folder_is_fine(tmp_path):
    folder = a_folder(tmp_path, TRACE.replace("oil-fid", "link"))
    (folder / "traces" / "link.cdf").symlink_to(folder / "traces" / "oil-fid.cdf")
    assert read_run(folder).traces[0].file == "traces/link.cdf"


@pytest.mark.skipif(sys.platform == "win32", reason="no fifos on Windows")
def test_a_pipe_is_refused(tmp_path):
    folder = a_folder(tmp_path, TRACE.replace("oil-fid", "pipe"))
    os.mkfifo(folder / "traces" / "pipe.cdf")
    with pytest.raises(RunSheetError, match="'traces/pipe.cdf', not a regular file"):
        read_run(folder)
