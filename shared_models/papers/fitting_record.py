"""What the record of a fitting says on paper: read once, as plain tables and sentences."""

from __future__ import annotations

import hashlib
import re
from collections import Counter
from dataclasses import dataclass, replace
from datetime import date

from shared_models.catalogue.sheets import FUNCTIONS, PLACES
from shared_models.checks.drift import drift_of_setting
from shared_models.checks.strokes import strokes_from
from shared_models.checks.verdict import MET, NOT_APPLICABLE, WAIVED, Verdict
from shared_models.checks.parts_over_time import visits_up_to
from shared_models.drawings.outcome_course import outcome_scene
from shared_models.drawings.outcome_values import outcome_courses
from shared_models.drawings.plain_shapes import Room
from shared_models.drawings.scene import Scene
from shared_models.drawings.strokes import signature_scene
from shared_models.drawings.trial_course import course_scene
from shared_models.drawings.trial_points import course_shown
from shared_models.entries.envelope import Entry
from shared_models.entries.fitting import FittingView
from shared_models.exchange.practice import is_practice
from shared_models.language import Worded, figure_said, filled, spoken
from shared_models.papers.course_on_paper import course_columns, course_rows
from shared_models.quantities.amounts import text_of
from shared_models.quantities.moments import day_of, moment_from
from shared_models.wording import fitting_record as words
from shared_models.wording.units import unit_behind
from shared_models.wording import outcome_course as over_time
from shared_models.wording.course_lines import stamp
from shared_models.wording.dates import day_words
from shared_models.wording.outcome_lines import outcome_lines
from shared_models.wording.person_sheet import NOT_RECORDED
from shared_models.wording.reading_lines import alignments_of, caps_of, torques_of
from shared_models.wording.sentences import as_typed_words, sentence_of
from shared_models.wording.timing_lines import Line
from shared_models.wording.visit_lines import AT_VISIT, visit_tables
from shared_models.wording.states import FIRST, VERDICT, restriction_line, review_word

#: Shape of a chart on paper, and the height of a line of type in it.
CHART_ROOM, OUTCOME_ROOM = Room(1.6, 0.12), Room(1.9, 0.11)
_SETTLED = (MET, WAIVED, NOT_APPLICABLE)


@dataclass(frozen=True)
class Table:
    """A heading, what its columns are called, their shares of the width, and the rows."""

    heading: str
    head: tuple[str, ...]
    shares: tuple[float, ...]
    rows: tuple[tuple[str, ...], ...]


@dataclass(frozen=True)
class Chart:
    """A drawing with the words above it."""

    title: str
    scene: Scene


@dataclass(frozen=True)
class FittingRecord:
    """The whole record of a fitting as it is printed.

    ``moment`` is when the record was last added to.  ``facts``: who, whose, where
    and when, a line each; ``gaps``: what is missing, a sentence each.
    """

    title: str
    name: str
    file_number: str
    moment: str
    facts: tuple[str, ...]
    verdict: str
    gaps: tuple[str, ...]
    tables: tuple[Table, ...]
    charts: tuple[Chart, ...]
    measures: tuple[str, ...]
    outcomes: tuple[Chart, ...]
    outcome_signs: str
    drawn: tuple[Chart, ...]
    matching: str
    is_draft: bool
    is_practice: bool
    foot: str = Worded(FIRST)


def fitting_record(view: FittingView, verdict: Verdict) -> FittingRecord:
    """Return the record of a fitting as it stands."""
    identity = view.head("identity")
    body = identity.body if identity else {}
    entries = view.entries()
    moment = max((e.recorded_at for e in entries), key=moment_from, default="1970-01-01T00:00:00.000+00:00")
    clock = _Clock.of(entries)
    tables = clock.shortened((
        _parts(view), *_over_visits(view, verdict), _settings(view), _alignment(view),
        _torques(view), _caps(view), _trials(view), _signed(view, entries),
    ))
    # Only what every reader of this visit has at hand, so that tablet and server print the same.
    earlier = visits_up_to(view)[:-1]
    courses = [course for course in outcome_courses(view, earlier) if len(course.points) > 1]
    return FittingRecord(
        spoken(words.VISIT_TITLE if view.after else words.TITLE),
        f"{body.get('given_name', '')} {body.get('family_name', '')}".strip() or spoken(NOT_RECORDED),
        str(body.get("file_number") or ""), moment, (*_facts(view, body, entries), *clock.said()),
        spoken(words.VERDICT_LINE, 
            verdict=VERDICT.get(verdict.state, verdict.state),
            review=review_word(verdict.review, verdict.changed_since_review),
        ), _gaps(view, verdict), tuple(t for t in tables if t.rows), _charts(view),
        tuple(_measure(line, bool(earlier)) for line in outcome_lines(view, earlier)),
        tuple(Chart(over_time.chart_title(c.name, c.unit), outcome_scene(c, OUTCOME_ROOM)) for c in courses),
        " ".join((spoken(over_time.SIGNS), *filter(None, map(over_time.source_words, courses)))) if courses else "", _drawn(view),
        _matching(verdict, entries), not verdict.is_complete, any(is_practice(e.clinic) for e in entries),
    )


@dataclass(frozen=True)
class _Clock:
    """The day on which most was recorded: in the tables its times stand without it, so that lines stay short."""

    day: str = ""
    zone: str = ""

    @classmethod
    def of(cls, entries: list[Entry]) -> "_Clock":
        days = Counter(_day_and_zone(stamp(e.happened_at)) for e in entries)
        return cls(*days.most_common(1)[0][0]) if days else cls()

    def said(self) -> tuple[str, ...]:
        """The line that says which day is meant."""
        return (spoken(words.TIMES, day=self.day, zone=self.zone),) if self.day else ()

    def shortened(self, tables: tuple[Table, ...]) -> tuple[Table, ...]:
        """Return the tables with the clock alone where a cell names a moment of that day."""
        if not self.day:
            return tables
        moment = re.compile(rf"{re.escape(self.day)}, (\S+) {re.escape(self.zone)}")
        return tuple(
            replace(t, rows=tuple(tuple(moment.sub(r"\1", cell) for cell in row) for row in t.rows)) for t in tables
        )


def _day_and_zone(time: str) -> tuple[str, str]:
    day, _, clock = time.rpartition(", ")
    return day, clock.rpartition(" ")[2]


def record_digest(entries: list[Entry]) -> str:
    """Return SHA-256 over the sorted digests of the entries, one a line."""
    return hashlib.sha256("".join(f"{d}\n" for d in sorted(e.digest for e in entries)).encode()).hexdigest()


def _matching(verdict: Verdict, entries: list[Entry]) -> str:
    return spoken(words.MATCH, day=day_words(verdict.day), verdict=verdict.digest, count=len(entries), record=record_digest(entries))


def _facts(view: FittingView, body, entries: list[Entry]) -> tuple[str, ...]:
    opened = view.opened.body if view.opened else {}
    moments = sorted((e.happened_at for e in entries), key=moment_from)
    head = view.head("body")
    mass, load = (_mass(head, key) for key in ("body_mass_kg", "carried_load_kg"))
    return tuple(line for line in (
        spoken("born {born} · file {file_number}", born=day_words(str(body.get('born_on', spoken(NOT_RECORDED)))), file_number=body.get('file_number', spoken(NOT_RECORDED))),
        ", ".join(w for w in (
            view.edition.words("side", str(opened.get("side", ""))),
            view.edition.words("amputation_level", str(opened.get("amputation_level", ""))),
            spoken("{mass} and {load} carried", mass=mass, load=load) if mass and load else "",
        ) if w),
        " · ".join(w for w in (
            _seen_by(view), spoken("{first} to {last}", first=stamp(moments[0]), last=stamp(moments[-1])) if moments else "",
        ) if w),
        spoken(AT_VISIT, day=day_words(day_of(view.former.opened.happened_at))) if view.former and view.former.opened else "",
    ) if line)


def _measure(line: Line, is_compared: bool) -> str:
    """A measure in one line, with how it stands against the visit before where there is one."""
    said = [line.value, line.says] if is_compared else [line.value or line.says]
    return f"{line.what}: {'; '.join(part for part in said if part)}"


def _seen_by(view: FittingView) -> str:
    if not view.prosthetist:
        return ""
    name = view.record.name_of(view.prosthetist)
    return spoken("Seen by {by}", by=name) if view.after else spoken("Fitted by {by}", by=name)


def _mass(head: Entry | None, key: str) -> str:
    value = head.body.get(key) if head else None
    return spoken("{value} kg{as_typed_words}", value=value, as_typed_words=as_typed_words(head.body, key)) if head and value else ""


def _gaps(view: FittingView, verdict: Verdict) -> tuple[str, ...]:
    found = [restriction_line(verdict.restrictions)]
    for step in verdict.steps:
        if step.state not in _SETTLED:
            said = [sentence_of(r, view) for r in step.remarks if r.blocks]
            found += [f"{step.title}: {said[0] if said else spoken(words.NOTHING)}"]
    return tuple(dict.fromkeys(line for line in found if line))


def _parts(view: FittingView) -> Table:
    rows, sheets = [], view.sheets()
    for place in PLACES:
        head = view.head(f"component/{place}")
        if head is not None:
            sheet = sheets.get(place)
            rows.append((
                view.edition.words("place", place), sheet.name if sheet else str(head.body.get("sheet", "")),
                spoken("version {version}", version=sheet.version) if sheet else "", str(head.body.get("serial") or ""),
                str(head.body.get("lot") or ""), str(head.body.get("device_identifier") or ""),
            ))
    return Table(spoken(words.PARTS), words.PARTS_HEAD, (0.21, 0.27, 0.10, 0.14, 0.09, 0.19), tuple(rows))


#: Widths of the tables of a later visit, by their key; the widest column is the one with a sentence in it.
_VISIT_WIDTHS = {
    "drift": (0.22, 0.13, 0.13, 0.39, 0.13), "events": (0.12, 0.16, 0.18, 0.22, 0.32),
    "service": (0.26, 0.13, 0.13, 0.23, 0.25), "carried": (0.19, 0.25, 0.15, 0.20, 0.21),
}


def _over_visits(view: FittingView, verdict: Verdict) -> tuple[Table, ...]:
    """What a later visit compares, and what happened; a service has its place on paper from the first visit on."""
    return tuple(
        Table(t.title, t.head, _VISIT_WIDTHS[t.key], t.rows)
        for t in visit_tables(view, (), date.fromisoformat(verdict.day)) if view.after or t.key != "service"
    )


def _settings(view: FittingView) -> Table:
    rows, confirmed = [], view.last_confirmed()
    for function in FUNCTIONS:
        adjuster = view.adjuster(function)
        if adjuster is not None:
            rows.append((
                view.edition.words("function", function),
                f"{figure_said(confirmed[function])} {unit_behind(confirmed[function], adjuster.unit)}" if function in confirmed else spoken(words.NOT_CONFIRMED),
                _position_now(view, function, adjuster.unit),
                spoken("{lowest} to {highest}", lowest=text_of(adjuster.lowest), highest=text_of(adjuster.highest)), figure_said(text_of(adjuster.largest_step)),
            ))
    return Table(spoken(words.SETTINGS), words.SETTINGS_HEAD, (0.3, 0.2, 0.2, 0.16, 0.14), tuple(rows))


def _position_now(view: FittingView, function: str, unit: str) -> str:
    """Where an adjuster stands now; at a visit also that it was not turned, and where it was left."""
    now, slot = view.settings().get(function), f"setting/{function}"
    if now is not None:
        found = not view.heads(slot) and view.after
        return spoken(words.FOUND_AT if found else words.AT, position=now, unit=unit_behind(now, unit))
    drift = drift_of_setting(view, function)
    if not view.after or view.is_asked(slot) or drift is None or drift.left is None:
        return spoken(NOT_RECORDED)
    return spoken(words.NOT_TURNED, position=text_of(drift.left), unit=unit_behind(drift.left, unit))


def _alignment(view: FittingView) -> Table:
    rows = []
    for column in alignments_of(view):
        readings = "; ".join(
            f"{r.label}: {r.value}" + (f" ({spoken(words.ASKED, asked=r.asked)})" if r.asked else "") for r in column.readings
        )
        rows.append((column.title, column.time, readings, column.standing or spoken(words.STANDS)))
    return Table(spoken(words.ALIGNMENT), words.ALIGNMENT_HEAD, (0.21, 0.06, 0.61, 0.12), tuple(rows))


def _torques(view: FittingView) -> Table:
    rows = tuple((
        t.screw, t.asked, ", ".join(w for w in (t.reading or t.untouched or spoken(NOT_RECORDED), spoken(words.OUTSIDE) if t.outside else "", t.standing) if w),
        ", ".join(w for w in (t.wrench, t.calibrated) if w), t.locking, ", ".join(w for w in (t.by, t.time) if w),
    ) for t in torques_of(view, "final"))
    # What stands of a screw that a visit left alone is a sentence.
    shares = (0.15, 0.18, 0.34, 0.11, 0.09, 0.13) if view.after else (0.145, 0.19, 0.075, 0.22, 0.145, 0.225)
    return Table(spoken(words.TORQUE), words.TORQUE_HEAD, shares, rows)


def _caps(view: FittingView) -> Table:
    rows = tuple((c.name, ", ".join(w for w in (c.said or spoken(NOT_RECORDED), c.standing) if w), c.when) for c in caps_of(view))
    return Table(spoken(words.CAPS), (spoken("Cap"), spoken("Said"), spoken("When, by")), (0.4, 0.25, 0.35), rows)


def _trials(view: FittingView) -> Table:
    return Table(spoken(words.TRIALS), *course_columns(view), course_rows(view))


def _signed(view: FittingView, entries: list[Entry]) -> Table:
    rows = []
    for entry in entries:
        kind = view.edition.kinds.get(entry.kind)
        for s in view.record.signatures_over(entry.digest):
            if s.signer_type == "staff" and kind is not None:
                rows.append((
                    spoken("{title}, entry {digest}", title=kind.title, digest=entry.digest[:12]), words.MEANING.get(s.meaning, s.meaning.replace("_", " ")),
                    s.printed_name, stamp(s.signed_at), s.key[:12],
                ))
    return Table(spoken(words.SIGNED), words.SIGNED_HEAD, (0.40, 0.18, 0.2, 0.10, 0.12), tuple(rows))


def _charts(view: FittingView) -> tuple[Chart, ...]:
    found = []
    for function in FUNCTIONS:
        shown = course_shown(view, function)
        adjuster = view.adjuster(function)
        if shown is not None and adjuster is not None:
            title = words.CHART.format(name=view.edition.words("function", function), unit=unit_behind(adjuster.highest, adjuster.unit))
            found.append(Chart(title, course_scene(shown, CHART_ROOM)))
    return tuple(found)


def _drawn(view: FittingView) -> tuple[Chart, ...]:
    """Signatures drawn by hand, with the name printed."""
    found = []
    for slot in view.filled("drawn/*"):
        head = view.head(slot)
        if head is not None and head.body.get("strokes"):
            title = f"{head.body.get('printed_name', '')}, {stamp(head.happened_at)}"
            found.append(Chart(title, signature_scene(strokes_from(head.body["strokes"]), title)))
    return tuple(found)
