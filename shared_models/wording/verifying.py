"""What ``stancebook verify`` says of a store."""

from __future__ import annotations

from typing import Any

from shared_models.language import Phrases, spoken
from shared_models.wording.refusals import refusal_sentence
from shared_models.quantities.refusals import Refusal

SENTENCES = Phrases({
    "content_damaged": "its content was changed from outside, or does not open",
    "digest_differs": "its content is not what its digest names",
    "number_differs": "its row states another number than its content",
    "row_missing": "this row is missing; others after it are there",
    "chain_broken": "it does not follow the entry before it",
    "tail_missing": "another store holds this entry as the chain's end, and it is not here: the tail was cut off",
    "column_differs": "a readable column says something else than the content",
    "signature_damaged": "a signature was changed from outside, or does not open",
    "sequence_hole": "this number of the clinic's sequence is missing or given twice: a row was taken away or added",
    "draft_damaged": "a draft was changed from outside and does not open",
    "attachment_damaged": "the bytes are not what their name says",
    "attachment_lacking": "an entry names these bytes, and they are not here",
    "file_damaged": "the database file is damaged",
})


def finding_sentence(finding: Any) -> str:
    """Return one finding in words: where, what it is, what is wrong."""
    said = SENTENCES.get(finding.code)
    wrong = said or refusal_sentence(Refusal(finding.code, signer=finding.what.partition(" over ")[0],
                                             tablet=finding.tablet, number=finding.number)).rstrip(".")
    where = []
    if finding.code == "sequence_hole":
        where.append(spoken("number {number}", number=finding.number))
    elif finding.number:
        where.append(spoken("entry {number} of {tablet}", number=finding.number, tablet=finding.tablet))
    if finding.clinic:
        where.append(spoken("clinic {clinic}", clinic=finding.clinic))
    what = f" ({finding.what})" if finding.what else ""
    place = ", ".join(where)
    digest = f" [{finding.digest[:12]}]" if finding.digest else ""
    return f"{place[:1].upper()}{place[1:]}{what}{digest}: {wrong}." if place else f"{wrong[:1].upper()}{wrong[1:]}{what}{digest}."


def rescued_sentences(fresh: str, found: Any, most: int) -> list[str]:
    """Return what came out of a damaged tablet's file, and what to do next."""
    said = [
        spoken("{fresh}: {entries} entries, {signatures} signatures, {photos} photos; {unsent} own entries wait to be sent. {unreadable} places could not be read.", fresh=fresh, entries=found.entries, signatures=found.signatures, photos=found.photos, unsent=found.unsent, unreadable=found.unreadable),
        spoken("Keep the damaged file. Put the fresh one in its place and sync before anything is recorded: what the server has comes back."),
    ]
    if found.aside:
        said.append(spoken("{aside} own entries lie behind one that is gone and can't be sent; record them again:", aside=len(found.aside)))
        said += [spoken("  {kind} of {recorded_at}, {type} {id}", kind=entry.kind, recorded_at=entry.recorded_at, type=entry.subject.type, id=entry.subject.id)
                 for entry in found.aside[:most]]
    if len(found.aside) > most:
        said.append(spoken("  and {aside} more; --set-aside FILE writes them all out.", aside=len(found.aside) - most))
    return said
