"""Turning one adjuster between two trials: suggestion, reason, other steps."""

from __future__ import annotations

from decimal import Decimal, InvalidOperation

from shared_models.quantities.refusals import Refusal
from shared_models.wording.refusals import refusal_sentence
from shared_models.wording.tuning import step_words
from mobile.widgets.banner import Banner
from mobile.widgets.buttons import PlainButton
from mobile.widgets.listing import LastSettings
from mobile.widgets.range_bar import RangeBar
from mobile.widgets.surface import Row, Words
from mobile.widgets.text_field import TextField
from mobile.widgets.theme import theme


class TurningPart:
    """Where the adjuster stands, what is suggested next and why, and turning it."""

    def __init__(self, page, tuning, then):
        self.page, self.tuning, self.then = page, tuning, then
        adjuster, position = tuning.adjuster, tuning.position
        standing = f"{position.normalize():f}" if position is not None else "not recorded"
        page.body.add_widget(LastSettings(label=adjuster.name, settings=[
            ("stands at", standing),
            ("range", f"{adjuster.lowest} to {adjuster.highest} {adjuster.unit}"),
            ("largest step", str(adjuster.largest_step)),
        ]))
        self.override = TextField(test_name="field:override_because", label="Another step than advised, because")
        self.trouble = Banner(kind="doubt", test_name="turn:trouble")
        if self._turned_already():
            page.body.add_widget(Banner(
                kind="info", lead=f"Turned to {standing}.", test_name="turned",
                text=" ".join(filter(None, (
                    "Now walk, then say what was seen. One change, one trial.", tuning.recheck_words(),
                ))),
            ))
            return
        self._suggest()
        self._offer_steps()

    def _turned_already(self) -> bool:
        course = self.tuning.course()
        if not course or self.tuning.position is None:
            return False
        try:
            return Decimal(course[-1].position) != self.tuning.position
        except InvalidOperation:
            return False

    def _suggest(self) -> None:
        found, words = self.tuning.suggestion(), self.tuning.suggestion_words()
        self.suggested = found.position if found and found.action in ("turn", "restore") else None
        if not words:
            return
        button = f"Turned to {self.suggested.normalize():f}" if self.suggested is not None else ""
        banner = Banner(kind="info", lead="Suggested next:", text=words, button_words=button, test_name="suggestion")
        banner.fbind("on_act", lambda *_: self.turn(self.suggested))
        self.page.body.add_widget(banner)
        self._explain()

    def _explain(self) -> None:
        """What is known of the range, as a bar and in two sentences."""
        shown = self.tuning.range_shown()
        if shown is not None:
            self.page.body.add_widget(RangeBar(test_name="range", **vars(shown)))
        self.page.body.add_widget(Words(
            text=" ".join(self.tuning.reason_words()), tone="ink_soft", test_name="reasons",
        ))

    def _offer_steps(self) -> None:
        adjuster, position = self.tuning.adjuster, self.tuning.position
        if position is None:
            return
        row = Row(spacing=theme.gap)
        sizes = dict.fromkeys((adjuster.smallest_step, adjuster.largest_step))
        steps = [-s for s in reversed(sizes)] + list(sizes)
        for step in steps:
            after = position + step
            if not adjuster.lowest <= after <= adjuster.highest:
                continue
            direction = self.tuning.direction(after)
            button = PlainButton(
                text=f"{direction} to {after.normalize():f}", test_name=f"turn:{after.normalize():f}",
            )
            button.fbind("on_release", lambda *_, to=after: self.turn(to))
            row.add_widget(button)
        self.page.body.add_widget(row)
        if self.tuning.suggestion() is not None:
            self.page.body.add_widget(self.override)

    def turn(self, after: Decimal) -> None:
        """Record that the adjuster now stands at ``after``."""
        trouble = self.tuning.step_trouble(after)
        restoring = self.suggested is not None and after == self.suggested
        if trouble == "outside" or (trouble and not restoring and not self.override.text.strip()):
            self.trouble.lead = step_words(trouble, self.tuning.adjuster)
            if self.trouble.parent is None:
                self.page.body.add_widget(self.trouble)
            if self.override.parent is None:
                self.page.body.add_widget(self.override)
            return
        found = self.tuning.suggestion()
        reason = "restored" if found and found.action == "restore" and restoring else "trial"
        try:
            entry = self.tuning.turned(after, reason, self.override.text.strip())
        except Refusal as refusal:
            self.trouble.lead = refusal_sentence(refusal)
            if self.trouble.parent is None:
                self.page.body.add_widget(self.trouble)
            return
        self.page.saved(entry)
        self.then()
