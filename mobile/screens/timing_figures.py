"""The figures of a timing on a page: lines, what is left out, what is doubted."""

from __future__ import annotations

from typing import Sequence

from shared_models.checks.walk_timing import TimingFigures
from shared_models.language import spoken
from shared_models.wording import timing_lines as words
from mobile.widgets.banner import Banner
from mobile.widgets.listing import ListRow
from mobile.widgets.surface import Words

#: Characters of a value that fit beside its name; a longer one stands beneath.
_LONGEST_BESIDE = 40


def show_figures(column, figures: TimingFigures, changes: Sequence[str] = ()) -> Words:
    """Put the figures of a timing into a column; ``changes`` since the former one like it.

    Returns the words that name instrument and event.
    """
    for sentence in words.doubt_sentences(figures):
        column.add_widget(Banner(kind="doubt", text=sentence))
    column.add_widget(Words(text=words.counted_words(figures), test_name="timing:counted"))
    for line in words.timing_lines(figures):
        if line.shown and len(line.value) > _LONGEST_BESIDE:
            column.add_widget(ListRow(title=line.what, subtitle=f"{line.value}. {_capital(line.says)}.", pressable=False))
        elif line.shown:
            column.add_widget(ListRow(title=line.what, subtitle=line.says, trailing=line.value, pressable=False))
        else:
            column.add_widget(ListRow(title=line.what, subtitle=spoken("not shown yet: {says}", says=line.says), pressable=False))
    for change in changes:
        column.add_widget(Banner(kind="info", text=change))
    for sentence in (words.left_out_sentence(figures), words.jitter_words(figures)):
        if sentence:
            column.add_widget(Words(text=sentence, role="small", tone="ink_soft"))
    basis = Words(text=words.basis_words(figures), role="small", tone="ink_soft")
    column.add_widget(basis)
    return basis


def _capital(text: str) -> str:
    return text[:1].upper() + text[1:]
