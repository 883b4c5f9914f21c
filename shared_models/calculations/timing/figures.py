"""One figure, with all that it may be compared by and all that limits it."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any, Mapping

#: What an event is called when nobody says more.
INITIAL_CONTACT = "initial contact"


@dataclass(frozen=True)
class Basis:
    """What a figure was measured with and what counted as a contact.

    ``instrument`` is free text ('thumb taps on the tablet'); ``event`` says
    which moment counts ('foot first touches the floor, as seen').
    """

    instrument: str
    event: str = INITIAL_CONTACT


#: Taps on this program's own page.
THUMB_TAPS = Basis("thumb taps on the tablet", "foot first touches the floor, as seen by the tapper")


@dataclass(frozen=True)
class Because:
    """Why a figure is not worth showing: a code and figures; worded in ``wording``."""

    code: str
    figures: Mapping[str, Any] = field(default_factory=dict)


@dataclass(frozen=True)
class Figure:
    """One computed figure.

    ``quantity`` has its unit in its name ('step_time_s'); ``side`` is left,
    right, both, or '' where there is none; ``statistic`` is mean, median, sd,
    cv_percent, an index, or '' for a figure of the whole walk.  ``n`` counts
    intervals (of both sides together for an index).  ``value`` is None when
    there is nothing to compute it from.

    ``u_taps`` is the standard uncertainty that the taps' jitter leaves,
    ``u_variation`` the one from the intervals' own variation; ``low`` and
    ``high`` bound 95 %, ``taps_low`` and ``taps_high`` for the taps alone.
    None where they can't be given.

    ``because`` is None when the figure is worth showing.
    """

    quantity: str
    side: str
    statistic: str
    value: float | None
    n: int
    basis: Basis
    formula: str
    source: str = ""
    equal_at: float | None = None
    u_taps: float | None = None
    u_variation: float | None = None
    low: float | None = None
    high: float | None = None
    taps_low: float | None = None
    taps_high: float | None = None
    because: Because | None = None

    @property
    def key(self) -> str:
        """Return quantity, side and statistic, joined by full stops."""
        return ".".join(part for part in (self.quantity, self.side, self.statistic) if part)

    @property
    def worth_showing(self) -> bool:
        """Return whether enough clean strides stand behind it."""
        return self.value is not None and self.because is None
