"""A picture of a flexing: every reading over time, drop-outs marked."""

from __future__ import annotations

import io
import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, Final

from coilmeter.report.plots import LOG_FROM, with_alternative
from coilmeter.report.safe import printable
from coilmeter.units import format_ohm

if TYPE_CHECKING:
    from matplotlib.axes import Axes

_BLUE: Final = "#0b5394"
_RED: Final = "#990000"
_GREY: Final = "#999999"
_GREEN: Final = "#274e13"
_SHORTEST_S: Final = 0.05
"""A drop-out is drawn no narrower: it must be seen."""


@dataclass(frozen=True, slots=True)
class FlexPicture:
    """What is to be drawn, times in seconds and resistances in ohm.

    Parameters
    ----------
    at, ohm
        The readings, infinity for open ones.
    moved_from
        Since when the joint was moved.
    level_ohm, limit_ohm
        Level at rest, and the change that counts.
    dropouts, left_out
        When it was open, from and to; and OL that was left out.
    changes
        When the level changed.

    """

    at: Sequence[float]
    ohm: Sequence[float]
    moved_from: float
    level_ohm: float
    limit_ohm: float
    dropouts: Sequence[tuple[float, float]] = ()
    left_out: Sequence[tuple[float, float]] = ()
    changes: Sequence[float] = ()

    def alternative(self) -> str:
        """Say in words what the picture shows."""
        values = [ohm for ohm in self.ohm if math.isfinite(ohm)]
        ends = f" from {format_ohm(min(values))} to {format_ohm(max(values))}" if values else ""
        texts = [
            f"Resistance over {self.at[-1] - self.at[0]:.4g} s: {len(self.at)} readings{ends}",
            f"moved from {self.moved_from - self.at[0]:.4g} s on",
            f"{len(self.dropouts)} x open (marked over the whole height)",
            f"{len(self.changes)} x changed (marked at the bottom edge)",
        ]
        if self.left_out:
            texts.append(f"{len(self.left_out)} x OL left out (shaded)")
        return f"{'; '.join(texts)}."

    def draw(self, shape: str, title: str) -> bytes:
        """Draw the picture as ``svg`` or ``png``, its text alternative in the file."""
        import matplotlib as mpl  # noqa: PLC0415 - heavy, and only here
        from matplotlib.figure import Figure  # noqa: PLC0415 - as above

        title = printable(title)
        with mpl.rc_context():
            # Not as this user has set up other programs, and the same bytes each time.
            mpl.rcdefaults()
            mpl.rcParams.update({"svg.fonttype": "none", "svg.hashsalt": "coilmeter"})
            figure = Figure(figsize=(10.0, 5.0), layout="constrained")
            axes = figure.add_subplot()
            # Letters that the font does not have would be boxes, each with a warning.
            shown = title.encode("ascii", "backslashreplace").decode()
            axes.set_title(shown, parse_math=False)
            self._draw(axes)
            file = io.BytesIO()
            about = {"Title": title, "Description": self.alternative()}
            metadata: dict[str, Any] = {"Date": None} if shape == "svg" else about
            figure.savefig(file, format=shape, metadata=metadata)
        data = file.getvalue()
        return with_alternative(data, **about) if shape == "svg" else data

    def _draw(self, axes: Axes) -> None:
        first = self.at[0]
        at = [time - first for time in self.at]
        finite = [ohm if math.isfinite(ohm) else math.nan for ohm in self.ohm]
        values = [ohm for ohm in self.ohm if math.isfinite(ohm)]
        axes.axvspan(0.0, self.moved_from - first, color=_GREEN, alpha=0.08, label="at rest")
        low, high = self.level_ohm - self.limit_ohm, self.level_ohm + self.limit_ohm
        axes.axhspan(low, high, color=_GREY, alpha=0.25, label="no change")
        axes.plot(at, finite, color=_BLUE, linewidth=1.0, marker=".", markersize=3.5)
        for spans, color, label in (
            (self.dropouts, _RED, "open"),
            (self.left_out, _GREY, "OL left out"),
        ):
            for number, (begun, ended) in enumerate(spans):
                axes.axvspan(
                    begun - first,
                    max(ended, begun + _SHORTEST_S) - first,
                    color=color,
                    alpha=0.5,
                    label=label if number == 0 else f"_{label}",
                )
        if self.changes:
            axes.plot(
                [time - first for time in self.changes],
                [0.0] * len(self.changes),
                linestyle="none",
                marker="^",
                color="#b45f06",
                label="changed",
                transform=axes.get_xaxis_transform(),
                clip_on=False,
                zorder=3,
            )
        if values and min(values) > 0 and max(values) / min(values) >= LOG_FROM:
            axes.set_yscale("log")
        axes.set_xlim(0.0, max(at[-1], _SHORTEST_S))
        axes.set_xlabel("time in s")
        axes.set_ylabel("resistance in ohm")
        axes.grid(visible=True, alpha=0.3)
        axes.legend(loc="center left", bbox_to_anchor=(1.01, 0.5))
