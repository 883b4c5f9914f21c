"""Turning one adjuster between two trials: the suggestion with its reason, accepted or another chosen."""

from __future__ import annotations

from decimal import Decimal
from typing import Callable

from shared_models.catalogue.edition import Kind
from shared_models.checks.changed_since import BESIDES
from shared_models.language import spoken
from shared_models.quantities.amounts import text_of
from shared_models.quantities.refusals import Refusal
from shared_models.wording import trials as words
from shared_models.wording.refusals import refusal_sentence
from shared_models.wording.tuning import step_words
from mobile.flows.trial_notes import AGAIN, OVERRIDE, SECOND, TrialNotes
from mobile.widgets.banner import Banner
from mobile.widgets.buttons import PlainButton
from mobile.widgets.choices import FieldGrid
from mobile.widgets.focus_order import bring_into_sight
from mobile.widgets.surface import Column, Words
from mobile.widgets.text_field import TextField
from mobile.widgets.theme import theme


class Turning:
    """Records turns of a trial's adjuster; says on the page why one can't be taken so."""

    def __init__(self, page, tuning, notes: TrialNotes, then):
        self.page, self.tuning, self.notes, self.then = page, tuning, notes, then
        found = tuning.suggestion()
        self.suggested = found.position if found and found.action in ("turn", "restore") else None
        kind = tuning.view.edition.kinds["setting"]
        #: Why, each under its own label: another step than advised, and a second change before the next walk.
        self.override = self._reason("override_because", kind, OVERRIDE)
        self.second = self._reason(BESIDES, kind, SECOND)

    def _reason(self, key: str, kind: Kind, note: str) -> "AskedWhy":
        return AskedWhy(key, kind.field(key).label, self.notes.get(note), lambda text: self.notes.keep(note, text))

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
        found = self.tuning.suggestion()
        advised = self.suggested is not None and after == self.suggested
        reason = "restored" if found and found.action == "restore" and advised else "trial"
        trouble = self.tuning.step_trouble(after)
        # A second change at once is asked about even where each is advised; putting back is none.
        second = self.tuning.second_change(after, reason)
        override, besides = "" if advised else self.override.said, self.second.said if second else ""
        if trouble == "outside" or (trouble and not advised and not override):
            return self._ask(self.override, step_words(trouble, self.tuning.adjuster))
        if second and not besides:
            return self._ask(self.second, second)
        try:
            entry = self.tuning.turned(after, reason, override, besides)
        except Refusal as refusal:
            return self.page.warn(refusal_sentence(refusal))
        self.notes.forget(OVERRIDE, SECOND, AGAIN)
        self.page.saved(entry)
        self.then()

    def _ask(self, reason: "AskedWhy", sentence: str) -> None:
        """Say what is in the way right above the reason that it asks for, both in sight."""
        for other in (self.override, self.second):
            other.say("")
        if reason.parent is None:
            above = self.override.parent
            (above or self.page.body).add_widget(reason, index=above.children.index(self.override) if above else 0)
        reason.say(sentence)
        bring_into_sight(reason)


class AskedWhy(Column):
    """A reason asked for under its own label, and above it what asks for it."""

    def __init__(self, key: str, label: str, text: str, keep: Callable[[str], None]):
        super().__init__(spacing=theme.gap * 0.6)
        self.trouble = Banner(kind="doubt", test_name="turn:trouble")
        self.field = TextField(test_name=f"field:{key}", label=label, text=text)
        self.field.fbind("on_edit", lambda _w, typed: keep(typed))
        self.add_widget(self.field)

    @property
    def said(self) -> str:
        """The reason as typed, '' where there is none."""
        return self.field.text.strip()

    def say(self, sentence: str) -> None:
        """Say above the field what is in the way; '' takes it away."""
        self.trouble.lead = sentence
        if sentence and self.trouble.parent is None:
            self.add_widget(self.trouble, index=len(self.children))
        elif not sentence and self.trouble.parent is not None:
            self.remove_widget(self.trouble)


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
