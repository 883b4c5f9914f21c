"""A drawn signature: who signs under what, the strokes as a draft, then an entry."""

from __future__ import annotations

from typing import Any

from shared_models.checks.fields import field_remarks
from shared_models.checks.strokes import Stroke, strokes_body, strokes_from
from shared_models.entries.envelope import Entry
from shared_models.quantities.refusals import Refusal
from shared_models.wording.attachments import SIGNED_UNDER, nothing_to_sign_words
from shared_models.wording.refusals import refusal_sentence
from shared_models.wording.sentences import as_typed_words, sentence_of, value_words
from mobile.flows.board import who
from mobile.flows.forms import FIXED, SlotForm
from mobile.keeping.session import Session

#: Asked beside the pad, in this order.
ASKED = ("who", "printed_name", "not_signed_because", "note")
_WHO = {"consent": "person", "handover": "person", "sign_off": "technician"}


class DrawnForm(SlotForm):
    """What is typed and drawn for one drawn signature; every stroke is a durable draft at once."""

    def __init__(self, session: Session, fitting: str, under: str) -> None:
        self.under = under
        super().__init__(session, fitting, f"drawn/{under}")

    def _start(self) -> dict[str, Any]:
        signs = _WHO.get(self.under, "person")
        given_by = self.view.value("consent", "given_by")
        if self.under == "consent" and given_by == "guardian":
            return {"who": "guardian", "printed_name": ""}
        return {"who": signs, "printed_name": self.name_of(signs)}

    def name_of(self, signs: str) -> str:
        """Return the name known of whoever signs; "" where nobody knows it yet."""
        if signs == "technician":
            staff = self.view.value("sign_off", "technician")
            return self.session.record.name_of(str(staff)) if staff else ""
        name = who(self.view)[0]
        return name if signs == "person" and self.view.head("identity") else ""

    @property
    def stands_under(self) -> Entry | None:
        """The entry that is signed, if it is recorded."""
        return self.view.head(self.under)

    def what_is_signed(self) -> list[tuple[str, str]]:
        """Return what the entry says, as (label, words), for whoever signs to read."""
        entry = self.stands_under
        if entry is None:
            return []
        fields = self.view.edition.kinds[entry.kind].fields
        pairs = [(f, value_words(f, entry.body.get(f.key), self.view)) for f in fields if f.type not in FIXED]
        return [(f.label, words + as_typed_words(entry.body, f.key)) for f, words in pairs if words]

    def in_the_way(self) -> list[str]:
        """Return why there is nothing to sign yet, in words; [] when there is."""
        heads = self.view.heads(self.under)
        title = self.view.edition.words("signed_under", self.under)
        if not heads:
            return [nothing_to_sign_words(title)]
        entry = self.stands_under
        if entry is None:
            return [refusal_sentence(Refusal("settle_first", title=title))]
        kind = self.view.edition.kinds[entry.kind]
        return [sentence_of(remark, self.view) for remark in field_remarks(kind, entry, self.under)]

    def sentence(self) -> str:
        """Return the sentence above the pad."""
        return SIGNED_UNDER[self.under]

    @property
    def strokes(self) -> tuple[Stroke, ...]:
        """What is drawn so far."""
        return strokes_from(self.typed.get("strokes") or [])

    def draw(self, strokes: list[Stroke]) -> None:
        """Take what is drawn now; a durable draft when this returns.

        Raises Refusal ``too_much_drawn``.
        """
        self.edit("strokes", strokes_body(strokes))

    def refusal(self) -> Refusal | None:
        """Return why this can't be saved though each field can: neither drawn nor a reason, or both."""
        because = self.typed.get("not_signed_because")
        if self.strokes and because:
            return Refusal("signed_and_not")
        if not self.strokes and not because:
            return Refusal("nothing_drawn")
        return None
