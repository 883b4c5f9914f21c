"""One practice fitting: which invented person, what their leg shows, what was judged of it.

Beside the record, as sealed drafts of the practice store: who is practised on,
and how often was walked, shown and judged otherwise.  Nothing of it is recorded
as a fact, and no fitting rests on it.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, Sequence

from shared_models.catalogue.edition import load_edition
from shared_models.entries.envelope import Entry
from shared_models.language import spoken
from shared_models.quantities.moments import now_here
from shared_models.rehearsing.practice_judging import Judged, Seen, judged, what_was_there
from shared_models.rehearsing.practice_people import (
    PEOPLE,
    STEPS_DOWN,
    Motion,
    PracticePerson,
    ground_of,
    known_functions,
    motion_of,
    person_named,
    positions_of,
    told_of,
)
from shared_models.wording import practice as words_of
from mobile.keeping.session import Session

CHOSEN = "practice-chosen"
#: Strides walked in one go on the level.
STRIDES = 8
_COUNTED = ("trials", "walks", "hints", "wrong", "stops_missed")


@dataclass(frozen=True)
class Told:
    """What would be read or said for a slot: a title and ``label: value`` lines."""

    title: str
    lines: tuple[tuple[str, str], ...]


def choose(session: Session, person: PracticePerson) -> None:
    """Take a person for the next fitting that is opened; durable when this returns."""
    session.keep_draft(CHOSEN, {"person": person.key})


def chosen(session: Session) -> PracticePerson:
    """Return the person for the next fitting."""
    return person_named(str(session.draft(CHOSEN).get("person", PEOPLE[0].key)))


def told_of_new(session: Session) -> Told:
    """Return what stands on the file of the person chosen, for opening their fitting."""
    person, edition = chosen(session), load_edition()
    labels = {f.key: f for kind in ("identity", "opened") for f in edition.kinds[kind].fields}
    lines = []
    for key, value in person.identity.items():
        field = labels[key]
        said = edition.words(field.choices, value) if field.type == "choice" else value
        lines.append((field.label, said))
    return Told(words_of.TOLD_BY["new"], tuple(lines))


class Practice:
    """One fitting of a practice store."""

    def __init__(self, session: Session, fitting: str) -> None:
        self.session, self.fitting = session, fitting
        self._place = f"practice/{fitting}"
        self._notes: dict[str, Any] = dict(session.draft(self._place))
        if not self._notes:
            self._notes = {"person": chosen(session).key, **dict.fromkeys(_COUNTED, 0)}
            session.keep_draft(self._place, self._notes)
        self.person = person_named(str(self._notes.get("person")))

    @property
    def view(self):
        """The fitting as recorded now."""
        return self.session.fitting(self.fitting)

    @property
    def to_the_right(self) -> bool:
        """Whether the figure is seen from its right, where a right prosthesis is."""
        return (self.view.value("opened", "side") or self.person.side) == "right"

    # What is shown -------------------------------------------------------------------

    def told(self, slot: str) -> Told | None:
        """Return what would be read or said for a slot; None where nothing is."""
        lines = told_of(self.person, slot, self.view, now_here().date())
        if not lines:
            return None
        return Told(words_of.TOLD_BY.get(slot.partition("/")[0], spoken(words_of.TOLD)), tuple(lines))

    def motion(self, slot: str) -> Motion:
        """Return the person's walk at the settings as they stand."""
        return motion_of(self.person, slot, positions_of(self.view))

    @staticmethod
    def strides(slot: str) -> int:
        """Return how many strides one go has."""
        return STRIDES if ground_of(slot) == "level" else STEPS_DOWN // 2

    def there(self, slot: str) -> list[Seen]:
        """Return what the walk shows at the settings as they stand."""
        view = self.view
        return what_was_there(self.person, slot, known_functions(slot, view), positions_of(view), view.edition)

    def speech(self, slot: str) -> str:
        """Return what the person says after a walk: what is felt, and nothing that is only seen."""
        there = [one for one in self.there(slot) if one.is_said]
        words = [
            words_of.SAYS_FINDING.format(words=self._words(one.finding), grade=one.grade) for one in there
        ]
        said = spoken(words_of.SAYS, words="; ".join(words)) if words else spoken(words_of.SAYS_NOTHING)
        holds = spoken(words_of.GAVE) if any(one.asks_to_stop for one in there) else spoken(words_of.HELD)
        return f"{said} {holds}."

    def shown(self, slot: str) -> list[str]:
        """Return what there was to see, in words; it counts as help."""
        self._count("hints")
        there = self.there(slot)
        if not there:
            return [spoken(words_of.NOTHING_THERE)]
        return [f"{self._named(one)}{self._why(one)}." for one in there]

    def walked(self) -> None:
        """Count a walk that was watched."""
        self._count("walks")

    # After recording -----------------------------------------------------------------

    def judge(self, entry: Entry, there: Sequence[Seen]) -> list[str]:
        """Count a recorded trial, and return kindly what the leg showed beside it."""
        found = judged(there, entry.body)
        self._count("trials")
        self._count("wrong", found.wrong)
        self._count("stops_missed", int(found.stop_missed))
        return self._feedback(found)

    def _feedback(self, found: Judged) -> list[str]:
        lines = []
        if found.stop_missed:
            due = next(s for s in (*found.right, *found.missed, *(s for s, _ in found.other_grade)) if s.asks_to_stop)
            lines.append(spoken(words_of.STOP_MISSED, words=self._words(due.finding)))
        if found.stopped:
            return [spoken(words_of.STOPPED_RIGHTLY) if found.stop_due else spoken(words_of.STOPPED_WITHOUT_NEED)]
        if found.right:
            lines.append(spoken(words_of.ALL_RIGHT, words="; ".join(self._named(one) for one in found.right)))
        for one in found.missed:
            lines.append(spoken(words_of.MISSED, words=self._named(one), why=self._why(one)))
        for one, grade in found.other_grade:
            lines.append(spoken(words_of.OTHER_GRADE, 
                words=self._words(one.finding), grade=one.grade, recorded=grade, why=self._why(one),
            ))
        for key in found.not_there:
            lines.append(spoken(words_of.NOT_THERE, words=self._words(key)))
        return lines or [spoken(words_of.NOTHING_RIGHT)]

    def _words(self, finding: str) -> str:
        return next((f.words for f in self.view.edition.findings if f.key == finding), finding)

    def _named(self, one: Seen) -> str:
        return words_of.SAYS_FINDING.format(words=self._words(one.finding), grade=one.grade)

    @staticmethod
    def _why(one: Seen) -> str:
        clause = words_of.there_words(one.finding, one.figures)
        return f" ({clause})" if clause else ""

    # The report ----------------------------------------------------------------------

    def _count(self, name: str, by: int = 1) -> None:
        self._notes[name] = int(self._notes.get(name, 0)) + by
        self.session.keep_draft(self._place, self._notes)

    def report(self) -> list[tuple[str, str]]:
        """Return the practice so far as label and count."""
        return [(label, str(self._notes.get(key, 0))) for key, label in words_of.REPORT_LINES.items()]


def practised_on(session: Session, fitting: str) -> PracticePerson | None:
    """Return whom a fitting of the practice store practises on, None before it was begun."""
    notes = session.draft(f"practice/{fitting}")
    return person_named(str(notes["person"])) if notes.get("person") else None


# Tapping along -----------------------------------------------------------------------


@dataclass
class TapsBeside:
    """Taps compared with the moments at which the figure's feet came down.

    Moments are on the steady clock, in s; ``contacts`` are added as they happen
    or shortly before, sides as the person's own.
    """

    contacts: list[tuple[str, float]]
    taps: list[tuple[str, float]]

    def off_s(self, side: str, moment_s: float) -> float | None:
        """Return how late a tap was after the nearest contact of its side; None when none is near."""
        near = [moment_s - at for s, at in self.contacts if s == side and abs(moment_s - at) <= NEAR_S]
        return min(near, key=abs) if near else None

    def tap_words(self, side: str, moment_s: float) -> str:
        """Take a tap and say how far it was off."""
        self.taps.append((side, moment_s))
        off = self.off_s(side, moment_s)
        if off is None:
            return spoken(words_of.TAP_NO_FOOT)
        return spoken(words_of.TAP_OFF, side=side, off=round(abs(off) * 1000), way=_way(off))

    def mean_words(self) -> str:
        """Return how far all taps were off: on average, and how they scatter; '' before two."""
        offs = [o for o in (self.off_s(*tap) for tap in self.taps) if o is not None]
        if len(offs) < 2:
            return ""
        mean = sum(offs) / len(offs)
        spread = (sum((o - mean) ** 2 for o in offs) / (len(offs) - 1)) ** 0.5
        return spoken(words_of.TAP_MEAN, 
            count=len(offs), off=round(abs(mean) * 1000), way=_way(mean), spread=round(spread * 1000),
        )


#: A tap belongs to a contact of its side within so much, in s (half of a quick step; assumption).
NEAR_S = 0.3


def _way(off_s: float) -> str:
    return spoken(spoken(words_of.LATE) if off_s >= 0 else spoken(words_of.EARLY))


__all__ = ["PEOPLE", "Practice", "TapsBeside", "Told", "choose", "chosen", "practised_on", "told_of_new"]
