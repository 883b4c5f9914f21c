"""How the weight is shared between the legs, as one bar."""

from __future__ import annotations

from shared_models.calculations.alignment.weights import LEAST_SHARE_PERCENT
from shared_models.checks.alignment_weights import Weights
from shared_models.drawings.plain_shapes import wrapped
from shared_models.drawings.scene import Area, Label, Line, Shape, rectangle
from shared_models.language import spoken
from shared_models.wording import alignment_drawing as words

_HATCH = 12


def share_place(share_percent: float, away: int, left: float, width: float) -> float:
    """Return the x up to which a share reaches, counted from the prosthesis' end of the bar.

    ``away`` is 1 where the prosthesis stands at the right, -1 at the left.
    """
    part = width * share_percent / 100
    return left + width - part if away > 0 else left + part


def balance_bar(weights: Weights, away: int, place: tuple[float, float, float, float], line: float, brief: bool = False) -> list[Shape]:
    """Return the bar in ``place`` (left, bottom, width, height), with the range that tells too little.

    ``line`` is the height of a line of type in the same unit; ``brief`` says
    the share in the fewest words.

    That range is hatched, so that it is told without colour too.
    """
    left, bottom, width, high = place
    end = left + width if away > 0 else left
    least = share_place(float(LEAST_SHARE_PERCENT), away, left, width)
    shapes: list[Shape] = [Area(rectangle(left, bottom, width, high), "panel")]
    share = weights.share_percent
    if share is not None:
        reaches = share_place(min(share, 100.0), away, left, width)
        tone = "doubt" if words.share_is_doubted(share) else "working"
        shapes.append(Area(rectangle(min(end, reaches), bottom + high * 0.2, abs(end - reaches), high * 0.6), tone))
        shapes.append(Line(((reaches, bottom - 8), (reaches, bottom + high + 8)), "ink", 4.0))
    shapes += _hatched(min(end, least), max(end, least), bottom, high)
    shapes.append(Line(rectangle(left, bottom, width, high), "ink", 1.5, closed=True))
    shapes.append(Line(((least, bottom - 14), (least, bottom + high)), "ink", 2.0))
    doubt = share is not None and words.share_is_doubted(share)
    told = spoken(words.NOT_READ) if share is None else words.share_words(share, weights.share_is_most, brief)
    if doubt and not brief:
        told += f", {words.least_share_words()}"
    told = wrapped(told, width, 1.12 * line)  # bold letters are that much wider
    shapes.append(Label((left + width / 2, bottom - 12), told, "body", "doubt_text" if doubt else "ink", bold=share is not None, up="top"))
    return shapes


def _hatched(left: float, right: float, bottom: float, high: float) -> list[Shape]:
    """Slanting strokes over the range below the least share."""
    step = (right - left) / _HATCH
    return [
        Line(((left + n * step, bottom), (min(left + (n + 1) * step, right), bottom + high)), "ink_soft", 1.0)
        for n in range(_HATCH)
    ]
