"""What the page of one fitting shows, in words: verdict first, then the whole course."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from shared_models.checks.deciding import RETURNED, DecisionRefusal, refuse_decision
from shared_models.checks.masses import masses_of
from shared_models.checks.remarks import Remark
from shared_models.checks.telephones import telephone_link
from shared_models.checks.verdict import StepVerdict, Verdict, judge
from shared_models.entries.fitting import FittingView
from shared_models.entries.slots import WITHDRAWN
from shared_models.language import spoken
from shared_models.ledger.audit_trail import AuditRow
from shared_models.ledger.held_attachments import lacking_of
from shared_models.ledger.server_folding import ClinicReading
from shared_models.wording.masses import whole_words
from shared_models.quantities.moments import day_of
from shared_models.wording.outcome_course import SIGNS
from shared_models.wording.outcome_lines import outcome_lines, published_words
from shared_models.wording.sentences import sentence_of
from shared_models.wording.server_sentences import server_sentence
from shared_models.wording.timing_lines import Line
from shared_models.wording.dates import day_words
from shared_models.wording.review_lines import ReviewLine, review_lines
from shared_models.wording.visit_lines import AT_VISIT, OF_THE_PERSON, VisitTable, visit_tables
from shared_models.wording.states import (
    SUPERVISION,
    VERDICT,
    restriction_line,
    review_word,
)
from sync_server.services.attached import DrawnLine, PhotoLine, drawn_of_fitting, photos_of_fitting
from shared_models.wording.course_lines import CourseLine, anchor_of, course_of, field_pairs
from sync_server.services.deciding import seen_mark
from sync_server.services.everything import Place, everything_of
from sync_server.services.fitting_drawings import (
    CourseDrawings, Drawing, WalkDrawings, alignment_drawn, courses_drawn, outcomes_drawn, walks_drawn,
)
from shared_models.wording.reading_lines import (
    AlignmentColumn,
    CapLine,
    TorqueLine,
    alignments_of,
    caps_of,
    torques_of,
)
from sync_server.services.sheet_notes import sheet_news_of
from sync_server.services.signed_lines import Signed, signed_of
from sync_server.services.signing_in import Reviewer, SessionRefusal
from sync_server.services.station import Station
from sync_server.services.timings import TimingCard, timings_of_fitting

_STAGES = ("torque_final", "torque_interim")


@dataclass(frozen=True)
class Gap:
    """A sentence about a step, and where on the page it belongs."""

    sentence: str
    anchor: str
    blocks: bool


@dataclass(frozen=True)
class StepLine:
    """One step as the plumb line shows it."""

    key: str
    title: str
    state: str
    gaps: tuple[Gap, ...]
    here: bool = False

    @property
    def missing(self) -> bool:
        """Whether the step keeps the fitting from being complete."""
        return self.state in ("open", "stale", "disputed")


@dataclass(frozen=True)
class Part:
    """A component as built in."""

    anchor: str
    place: str
    name: str
    sheet: str
    serial: str
    lot: str
    device_identifier: str


@dataclass(frozen=True)
class FittingPage:
    """Everything one page shows."""

    fitting: str
    name: str
    born_on: str
    file_number: str
    telephone: str
    call: str
    side: str
    prosthetist: str
    state: str
    state_words: str
    review: str
    review_words: str
    restriction: str
    supervision: str
    seen: str
    steps: tuple[StepLine, ...]
    loose: tuple[Gap, ...]
    review_remarks: tuple[tuple[str, str], ...]
    review_lines: tuple[ReviewLine, ...]
    signed: tuple[Signed, ...]
    drawn: tuple[DrawnLine, ...]
    photos: tuple[PhotoLine, ...]
    person: tuple[tuple[str, str], ...]
    parts: tuple[Part, ...]
    course: tuple[CourseLine, ...]
    stops: int
    timings: tuple[TimingCard, ...]
    outcomes: tuple[Line, ...]
    drawn_outcomes: tuple[Drawing, ...]
    outcome_signs: str
    published: tuple[str, ...]
    courses: CourseDrawings
    walks: WalkDrawings
    alignments: tuple[AlignmentColumn, ...]
    drawn_alignments: dict[str, tuple[Drawing, ...]]
    interim: tuple[TorqueLine, ...]
    final: tuple[TorqueLine, ...]
    caps: tuple[CapLine, ...]
    visit: str
    visits: tuple[tuple[str, str], ...]
    tables: tuple[VisitTable, ...]
    groups: tuple[tuple[str, tuple[Place, ...]], ...]
    disputes: tuple[Place, ...]
    newer: int
    sheet_news: tuple[str, ...]
    edition: str
    entries: int
    barred: str

    @property
    def missing(self) -> int:
        """How many sentences say what is missing."""
        return sum(len([g for g in s.gaps if g.blocks]) or 1 for s in self.steps if s.missing) + (
            len([g for g in self.loose if g.blocks])
        )


def page_of_fitting(
    station: Station, reviewer: Reviewer, fitting: str, from_where: str
) -> FittingPage:
    """Return one fitting of the reviewer's clinic, and note that it was read.

    Raises SessionRefusal ``not_found`` where the clinic has no such fitting.
    """
    clinic = reviewer.account.clinic
    with station.reading(clinic) as reading:
        view = reading.view(fitting)
        by = reviewer.account.staff_id
        others = other_fittings(reading, view) if view else []
        lacking = lacking_of(reading.connection, view, clinic) if view else frozenset()
        news = sheet_news_of(reading, view) if view else ()
        page = _page(view, judge(view, station.today(), lacking), by, others, lacking, news) if view else None
    outcome = "shown" if page else "refused: not_found"
    station.audit.note([AuditRow(
        reviewer.account.login, "read", clinic, f"fitting/{fitting}", outcome, from_where
    )])
    if page is None:
        raise SessionRefusal("not_found")
    return page


def other_fittings(reading: ClinicReading, view: FittingView) -> list[FittingView]:
    """Return the person's other fittings and visits: what outcome measures are compared with, where events are followed up."""
    found = [reading.view(other) for other in reading.fittings_of(view.person.id) if other != view.id]
    return [other for other in found if other is not None]


def _page(
    view: FittingView, verdict: Verdict, by: str, others: list[FittingView], lacking: frozenset[str],
    news: tuple[str, ...] = (),
) -> FittingPage:
    identity = view.head("identity")
    names = [identity.body.get("given_name"), identity.body.get("family_name")] if identity else []
    telephone = str(identity.body.get("telephone") or "") if identity else ""
    course = tuple(course_of(view))
    groups = everything_of(view)
    words = view.edition.words
    return FittingPage(
        fitting=view.id, name=" ".join(str(n) for n in names if n) or "name not recorded",
        born_on=day_words(str(identity.body.get("born_on", ""))) if identity else "",
        file_number=str(identity.body.get("file_number", "")) if identity else "",
        telephone=telephone, call=telephone_link(telephone),
        side=words("side", str(view.opened.body.get("side", ""))) if view.opened else "",
        prosthetist=view.record.name_of(view.prosthetist) if view.prosthetist else spoken("not recorded"),
        state=verdict.state, state_words=VERDICT.get(verdict.state, verdict.state),
        review=verdict.review,
        review_words=review_word(verdict.review, verdict.changed_since_review),
        restriction=restriction_line(verdict.restrictions),
        supervision="" if verdict.screws_are_signed else spoken(SUPERVISION),
        seen=seen_mark(view, verdict), steps=_steps(view, verdict),
        loose=tuple(_gap(view, r, "") for r in verdict.remarks),
        review_remarks=_review_remarks(view, verdict), review_lines=review_lines(view, verdict), signed=signed_of(view),
        drawn=tuple(drawn_of_fitting(view)), photos=tuple(photos_of_fitting(view, lacking)),
        person=_person(view), parts=_parts(view), course=course,
        stops=sum(line.stop for line in course), timings=tuple(timings_of_fitting(view)),
        outcomes=outcome_lines(view, others), drawn_outcomes=outcomes_drawn(view, others), outcome_signs=spoken(SIGNS),
        published=published_words(view),
        courses=courses_drawn(view), walks=walks_drawn(view), alignments=tuple(alignments_of(view)),
        drawn_alignments=_alignments_drawn(view),
        interim=tuple(torques_of(view, "interim")), final=tuple(torques_of(view, "final")),
        caps=tuple(caps_of(view)), visit=_after_words(view), visits=_visits(view, others),
        tables=visit_tables(view, others, date.fromisoformat(verdict.day)), groups=groups,
        disputes=tuple(p for _, places in groups for p in places if p.disputed),
        newer=len(view.record.needs_newer(view.subject)), sheet_news=news, edition=view.edition.title,
        entries=len(view.entries()), barred=_barred(view, verdict, by),
    )


def _after_words(view: FittingView) -> str:
    """That this is a later visit, and after which day; '' for a first fitting."""
    if view.former is None or view.former.opened is None:
        return ""
    return spoken(AT_VISIT, day=day_words(day_of(view.former.opened.happened_at)))


def _visits(view: FittingView, others: list[FittingView]) -> tuple[tuple[str, str], ...]:
    """The person's fittings and visits, oldest first: where to go, and its day."""
    opened = sorted((v for v in (view, *others) if v.opened), key=lambda v: v.opened.order if v.opened else ("",))
    return tuple(
        (v.id, OF_THE_PERSON["visit" if v.after else "fitting"].format(day=day_words(day_of(v.opened.happened_at)))) for v in opened if v.opened
    ) if len(opened) > 1 else ()


def _alignments_drawn(view: FittingView) -> dict[str, tuple[Drawing, ...]]:
    """The alignments that hold their place, drawn, by the digest of the entry."""
    return {
        head.digest: alignment_drawn(view, head)
        for slot in view.filled("alignment/*") for head in view.heads(slot) if head.kind != WITHDRAWN
    }


def _barred(view: FittingView, verdict: Verdict, by: str) -> str:
    """Why this person can't decide here at all, "" when they can."""
    anything = {view.edition.steps[0].key: "-"}
    try:
        refuse_decision(view, verdict, by, RETURNED, anything)
    except DecisionRefusal as refusal:
        return server_sentence(refusal)
    return ""


def _steps(view: FittingView, verdict: Verdict) -> tuple[StepLine, ...]:
    here = next((s.key for s in verdict.steps if s.state in ("open", "stale", "disputed")), "")
    return tuple(
        StepLine(s.key, s.title, s.state, _gaps(view, s), s.key == here) for s in verdict.steps
    )


def _gaps(view: FittingView, step: StepVerdict) -> tuple[Gap, ...]:
    found = {}
    for remark in step.remarks:
        gap = _gap(view, remark, step.key)
        found.setdefault(gap.sentence, gap)
    return tuple(found.values())


def _gap(view: FittingView, remark: Remark, step: str) -> Gap:
    return Gap(sentence_of(remark, view), _place(view, remark.slot, step), remark.blocks)


def _place(view: FittingView, slot: str, step: str) -> str:
    """Where on the page a gap is looked at: beside its figures, else among the entries, else at its step."""
    sort, _, _ = slot.partition("/")
    heads = view.heads(slot) if slot else []
    if len(heads) > 1:
        return f"disputed-{anchor_of(slot)}"
    screws_and_caps = {f"{stage}/{s.key}" for s in view.screws() for stage in _STAGES} | {f"cap/{c.key}" for c in view.caps()}
    if slot in screws_and_caps or heads and sort in ("alignment", "photo"):
        return f"in-{anchor_of(slot)}"
    if heads and sort in ("trial", "setting"):
        return f"entry-{heads[0].digest[:16]}"
    if slot and view.slot(slot).entries:
        return anchor_of(slot)
    return f"step-{step}" if step else "everything"


def _review_remarks(view: FittingView, verdict: Verdict) -> tuple[tuple[str, str], ...]:
    titles = {s.key: s.title for s in view.edition.steps}
    return tuple((titles.get(step, step), text) for step, text in verdict.review_remarks)


def _person(view: FittingView) -> tuple[tuple[str, str], ...]:
    pairs: list[tuple[str, str]] = []
    for slot in ("identity", "opened", "body", "activity", "limb", "footwear", "consent"):
        for head in view.heads(slot):
            pairs += [
                (label, words) for label, words in field_pairs(view, head)
                if label not in ("Person", "Family name", "Given name")
            ]
    masses = masses_of(view)
    if masses:
        pairs.append((spoken("Whole body with the missing limb, estimated"), whole_words(masses)))
    return tuple(pairs)


def _parts(view: FittingView) -> tuple[Part, ...]:
    found = []
    for slot in view.expand("component/*"):
        for head in view.heads(slot):
            sheet = view.sheet_of(head)
            found.append(Part(
                anchor_of(slot), view.edition.words("place", str(head.body.get("place", ""))),
                sheet.name if sheet else spoken("sheet not here"),
                spoken("version {version}", version=sheet.version) if sheet else str(head.body.get("sheet", "")),
                str(head.body.get("serial") or spoken("not recorded")),
                str(head.body.get("lot") or spoken("not recorded")),
                str(head.body.get("device_identifier") or ""),
            ))
    return tuple(found)
