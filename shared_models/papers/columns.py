"""How wide the columns of a table are, so that it takes the fewest lines with no word cut in two."""

from __future__ import annotations

from typing import Sequence

#: Widths of the words of one cell in the order they stand, in mm.
Words = Sequence[float]

#: Shares of the table's width that are moved from one column to another, the coarse ones first.
_MOVES = (0.36, 0.24, 0.12, 0.06, 0.03, 0.015)
#: The share that each column keeps.
_LEAST = 0.05
#: So many rows, evenly taken, stand for a longer table.
_ROWS_LOOKED_AT = 60
#: A word cut in two counts as so many lines, and more the less of it there is room for.
_CUT = 4.0


def lines_of(words: Words, blank: float, wide: float) -> float:
    """Return how many lines the words of a cell take at a width in mm; a word that is cut counts as several."""
    lines, filled = 0.0, 0.0
    for word in words:
        if word > wide:
            lines, filled = lines + _CUT * word / max(wide, 1.0), wide
        elif lines and filled + blank + word <= wide:
            filled += blank + word
        else:
            lines, filled = lines + 1, word
    return lines


def fitted(shares: Sequence[float], rows: Sequence[Sequence[Words]], blank: float, wide: float, beside: float) -> list[float]:
    """Return the widths of the columns in mm, begun at the given shares of ``wide``.

    Width is moved from column to column for as long as the table gets lower by
    it, or of equally low ones fewer cells go on to a second line.  ``blank`` is
    the width of a space, ``beside`` what a cell keeps free at both its sides
    together, all in mm.
    """
    looked_at = rows[::max(1, -(-len(rows) // _ROWS_LOOKED_AT))]
    columns = range(len(shares))

    def lines_in(column: int, share: float) -> list[float]:
        return [lines_of(row[column], blank, share * wide - beside) for row in looked_at]

    def high(lines: Sequence[Sequence[float]]) -> tuple[float, float]:
        return sum(max(1.0, *cells) for cells in zip(*lines)), sum(map(sum, lines))

    now = list(shares)
    lines = [lines_in(column, now[column]) for column in columns]
    lowest = high(lines)
    for move in _MOVES:
        better = True
        while better:
            better = False
            for giver in columns:
                for taker in columns:
                    if giver == taker or now[giver] < move + _LEAST:
                        continue
                    changed = list(lines)
                    changed[giver] = lines_in(giver, now[giver] - move)
                    changed[taker] = lines_in(taker, now[taker] + move)
                    if high(changed) < lowest:
                        now[giver], now[taker] = now[giver] - move, now[taker] + move
                        lines, lowest, better = changed, high(changed), True
    return [share * wide for share in now]
