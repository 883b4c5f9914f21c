"""Opening a fitting: who it is, and whether that person is known already."""

from __future__ import annotations

import unicodedata
from dataclasses import dataclass
from typing import Any, Iterator, Mapping

import uuid6

from shared_models.catalogue.edition import load_edition
from shared_models.checks.entering import FormReading, Reading, read_field, read_form
from shared_models.entries.envelope import Subject
from shared_models.language import spoken
from shared_models.quantities.moments import now_here
from shared_models.wording.dates import day_words
from mobile.keeping.session import Session

DRAFT = "new-fitting"
_IDENTITY = ("given_name", "family_name", "born_on", "file_number")


@dataclass(frozen=True)
class Known:
    """Somebody on the record who may be the same person."""

    person: str
    words: str


def possible_duplicates(session: Session, body: Mapping[str, Any]) -> list[Known]:
    """Return people with the same file number, or born the same day with a like name."""
    found = []
    for person, known in _identities(session):
        same_file = _folded(known.get("file_number")) == _folded(body.get("file_number"))
        same_day = known.get("born_on") == body.get("born_on")
        like = _folded(known.get("family_name")) == _folded(body.get("family_name")) or (
            _folded(known.get("given_name")) == _folded(body.get("given_name"))
        )
        if same_file or (same_day and like):
            found.append(Known(person, person_words(known)))
    return sorted(found, key=lambda k: k.person)


def _identities(session: Session) -> Iterator[tuple[str, Mapping[str, Any]]]:
    """Everybody's identity: from the list of fittings, and of people who are not surely in it from the record.

    A person whose fitting was cut off before it was opened has none; a disputed
    identity stands in no list and is read too.  So is one whose fitting is still to
    be judged anew: a changed staff list has all of them judged, which takes minutes
    where there are thousands, and reading who somebody is takes no judging.
    """
    said = session.summaries()
    waiting = session.summaries_out_of_date()
    listed = {s.person: s for s in said if s.person and s.name and s.fitting not in waiting}
    for person, summary in listed.items():
        yield person, {key: getattr(summary, key) for key in _IDENTITY}
    for person in session.record.subjects("person"):
        if person not in listed:
            head = session.record.head(Subject("person", person), "identity")
            if head is not None:
                yield person, head.body


def person_words(body: Mapping[str, Any]) -> str:
    """Return a person in one line: name, day of birth, file number."""
    return (
        spoken("{given_name} {family_name}, born {born}, file {file_number}", given_name=body.get('given_name', ''), family_name=body.get('family_name', ''), born=day_words(str(body.get('born_on', ''))), file_number=body.get('file_number', ''))
    )


def _folded(text: Any) -> str:
    plain = unicodedata.normalize("NFKD", str(text or "")).casefold()
    return "".join(c for c in plain if c.isalnum())


class NewFitting:
    """The form that opens a fitting: identity, side, level, socket."""

    def __init__(self, session: Session) -> None:
        self.session = session
        edition = load_edition()
        self.choices = edition.choices
        self.identity, self.opened = edition.kinds["identity"], edition.kinds["opened"]
        self.fields = [f for f in self.identity.fields if f.type != "people"]
        self.fields += [f for f in self.opened.fields if f.type not in ("person", "staff", "fitting")]
        # What may be left out stands behind what has to be typed.
        self.fields.sort(key=lambda f: not f.required)
        self.typed: dict[str, Any] = dict(session.draft(DRAFT))

    def edit(self, key: str, value: Any) -> Reading:
        """Take an edit: a durable draft when this returns; and judge it."""
        self.typed[key] = value
        self.session.keep_draft(DRAFT, self.typed)
        return self.judge(key)

    def judge(self, key: str) -> Reading:
        """Judge one field as it is typed now."""
        field = next(f for f in self.fields if f.key == key)
        return read_field(field, self.typed.get(key), self.choices, now_here().date())

    def read(self) -> tuple[FormReading, dict[str, Reading]]:
        """Return the identity's reading, and everything refused by field."""
        day = now_here().date()
        identity = read_form(self.identity, self.typed, self.choices, day)
        opened = read_form(
            self.opened, {**self.typed, "person": "-", "prosthetist": self.session.staff},
            self.choices, day,
        )
        return identity, {**identity.refused, **opened.refused}

    def save(self, same_as: str = "", different_from: tuple[str, ...] = ()) -> str:
        """Record person and fitting; return the fitting's id, durable.

        ``same_as`` opens the fitting for somebody known; ``different_from``
        records that these people were looked at and are somebody else.
        """
        identity, refused = self.read()
        if refused:
            raise ValueError(f"refused: {sorted(refused)}")
        person = same_as or str(uuid6.uuid7())
        if not same_as:
            body = dict(identity.body)
            if different_from:
                body["different_from"] = list(different_from)
            self.session.save("identity", Subject("person", person), body)
        else:
            self._keep_telephone(Subject("person", person), identity.body.get("telephone"))
        fitting = str(uuid6.uuid7())
        opened = {f.key: self.typed[f.key] for f in self.opened.fields if f.key in self.typed}
        opened.update({"person": person, "prosthetist": self.session.staff})
        self.session.save("opened", Subject("fitting", fitting), opened, draft=DRAFT)
        return fitting

    def _keep_telephone(self, person: Subject, telephone: str | None) -> None:
        """A number typed for somebody known goes to what is recorded of them; none typed leaves theirs.

        While two tablets' words on who it is are both kept, each gets it, and they stay to be settled.
        """
        for head in self.session.record.slot(person, "identity").heads():
            if telephone and head.kind == "identity" and head.body.get("telephone") != telephone:
                self.session.correct(
                    head, {**head.body, "telephone": telephone}, "other", "number given as a fitting was opened",
                )
