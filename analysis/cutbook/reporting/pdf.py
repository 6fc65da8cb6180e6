"""Print the page as PDF with WeasyPrint, an extra."""

from __future__ import annotations

from cutbook.model.errors import MissingExtraError


def pdf(html: str) -> bytes:
    """The report as PDF.

    Parameters
    ----------
    html : the page.

    Returns
    -------
    bytes
        A4, with the still figures; an address outside the page is left out, never fetched.

    Raises
    ------
    MissingExtraError
        When WeasyPrint, or the Pango library it draws with, is not installed.
    """
    try:
        from weasyprint import HTML
        from weasyprint.urls import URLFetcher
    except (ImportError, OSError) as error:
        raise MissingExtraError(
            "PDF needs WeasyPrint: print report.html from the browser, or pip install 'cutbook[pdf]'"
            + ("" if isinstance(error, ImportError) else " and the Pango library of your system")
        ) from error
    inside_only = URLFetcher(allowed_protocols=("data",), allow_redirects=False)
    return bytes(HTML(string=html, url_fetcher=inside_only).write_pdf())
