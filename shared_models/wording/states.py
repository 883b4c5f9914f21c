"""Words for states, used alike on tablet, page and papers."""

from __future__ import annotations

from shared_models.catalogue.edition import Step, load_edition
from shared_models.language import Phrases, phrase, spoken

VERDICT = Phrases({
    "complete": "complete",
    "complete_with_restriction": "complete, with a restriction",
    "incomplete": "not complete",
})
REVIEW = Phrases({
    "": "not sent for review",
    "requested": "waiting for review",
    "accepted": "accepted",
    "rejected": "returned with remarks",
    "disputed": "decided twice, apart",
    "not signed by a lead clinician": "decided, but not signed by a lead clinician",
})
#: What a mark is called, for whoever does not see its shape.
MARKS = Phrases({
    "met": "met", "open": "open", "stale": "stale", "disputed": "disputed", "waived": "waived",
    "not applicable": "not applicable", "doubt": "doubt", "stop": "stop", "complete": "complete",
    "incomplete": "incomplete", "complete_with_restriction": "complete_with_restriction",
    "requested": "requested", "accepted": "accepted", "rejected": "rejected",
})
def state_words(state: str) -> str:
    """Return what a step's state is called; one that a newer program names stays as it is."""
    return MARKS.get(state, state)


#: Said on the tablet as the step's caution, and by the server when it refuses.
SUPERVISION = Step.__dict__["cautions"].written(load_edition().step("sign_off"))[0]
GROUND = Phrases({"ramp": "ramp", "low_steps": "low steps", "stairs": "stairs"})
REASON = Phrases({
    "mistyped": "mistyped",
    "measured_again": "measured again",
    "wrong_person": "wrong person",
    "other": "other",
    "changed": "changed",
    "settled": "settled",
})
FIRST = (
    phrase("The maker's instructions, local rules and licensed practice come first. Stancebook suggests; the clinician decides.")
)


def restriction_line(restrictions: tuple[str, ...]) -> str:
    """Return the sentence that every paper and page carries, '' when none."""
    if not restrictions:
        return ""
    return spoken("Not cleared: ") + ", ".join(GROUND.get(r, r) for r in restrictions) + "."


def review_word(review: str, changed: bool) -> str:
    """Return the review state in words."""
    word = REVIEW.get(review, review)
    return spoken("{word}, changed since", word=word) if changed and review else word
