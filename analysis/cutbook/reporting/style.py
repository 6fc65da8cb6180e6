"""Colours and lettering of figures, page and charts, from `reports/style.toml`."""

from __future__ import annotations

import io
import re
import tomllib
import warnings
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

NOT_XML = re.compile("[\x00-\x08\x0b\x0c\x0e-\x1f\ufffe\uffff]")
BY_WEIGHT = ("gas", "gasoline", "diesel", "wax", "char")


@dataclass(frozen=True)
class Look:
    """How a cut is filled: colour and hatch, and the ink that is read on it."""

    colour: str
    hatch: str

    @property
    def ink(self) -> str:
        """Dark or white, whichever is read on the colour."""
        return "#FFFFFF" if lightness(self.colour) < 50 else style()["ink"]["text"]


@cache
def style() -> dict[str, Any]:
    """The style tables as read."""
    return tomllib.loads(files("cutbook.reports").joinpath("style.toml").read_text(encoding="utf-8"))


def lightness(colour: str) -> float:
    """Lightness L* (CIE 1976, D65) of a colour "#RRGGBB", 0 to 100."""
    parts = [int(colour[i : i + 2], 16) / 255 for i in (1, 3, 5)]
    linear = [p / 12.92 if p <= 0.04045 else ((p + 0.055) / 1.055) ** 2.4 for p in parts]
    luminance = 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]
    return 116 * luminance ** (1 / 3) - 16 if luminance > 0.008856 else 903.3 * luminance


def looks(cuts: list[str]) -> dict[str, Look]:
    """A look for each cut of one scheme, given from light to heavy.

    Cuts with a look of their own take it; the others take the unused looks in boiling order.
    """
    own = style()["cuts"]
    found: dict[str, Look] = {}
    free = [name for name in BY_WEIGHT[1:4] if name not in cuts]
    for cut in cuts:
        name = next((key for key in own if cut == key or cut.endswith(f", {key}")), "")
        if not name:
            name = free.pop(0) if free else "not analysed"
        found[cut] = Look(own[name]["colour"], own[name]["hatch"])
    return found


@contextmanager
def drawing(
    height_in: float, rows: tuple[float, ...] = (1.0,), margins_in: tuple[float, float, float, float] | None = None
) -> Iterator[tuple[Figure, list[Axes]]]:
    """A figure of the house width with one column of axes; lettering as in the style, nothing drawn by pyplot.

    Parameters
    ----------
    height_in : in inches. rows : heights of the axes against one another.
    margins_in : left, right, below and above the axes, in inches; found by the lettering when not said, which takes
        half as long again.
    """
    import matplotlib as mpl
    from matplotlib.backends.backend_svg import FigureCanvasSVG
    from matplotlib.figure import Figure

    wanted, ink = style()["figure"], style()["ink"]
    settings: Any = {
        "font.family": [wanted["font"]],
        "font.size": wanted["size_pt"],
        "text.color": ink["text"],
        "axes.edgecolor": ink["text"],
        "axes.labelcolor": ink["text"],
        "axes.linewidth": 0.6,
        "xtick.color": ink["text"],
        "ytick.color": ink["text"],
        "xtick.major.width": 0.6,
        "ytick.major.width": 0.6,
        "xtick.major.size": 3.0,
        "ytick.major.size": 3.0,
        "axes.spines.top": False,
        "axes.spines.right": False,
        "hatch.linewidth": 0.5,
        "svg.fonttype": "path",
        "svg.hashsalt": "cutbook",
        "path.simplify": True,
        "text.parse_math": False,
        "text.usetex": False,
    }
    with mpl.rc_context(settings):
        figure = Figure(figsize=(wanted["width_in"], height_in), layout=None if margins_in else "constrained")
        FigureCanvasSVG(figure)
        if margins_in is not None:
            left, right, below, above = margins_in
            figure.subplots_adjust(
                left / wanted["width_in"], below / height_in, 1 - right / wanted["width_in"], 1 - above / height_in,
                hspace=0.26,
            )  # fmt: skip
        axes = figure.subplots(len(rows), 1, squeeze=False, height_ratios=list(rows))
        yield figure, list(axes[:, 0])


def svg_text(figure: Figure) -> str:
    """The figure as SVG, the same bytes for the same figure: no date, no random names."""
    buffer = io.StringIO()
    with warnings.catch_warnings():
        warnings.filterwarnings("ignore", message="Glyph .* missing from")  # drawn as a box; tables hold the name
        figure.savefig(buffer, format="svg", metadata={"Date": None, "Creator": None})
    return NOT_XML.sub("", buffer.getvalue())


def comma_axis(axis: Any, decimal: str) -> None:
    """Write the numbers of an axis with a decimal comma where that is selected."""
    if decimal != "comma":
        return
    from matplotlib.ticker import FuncFormatter, ScalarFormatter

    plain = ScalarFormatter()
    plain.set_axis(axis)

    def text(value: float, place: int | None) -> str:
        plain.set_locs(axis.get_majorticklocs())
        return str(plain(value, place)).replace(".", ",")

    axis.set_major_formatter(FuncFormatter(text))
