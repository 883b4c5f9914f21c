"""The outcome measures on their page: each figure, changed or not, and published figures."""

from __future__ import annotations

from shared_models.checks.outcome_change import SLOT
from shared_models.wording.outcome_lines import outcome_lines, published_words
from mobile.widgets.listing import ListRow
from mobile.widgets.surface import Words

OUTCOME = SLOT


def show_outcomes(page) -> None:
    """Show what the measures come to, against the person's last fitting on this tablet."""
    others = page.session.others_of_person(page.view)
    for number, line in enumerate(outcome_lines(page.view, others), 1):
        page.body.add_widget(ListRow(
            title=line.what, subtitle=line.says, trailing=line.value, pressable=False,
            test_name=f"outcome:{number}",
        ))
    for sentence in published_words(page.view):
        page.body.add_widget(Words(text=sentence, role="small", tone="ink_soft"))
