"""Every entry of a fitting, by step and place; what was corrected stays readable."""

from __future__ import annotations

from dataclasses import dataclass

from shared_models.entries.envelope import Entry
from shared_models.entries.fitting import FittingView
from shared_models.language import spoken
from shared_models.wording.sentences import place_words
from shared_models.wording.states import REASON
from shared_models.wording.course_lines import anchor_of, field_pairs, stamp


@dataclass(frozen=True)
class Version:
    """One entry of a slot as it was recorded; old ones stay readable."""

    digest: str
    what: str
    pairs: tuple[tuple[str, str], ...]
    by: str
    happened: str
    recorded: str
    tablet: str
    reason: str
    superseded: bool
    withdrawn: bool

    @property
    def anchor(self) -> str:
        """The name under which the page links to it."""
        return version_anchor(self.digest)


@dataclass(frozen=True)
class Place:
    """A slot with every entry it ever held, oldest first."""

    anchor: str
    title: str
    versions: tuple[Version, ...]
    disputed: bool

    @property
    def differing(self) -> set[str]:
        """The labels in which the sides of a dispute do not agree."""
        sides = [dict(v.pairs) for v in self.versions if not v.superseded]
        labels = {label for side in sides for label in side}
        return {label for label in labels if len({side.get(label) for side in sides}) > 1}


def version_anchor(digest: str) -> str:
    """Return the name under which the page links to one entry."""
    return f"e-{digest[:16]}"


def everything_of(view: FittingView) -> tuple[tuple[str, tuple[Place, ...]], ...]:
    """Every slot with every entry, under the step that asks for it."""
    filled = set(view.record.slots(view.subject))
    filled |= {"identity"} if view.slot("identity").entries else set()
    asked = [s for step in view.edition.steps for s in view.slots_asked(step)]
    names = [s for s in dict.fromkeys(asked) if s in filled]
    names += sorted(filled - set(names))
    by_step: dict[str, list[Place]] = {step.title: [] for step in view.edition.steps}
    by_step[spoken("Beside the steps")] = []
    for name in names:
        step = view.edition.step_of_slot(name)
        by_step[step.title if step else spoken("Beside the steps")].append(_place(view, name))
    return tuple((title, tuple(places)) for title, places in by_step.items() if places)


def _place(view: FittingView, name: str) -> Place:
    slot = view.slot(name)
    heads = {e.digest for e in slot.heads()}
    withdrawn = slot.withdrawn()
    entries = sorted(slot.entries.values(), key=lambda e: e.order)
    return Place(
        anchor_of(name), title_of_slot(view, name),
        tuple(_version(view, e, heads, withdrawn) for e in entries), len(heads) > 1,
    )


def title_of_slot(view: FittingView, name: str) -> str:
    """Return a slot in words; one that is filled in by an id or digest by its kind."""
    try:
        kind = view.edition.kind_of_slot(name)
    except KeyError:  # what should fill it in was not recorded
        return place_words(name, view)
    own = any(f.type in ("digest", "own_id") and "{" + f.key + "}" in kind.slot for f in kind.fields)
    return kind.title if own else place_words(name, view)


def _version(view: FittingView, entry: Entry, heads: set[str], withdrawn: set[str]) -> Version:
    reason = ""
    if entry.because_code:
        reason = REASON.get(entry.because_code, entry.because_code)
        if entry.because_note:
            reason += f": {entry.because_note}"
    pairs = field_pairs(view, entry)
    title = spoken("Withdrawn") if entry.kind == "withdrawn" else view.edition.kinds[entry.kind].title
    return Version(
        entry.digest, title, tuple(pairs), view.record.name_of(entry.recorded_by),
        stamp(entry.happened_at), stamp(entry.recorded_at), entry.tablet, reason,
        entry.digest not in heads and entry.kind != "withdrawn", entry.digest in withdrawn,
    )
