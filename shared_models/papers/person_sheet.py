"""What the person's sheet says: read from the record once, shown on screen and printed alike."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import timedelta

from shared_models.catalogue.sheets import FUNCTIONS, PLACES
from shared_models.checks.rules_locking import compounds
from shared_models.checks.verdict import MET, NOT_APPLICABLE, WAIVED, Verdict
from shared_models.drawings.alignment import alignment_picture, planes_of
from shared_models.drawings.plain_shapes import Room
from shared_models.drawings.scene import Scene
from shared_models.entries.envelope import Subject
from shared_models.entries.fitting import FittingView
from shared_models.exchange.practice import is_practice
from shared_models.language import Worded, spoken
from shared_models.papers.faces import printable
from shared_models.quantities.moments import moment_from
from shared_models.wording import person_sheet as words
from shared_models.wording.dates import day_of_words, day_words, moment_words, moment_words_of
from shared_models.wording.states import FIRST, GROUND, restriction_line
from shared_models.wording.units import unit_behind

PLAIN, CAUTION, STEPS = "plain", "caution", "steps"
#: The drawing's place on paper: its shape, and the height of a line of type in it.
DRAWING_ROOM = Room(0.9, 0.036)
#: Alignments in the order in which the newest state of the leg is looked for.
_ALIGNMENTS = ("alignment/closing", "alignment/recheck", "alignment/static", "alignment/bench")
_TOLD = ("first_week", "no_turning")


@dataclass(frozen=True)
class Block:
    """A heading with its sentences; ``kind`` is plain, caution or steps (each with a mark)."""

    heading: str
    lines: tuple[str, ...]
    kind: str = PLAIN


@dataclass(frozen=True)
class PersonSheet:
    """The whole sheet.  ``status`` is what keeps it from being whole; '' where nothing does.

    ``moment`` is when the record was last added to, so that the same record
    makes the same paper.  ``is_practice``: nobody was fitted.
    """

    name: str
    file_number: str
    moment: str
    blocks: tuple[Block, ...]
    status: tuple[str, ...] = ()
    is_draft: bool = False
    is_practice: bool = False
    scene: Scene | None = None
    scene_words: str = ""
    title: str = Worded(words.TITLE)
    foot: str = Worded(FIRST)


def person_sheet(view: FittingView, verdict: Verdict) -> PersonSheet:
    """Return the sheet of a fitting as the record stands."""
    identity = view.head("identity")
    body = identity.body if identity else {}
    name = f"{body.get('given_name', '')} {body.get('family_name', '')}".strip() or spoken(words.NOT_RECORDED)
    entries = view.entries()
    moment = max((e.recorded_at for e in entries), key=moment_from, default="1970-01-01T00:00:00.000+00:00")
    blocks = (
        _who(view, name, body), _leg(view), _settings(view), _first_days(view), _stop(view),
        _cautions(view, verdict), _next(view), _fitted(view, verdict, moment),
    )
    scene, scene_words = sheet_drawing(view, DRAWING_ROOM)
    practised = any(is_practice(e.clinic) for e in entries)
    status = ((spoken(words.PRACTICE_STATUS),) if practised else ()) + _status(view, verdict)
    title = spoken(words.VISIT_TITLE if view.after else words.TITLE)
    return PersonSheet(
        name, str(body.get("file_number") or ""), moment, tuple(b for b in blocks if b.lines),
        status, not verdict.is_complete, practised, scene, scene_words, title,
    )


def _status(view: FittingView, verdict: Verdict) -> tuple[str, ...]:
    missing = [s.title for s in verdict.steps if s.state not in (MET, WAIVED, NOT_APPLICABLE)]
    found = []
    if not verdict.is_complete:
        found.append(spoken(words.NOT_COMPLETE, steps=", ".join(missing) or spoken("the fitting as a whole")))
    if not verdict.screws_are_signed:
        found.append(spoken(words.NOT_SIGNED))
    return tuple(found)


def _who(view: FittingView, name: str, body) -> Block:
    opened = view.opened.body if view.opened else {}
    clinics = sorted(view.record.subjects("clinic"))
    heads = [view.record.head(Subject("clinic", c), "clinic") for c in clinics]
    clinic = ", ".join(str(h.body.get("name", "")) for h in heads if h is not None)
    # The name has a line of its own: it may run from right to left.
    lines = [name, spoken("born {born} · file {file_number}", born=day_words(str(body.get('born_on', spoken(words.NOT_RECORDED)))), file_number=body.get('file_number', spoken(words.NOT_RECORDED)))]
    side = view.edition.words("side", str(opened.get("side", "")))
    level = view.edition.words("amputation_level", str(opened.get("amputation_level", "")))
    lines += [f"{side}, {level}" if side else "", clinic]
    return Block(spoken(words.WHO), tuple(line for line in lines if line))


def _leg(view: FittingView) -> Block:
    sheets = view.sheets()
    lines = []
    for place in PLACES:
        if place in sheets:
            head = view.head(f"component/{place}")
            serial = str(head.body.get("serial") or "") if head else ""
            lines.append(f"{view.edition.words('place', place)}: {sheets[place].name}" + (spoken(", serial {serial}", serial=serial) if serial else ""))
    return Block(spoken(words.KNEE), tuple(lines))


def _settings(view: FittingView) -> Block:
    confirmed, lines = view.last_confirmed(), []
    for function in FUNCTIONS:
        adjuster = view.adjuster(function)
        if adjuster is None:
            continue
        name = view.edition.words("function", function)
        # What a visit found and left so is how the leg stands, whatever was confirmed before.
        found = view.value(f"found/{function}", "position") if not view.heads(f"setting/{function}") else None
        position = str(found) if found is not None else confirmed.get(function)
        if position is None:
            lines.append(spoken(words.SETTING_UNKNOWN, name=name))
            continue
        lines.append(spoken(words.SETTING, 
            name=name, position=position, highest=f"{adjuster.highest.normalize():f}",
            unit=unit_behind(adjuster.highest, adjuster.unit), means=words.SETTING_MEANS[function],
        ))
    return Block(spoken(words.SETTINGS), tuple(lines))


def _first_days(view: FittingView) -> Block:
    told = view.edition.kinds["handover"]
    lines = [_after_colon(told.field(key).label) for key in _TOLD]
    lines += [words.STAIRS.get(str(view.value("handover", "use_on_stairs")), words.STAIRS["told"])]
    return Block(spoken(words.FIRST_DAYS), (*_curing(view), *lines), STEPS)


def _after_colon(label: str) -> str:
    """What a label of the hand-over tells the person, as a sentence."""
    text = label.partition(": ")[2] or label
    return f"{text[:1].upper()}{text[1:]}."


def _curing(view: FittingView) -> list[str]:
    ends, unknown = [], []
    for screw, tightened in compounds(view):
        cures = screw.screw.locking_cures_min
        if cures is None:
            unknown.append(screw.screw.name)
        else:
            ends.append(moment_from(tightened.happened_at) + timedelta(minutes=float(cures)))
    found = [spoken(words.CURES, until=moment_words_of(max(ends)))] if ends else []
    return found + ([spoken(words.CURE_UNKNOWN, screws="; ".join(unknown))] if unknown else [])


def _stop(view: FittingView) -> Block:
    label = view.edition.kinds["handover"].field("when_to_stop").label
    reasons = label.partition(": ")[2].split(", ")
    whom = str(view.value("handover", "whom_to_call") or spoken(words.NOT_RECORDED))
    return Block(spoken(words.STOP), (*(f"{r[:1].upper()}{r[1:]}." for r in reasons), spoken(words.CALL, whom=whom)), CAUTION)


def _cautions(view: FittingView, verdict: Verdict) -> Block:
    lines = [spoken(words.MAKER_FIRST), restriction_line(verdict.restrictions)]
    for ground, entry in view.restrictions().items():
        if ground in verdict.restrictions and entry.body.get("follow_up_on"):
            lines.append(spoken(words.RESTRICTED_UNTIL, ground=GROUND.get(ground, ground), day=day_words(str(entry.body["follow_up_on"]))))
    lines += [caution for sheet in view.sheets().values() for caution in sheet.cautions]
    return Block(spoken(words.CAUTIONS), tuple(dict.fromkeys(line for line in lines if line)), STEPS)


def _next(view: FittingView) -> Block:
    day, look_at = view.value("review_plan", "review_on"), view.value("review_plan", "look_at")
    lines = [spoken(words.REVIEW_ON, day=day_words(str(day)) if day else spoken(words.NOT_RECORDED))]
    return Block(spoken(words.NEXT), (*lines, *([spoken(words.LOOK_AT, what=look_at)] if look_at else [])))


def _fitted(view: FittingView, verdict: Verdict, moment: str) -> Block:
    head = view.head("sign_off")
    checked = spoken(words.NO_SCREW_TOUCHED if head is None and verdict.screws_are_signed else words.NOT_CHECKED)
    if head is not None and verdict.screws_are_signed:
        checked = spoken(words.CHECKED_BY, name=view.record.name_of(head.recorded_by), day=day_of_words(head.happened_at))
    by = view.record.name_of(view.prosthetist) if view.prosthetist else spoken(words.NOT_RECORDED)
    return Block(spoken(words.FITTED), (
        spoken(words.SEEN_BY if view.after else words.FITTED_BY, name=by), checked,
        spoken(words.MADE_ON, moment=moment_words(moment)),
    ))


def sheet_drawing(view: FittingView, room: Room) -> tuple[Scene | None, str]:
    """Return the leg from the side by its newest alignment, and the words beneath; nothing where none is recorded."""
    for slot in _ALIGNMENTS:
        head = view.head(slot)
        if head is not None:
            plane = planes_of(view, head.kind)[0]
            picture = alignment_picture(view, head.kind, head.body, plane, room)
            return picture.scene, picture.caption
    return None, ""


def by_hand(sheet: PersonSheet) -> tuple[str, ...]:
    """Return a sentence for each line that can't be printed rightly and is left to the pen."""
    found = []
    for block in sheet.blocks:
        for line in block.lines:
            lacking = printable(line)
            if lacking.lacking:
                found.append(spoken(words.WRITE_BY_HAND, what=f"'{block.heading}'", scripts=lacking.scripts))
    return tuple(dict.fromkeys(found))
