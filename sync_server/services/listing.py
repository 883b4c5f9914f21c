"""The lead clinician's morning list: what waits, since when, and finding any fitting."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import date
from typing import Mapping
from urllib.parse import urlencode

from shared_models.checks.lead_list import SYNC_OVERDUE_DAYS
from shared_models.entries.envelope import Subject
from shared_models.entries.record import Record
from shared_models.entries.vouching import is_server_chain
from shared_models.language import spoken
from shared_models.ledger.audit_trail import AuditRow
from shared_models.ledger.judging_anew import waiting
from shared_models.ledger.lead_queries import Line, Wanted, Word, counts, lines, looked_for, prosthetists
from shared_models.ledger.tablet_access import TabletAccess
from shared_models.quantities.comparing import kept_words, searched_words
from shared_models.quantities.moments import NotAMoment, day_of, moment_from
from shared_models.wording import morning as words
from shared_models.wording.dates import day_words, moment_words
from shared_models.wording.states import VERDICT, review_word
from sync_server.services.signing_in import Reviewer
from sync_server.services.station import Station

#: Lines of one part on a page of its own, and beside the other parts.
ON_A_PAGE, BESIDE_OTHERS = 50, 10
LONGEST_SEARCH = 100
#: More words narrow nothing down.
_MOST_WORDS = 8
_MARK = "~"


@dataclass(frozen=True)
class Asked:
    """What the address of the page says: part, search, prosthetist, place to go on from."""

    show: str = ""
    search: str = ""
    by: str = ""
    after: str = ""

    def address(self, **changed: str) -> str:
        """The address of this list with something changed; always from its beginning."""
        said = {"show": self.show, "search": self.search, "by": self.by, "after": "", **changed}
        kept = {name: value for name, value in said.items() if value}
        return "/fittings" + (f"?{urlencode(kept)}" if kept else "")


@dataclass(frozen=True)
class ListedFitting:
    """One line of the list, in words; ``reasons`` say why it is here."""

    fitting: str
    name: str
    file_number: str
    side: str
    prosthetist: str
    state: str
    state_words: str
    review_words: str
    reasons: tuple[str, ...]
    missing: int
    changed: str
    judged_anew: bool = False


@dataclass(frozen=True)
class Part:
    """One part of the list; ``more`` is the address of what comes next, "" at its end."""

    key: str
    count: int
    lines: tuple[ListedFitting, ...]
    more: str = ""


@dataclass(frozen=True)
class Listing:
    """What the page shows: parts with lines, how many each has, tablets, and what was not understood."""

    asked: Asked
    parts: tuple[Part, ...]
    counts: Mapping[str, int]
    tablets: tuple[str, ...]
    prosthetists: Mapping[str, str]
    troubles: tuple[str, ...] = ()
    #: How many fittings are still to be judged anew, in words; "" when none is.
    judged_anew: str = ""

    @property
    def shown(self) -> int:
        """How many lines are on the page."""
        return sum(len(part.lines) for part in self.parts)

    @property
    def narrowed(self) -> bool:
        """Whether a search or a filter leaves something out."""
        return bool(self.asked.search or self.asked.by)


@dataclass(frozen=True)
class _Clinic:
    """What the lines of a list need beside their rows."""

    staff: Record
    today: date
    sheets: Mapping[str, str] = field(default_factory=dict)


def listing_for(station: Station, reviewer: Reviewer, asked: Asked, from_where: str) -> Listing:
    """Return the list; note whose lines were read.

    What of the address is not understood is left out and said in ``troubles``.
    """
    clinic, today = reviewer.account.clinic, station.today()
    with station.reading(clinic) as reading:
        sheets = {
            e.subject.id: str(e.body.get("name", "")) for e in reading.sheets()
            if isinstance(e.subject, Subject)
        } if asked.search.strip() else {}
        here = _Clinic(reading.staff_record(), today, sheets)
        known = {s: here.staff.name_of(s) for s in prosthetists(reading.connection, clinic)}
        asked, after, troubles = _understood(asked, known)
        wanted = looked_for(reading.connection, Wanted(clinic, today, _words(asked.search, here), asked.by))
        counted = counts(reading.connection, wanted)
        shown = _shown(asked)
        marked = waiting(reading.connection, clinic)
        most = ON_A_PAGE if asked.show else BESIDE_OTHERS
        found = {part: lines(reading.connection, wanted, part, most + 1, after) for part in shown if counted[part]}
    parts = tuple(_part(part, found[part], most, counted[part], asked, here) for part in found)
    station.audit.note(
        AuditRow(reviewer.account.login, "list", clinic, subject, "shown", from_where)
        for subject in dict.fromkeys(f"fitting/{line.fitting}" for part in parts for line in part.lines) or [""]
    )
    names = dict(sorted(known.items(), key=lambda pair: pair[1].casefold()))
    return Listing(
        asked, parts, counted, _tablets_overdue(station, clinic, here), names, troubles, words.judged_anew_words(marked))


def _shown(asked: Asked) -> tuple[str, ...]:
    """One part alone; or all that waits, and what a search finds elsewhere."""
    if asked.show:
        return (asked.show,)
    return tuple(words.PARTS) if asked.search or asked.by else words.TO_DO


def _understood(
    asked: Asked, known: Mapping[str, str]
) -> tuple[Asked, tuple[str, str] | None, tuple[str, ...]]:
    """Return what can be answered, the place to go on from, and sentences on what can't."""
    troubles = []
    show, by, after = asked.show, asked.by, None
    if show not in ("", *words.PARTS):
        parts = ", ".join(words.PARTS)
        troubles.append(spoken(words.UNKNOWN_PART, value=show[:40], parts=parts))
        show = ""
    if by and by not in known:
        troubles.append(spoken(words.UNKNOWN_PROSTHETIST, value=by[:40]))
        by = ""
    if asked.after:
        after = _place_from(asked.after, show)
        if after is None:
            troubles.append(spoken(words.BROKEN_PLACE))
    return Asked(show, asked.search.strip(), by, asked.after if after else ""), after, tuple(troubles)


def _place_from(text: str, show: str) -> tuple[str, str] | None:
    """Read where a page goes on: what the line before was sorted by, and its fitting."""
    place, _, fitting = text.partition(_MARK)
    if not show or not fitting or len(fitting) > 100 or "\0" in fitting:
        return None
    try:
        if show in ("overdue", "events"):
            date.fromisoformat(place)
        else:
            moment_from(place)
    except (ValueError, NotAMoment):
        return None
    return place, fitting


def _words(search: str, here: _Clinic) -> list[Word]:
    typed = {word: t for t in search.split() for word in searched_words(t)}
    return [
        Word(
            word, typed[word],
            [s for s in here.staff.subjects("staff") if _called(word, here.staff.name_of(s), s)],
            [key for key, name in here.sheets.items() if _called(word, name, key)],
        )
        for word in list(typed)[:_MOST_WORDS]
    ]


def _called(word: str, *names: str) -> bool:
    return any(kept.startswith(word) for kept in kept_words(*names))


def _part(key: str, found: list[Line], most: int, count: int, asked: Asked, here: _Clinic) -> Part:
    shown, more = found[:most], ""
    if len(found) > most:
        last = shown[-1]
        # Beside others the whole part is led to; on its own page the lines that follow.
        more = asked.address(show=key, after=f"{last.place}{_MARK}{last.fitting}" if asked.show else "")
    return Part(key, count, tuple(_line(line, here) for line in shown), more)


def _line(line: Line, here: _Clinic) -> ListedFitting:
    return ListedFitting(
        fitting=line.fitting, judged_anew=line.judged_anew, name=line.name or spoken("name not recorded"), file_number=line.file_number or spoken("none"),
        side=line.side or spoken("side not recorded"),
        prosthetist=here.staff.name_of(line.prosthetist) if line.prosthetist else spoken("not recorded"),
        state=line.state, state_words=VERDICT.get(line.state, line.state),
        review_words=review_word(line.review, line.changed), reasons=_reasons(line, here.today),
        missing=line.missing, changed=moment_words(line.last_entry_at),
    )


def _reasons(line: Line, today: date) -> tuple[str, ...]:
    found = []
    if line.event_open_since:
        happened = date.fromisoformat(line.event_open_since)
        ago = words.days_ago((today - happened).days)
        found.append(words.events_words(line.open_events, line.serious_events, day_words(happened), ago))
    if line.standing in ("waiting", "returned"):
        since = day_of(line.waits_since)
        found.append(words.SINCE[line.standing].format(day=day_words(since), days=words.days_ago((today - since).days)))
    if line.disputed:
        found.append(words.places_words(line.disputed))
    if line.review_awaited_on:
        planned = date.fromisoformat(line.review_awaited_on)
        if planned < today:
            ago = words.days_ago((today - planned).days)
            found.append(spoken(words.AWAITED, day=day_words(planned), days=ago))
    return tuple(found)


def _tablets_overdue(station: Station, clinic: str, here: _Clinic) -> tuple[str, ...]:
    found = []
    for tablet, at in TabletAccess(station.store).last_here(clinic).items():
        if is_server_chain(tablet):
            continue
        days = (here.today - day_of(at)).days if at else None
        if days is None:
            found.append((-1, spoken(words.TABLET_NEVER, tablet=tablet)))
        elif days >= SYNC_OVERDUE_DAYS:
            found.append((-days, spoken(words.TABLET, tablet=tablet, day=day_words(day_of(at)), days=days)))
    return tuple(sentence for _, sentence in sorted(found))
