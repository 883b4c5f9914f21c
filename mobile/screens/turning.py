"""Turning one adjuster between two trials: the suggestion with its reason, accepted or another chosen."""

from __future__ import annotations

from decimal import Decimal

from shared_models.language import spoken
from shared_models.quantities.amounts import text_of
from shared_models.quantities.refusals import Refusal
from shared_models.wording import trials as words
from shared_models.wording.refusals import refusal_sentence
from shared_models.wording.tuning import step_words
from mobile.flows.trial_notes import AGAIN, OVERRIDE, TrialNotes
from mobile.flows.tuning import SECOND
from mobile.widgets.banner import Banner
from mobile.widgets.buttons import PlainButton
from mobile.widgets.choices import FieldGrid
from mobile.widgets.focus_order import bring_into_sight
from mobile.widgets.surface import Words
from mobile.widgets.text_field import TextField


class Turning:
    """Records turns of a trial's adjuster; says on the page why one can't be taken so."""

    def __init__(self, page, tuning, notes: TrialNotes, then):
        self.page, self.tuning, self.notes, self.then = page, tuning, notes, then
        found = tuning.suggestion()
        self.suggested = found.position if found and found.action in ("turn", "restore") else None
        self.override = TextField(test_name="field:override_because", label=spoken(words.OVERRIDE), text=notes.get(OVERRIDE))
        self.override.fbind("on_edit", lambda _w, text: notes.keep(OVERRIDE, text))
        self.trouble = Banner(kind="doubt", test_name="turn:trouble")

    def steps(self, body) -> None:
        """Offer the smallest and the largest step each way, and the reason for another than advised."""
        adjuster, position = self.tuning.adjuster, self.tuning.position
        if position is None:
            return
        grid = FieldGrid()
        sizes = dict.fromkeys((adjuster.smallest_step, adjuster.largest_step))
        for step in [-s for s in reversed(sizes)] + list(sizes):
            after = position + step
            if not adjuster.lowest <= after <= adjuster.highest or after == self.suggested:
                continue
            button = PlainButton(
                text=words.step_choice_words(self.tuning.direction(after), after), test_name=f"turn:{text_of(after)}",
            )
            button.fbind("on_release", lambda *_, to=after: self.turn(to))
            grid.add_widget(button)
        body.add_widget(grid)
        if self.tuning.suggestion() is not None:
            body.add_widget(self.override)

    def turn(self, after: Decimal) -> None:
        """Record that the adjuster now stands at ``after``."""
        trouble = self.tuning.step_trouble(after)
        found = self.tuning.suggestion()
        advised = self.suggested is not None and after == self.suggested
        # A second change at once is asked about even where each is advised; putting back is none.
        excused = advised and (trouble != SECOND or found.action == "restore")
        because = "" if excused else self.override.text.strip()
        if trouble == "outside" or (trouble and not excused and not because):
            if self.override.parent is None:
                self.page.body.add_widget(self.override)
            self._say(step_words(trouble, self.tuning.adjuster, self.tuning.turned_besides()))
            return
        reason = "restored" if found and found.action == "restore" and advised else "trial"
        try:
            entry = self.tuning.turned(after, reason, because)
        except Refusal as refusal:
            self._say(refusal_sentence(refusal))
            return
        self.notes.forget(OVERRIDE, AGAIN)
        self.page.saved(entry)
        self.then()

    def _say(self, sentence: str) -> None:
        self.trouble.lead = sentence
        if self.trouble.parent is None:
            # Right above the reason that it asks for.
            place = self.override.parent or self.page.body
            place.add_widget(self.trouble, index=place.children.index(self.override) + 1 if self.override.parent else 0)
        bring_into_sight(self.trouble)


class TurningPart:
    """The state between two trials: what to turn, why, and what else may be chosen."""

    def __init__(self, page, turning: Turning):
        self.page, self.turning = page, turning
        tuning = turning.tuning
        page.body.add_widget(Words(text=tuning.big_words(), role="title", bold=True, test_name="suggestion"))
        reasons = " ".join(filter(None, (tuning.reason_said(), *tuning.reason_words()[1:])))
        page.body.add_widget(Words(text=reasons, test_name="reasons"))
        page.body.add_widget(Words(text=spoken(words.ANOTHER), bold=True))
        turning.steps(page.body)
