"""The page as PDF, where the extra is installed."""

import sys

import pytest
from reporting_builders import a_run

from cutbook.model.errors import MissingExtraError
from cutbook.reporting.page import page
from cutbook.reporting.pdf import pdf


def test_without_the_extra_one_line_says_what_to_do(monkeypatch):
    monkeypatch.setitem(sys.modules, "weasyprint", None)
    with pytest.raises(MissingExtraError, match=r"print report.html from the browser, or pip install 'cutbook\[pdf\]'"):
        pdf("<p>x</p>")


def test_the_page_prints_with_its_figures():
    pytest.importorskip("weasyprint", reason="the extra pdf is not installed", exc_type=ImportError)
    data = pdf(page(a_run(points=1500)))
    assert data.startswith(b"%PDF-")
    assert len(data) > 50_000
    assert pdf("<p>x</p>") != data


def test_an_address_outside_the_page_is_never_fetched(monkeypatch):
    pytest.importorskip("weasyprint", reason="the extra pdf is not installed", exc_type=ImportError)
    import socket

    def asked(*args, **more):
        raise AssertionError(f"the network was asked for {args}")

    monkeypatch.setattr(socket, "getaddrinfo", asked)
    monkeypatch.setattr(socket.socket, "connect", asked)
    assert pdf('<p>x</p><img src="http://127.0.0.1:9/x.png">').startswith(b"%PDF-")
