"""Who signed what in a fitting, and over which entries, with the way to each of them."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Sequence

from shared_models.entries.envelope import Entry
from shared_models.entries.fitting import FittingView
from shared_models.entries.signatures import CHAIN_HEAD
from shared_models.language import Phrases, spoken
from shared_models.wording.course_lines import stamp
from sync_server.services.everything import title_of_slot, version_anchor

MEANINGS = Phrases({
    "signs_off": "signed off the torque of every screw",
    "requests_review": "sent the fitting for review",
    "decides": "decided on the fitting",
})


@dataclass(frozen=True)
class Covered:
    """An entry that a signature stands over; ``anchor`` is '' where the page does not show it."""

    anchor: str
    title: str


@dataclass(frozen=True)
class Signed:
    """One signature: who, what it means, when, over the entry ``of`` and the ones that rest beneath it."""

    name: str
    meaning: str
    time: str
    of: Covered
    covers: tuple[Covered, ...]
    valid: bool
    #: Signed with a key that waits for somebody to vouch for it.
    unvouched: bool = False

    @property
    def entries(self) -> int:
        """How many entries it covers, its own among them."""
        return len(self.covers) + 1


def signed_of(view: FittingView) -> tuple[Signed, ...]:
    """Return every signature of staff over an entry of the fitting, in the order of the entries."""
    found = []
    for entry in view.entries():
        for signature in view.record.signatures_over(entry.digest):
            if signature.meaning == CHAIN_HEAD:
                continue
            waits = view.record.has_signed_unvouched(entry, signature.meaning) is not None
            sound = view.record.has_signed(entry, signature.meaning) is not None
            meaning = MEANINGS.get(signature.meaning, signature.meaning.replace("_", " "))
            if entry.kind == "review_decision":
                meaning = view.edition.words("decision", str(entry.body.get("decision", "")))
            found.append(Signed(
                signature.printed_name, meaning, stamp(signature.signed_at), _covered(view, entry.digest),
                tuple(_covered(view, digest) for digest in _in_order(view, entry.rests_on)), sound, waits,
            ))
    return tuple(found)


def _in_order(view: FittingView, digests: Sequence[str]) -> list[str]:
    """In the order they were recorded; what is not here comes last."""
    entries = view.record.entries
    here = sorted((d for d in digests if d in entries), key=lambda d: entries[d].order)
    return here + [d for d in digests if d not in entries]


def _covered(view: FittingView, digest: str) -> Covered:
    """An entry in words.  The page shows those of the fitting and of the person's identity."""
    place = view.record.place_of(digest)
    if place is None:
        return Covered("", spoken("entry {digest}, not here", digest=digest[:12]))
    entry: Entry = view.record.entries[digest]
    shown = place[0] == view.subject or place[1] == "identity"
    if not shown:
        title = view.edition.kinds[entry.kind].title if entry.kind in view.edition.kinds else entry.kind
        return Covered("", spoken("{title}, entry {digest}", title=title, digest=digest[:12]))
    return Covered(version_anchor(digest), f"{title_of_slot(view, place[1])}, {stamp(entry.happened_at)}")
