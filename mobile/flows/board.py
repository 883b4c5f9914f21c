"""What the rail and the pages of a fitting show, read from record and verdict."""

from __future__ import annotations

from dataclasses import dataclass

from shared_models.catalogue.edition import Kind, Step
from shared_models.checks.remarks import Remark
from shared_models.checks.summarising import DONE, next_step
from shared_models.checks.verdict import StepVerdict, Verdict
from shared_models.entries.envelope import Entry
from shared_models.entries.fitting import FittingView
from shared_models.language import spoken
from shared_models.wording.dates import clock_words, day_words
from shared_models.wording.sentences import place_words, said, sentence_of


__all__ = ["DONE", "Card", "Gap", "card", "cards", "gaps", "next_open", "next_step", "returned_with", "unmet_before", "who"]


@dataclass(frozen=True)
class Card:
    """One slot of a step: what stands there, its state, and what is to be said."""

    slot: str
    kind: Kind
    title: str
    state: str
    said: str
    recorded: str
    sentences: tuple[str, ...]
    heads: tuple[Entry, ...]

    @property
    def head(self) -> Entry | None:
        """The entry that holds the slot, if one does."""
        return self.heads[0] if len(self.heads) == 1 else None

    @property
    def is_done(self) -> bool:
        """Whether nothing is left to do here."""
        return self.state in DONE


def cards(view: FittingView, verdict: StepVerdict, step: Step) -> list[Card]:
    """Return a card for each slot that a step asks for, in its order."""
    slots = view.slots_asked(step)
    return [card(view, verdict, slot, (step.instead or {}).get(slot, "")) for slot in slots]


def card(view: FittingView, verdict: StepVerdict, slot: str, spare: str = "") -> Card:
    """Return the card of one slot; ``spare`` is what may stand in for it."""
    heads = view.heads(slot)
    remarks = [r for r in verdict.remarks if r.slot == slot or (spare and r.slot == spare)]
    kind = view.edition.kinds.get(heads[0].kind) if heads else None
    kind = kind or view.edition.kind_of_slot(slot)
    head = heads[0] if len(heads) == 1 else None
    return Card(
        slot=slot, kind=kind, title=place_words(slot, view),
        state=_state(heads, remarks, bool(spare and view.heads(spare))),
        said=said(head, view) if head else "",
        recorded=_recorded(head, view) if head else "",
        sentences=tuple(dict.fromkeys(
            sentence_of(r, view) for r in remarks if r.code != "not_recorded"
        )),
        heads=heads,
    )


def _recorded(head: Entry, view: FittingView) -> str:
    by = view.record.name_of(head.recorded_by)
    return spoken("saved {time} by {by}", time=clock_words(head.recorded_at), by=by)


def _state(heads: tuple[Entry, ...], remarks: list[Remark], restricted: bool) -> str:
    if len(heads) > 1:
        return "disputed"
    if restricted and any(r.code == "not_cleared" for r in remarks):
        return "waived"
    if not heads or any(r.blocks and not r.code.startswith("stale_") for r in remarks):
        return "open"
    return "stale" if any(r.code.startswith("stale_") for r in remarks) else "met"


def next_open(board: list[Card], after: str = "") -> Card | None:
    """Return the next card that is not done, from the one after ``after`` on."""
    places = [c.slot for c in board]
    start = places.index(after) + 1 if after in places else 0
    for card_ in board[start:] + board[:start]:
        if not card_.is_done:
            return card_
    return None


def unmet_before(view: FittingView, verdict: Verdict, step: Step) -> str:
    """Return a sentence when earlier steps are not met, '' when they are."""
    missing = [
        view.edition.step(key).title for key in step.before
        if verdict.step(key).state not in DONE
    ]
    if not missing:
        return ""
    return spoken("Usually after: ") + ", ".join(missing) + "."


def returned_with(verdict: Verdict, step: str) -> list[str]:
    """Return what the lead clinician remarked on a step when the fitting was returned."""
    if verdict.review != "rejected":
        return []
    return [text for key, text in verdict.review_remarks if key == step]


@dataclass(frozen=True)
class Gap:
    """One thing still missing: which step, the sentence, whether it blocks."""

    step: str
    title: str
    state: str
    sentences: tuple[str, ...]


def gaps(view: FittingView, verdict: Verdict) -> list[Gap]:
    """Return what is still missing, by step, in words."""
    found = []
    for step in verdict.steps:
        if step.state not in DONE:
            sentences = dict.fromkeys(sentence_of(r, view) for r in step.remarks if r.blocks)
            found.append(Gap(step.key, step.title, step.state, tuple(sentences)))
    loose = tuple(dict.fromkeys(sentence_of(r, view) for r in verdict.remarks))
    if loose:
        found.append(Gap("", spoken("The fitting as a whole"), "open", loose))
    return found


def who(view: FittingView) -> tuple[str, str, str]:
    """Return name, side and second identifier for the header."""
    identity = view.head("identity")
    body = identity.body if identity else {}
    name = f"{body.get('given_name', '')} {body.get('family_name', '')}".strip()
    opened = view.opened.body if view.opened else {}
    side = view.edition.words("side", str(opened.get("side", "")))
    level = view.edition.words("amputation_level", str(opened.get("amputation_level", "")))
    born = body.get("born_on", "")
    return (
        name or spoken("not named yet"), f"{side}, {level}" if side else "",
        spoken("born {born} · file {file_number}", born=day_words(str(born)), file_number=body.get('file_number', '')) if born else "",
    )
