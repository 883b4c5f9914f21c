"""Whole fittings of many invented people, counted, and the same fittings by a plain rule."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass, field
from decimal import Decimal
from random import Random
from time import perf_counter
from typing import Any, Callable, Sequence

from shared_models.calculations.model_leg.people import model_person
from shared_models.calculations.tuning import Suggestion, Tried
from shared_models.catalogue.sheets import FUNCTIONS, Adjuster
from shared_models.checks.verdict import COMPLETE, RESTRICTED
from shared_models.entries.fitting import FittingView
from shared_models.quantities.refusals import Refusal
from shared_models.rehearsing.clinic_desk import Clinic
from shared_models.rehearsing.plain_rules import ONE_INCREMENT
from shared_models.rehearsing.trying import Guide, guidance
from shared_models.rehearsing.whole_fitting import FittingRun, Leg, WholeFitting

#: More people than this at once is a typing error rather than a wish.
MOST_PEOPLE = 100_000
#: People who are not taken on stairs at all, and people for whom no position of
#: one adjuster is good, as shares.  Invented for rehearsal; no source.
WITHOUT_STAIRS_SHARE, NO_GOOD_POSITION_SHARE = 0.05, 0.005


@dataclass
class AdjusterFigures:
    """One adjuster over all fittings.

    ``trials_to_good``: up to the first confirmation, over the ``settled``
    fittings that had one; ``wrong``: final positions at which the person, as
    the fitting left them, still has something to find; ``not_found``: fittings
    that gave up; ``nowhere``: people for whom no position is good;
    ``unprotected``: trials in which stance damping did not come in.  Putting back
    after a stop or a missing damping is one turn however far, and counted apart.
    """

    function: str
    fittings: int = 0
    settled: int = 0
    trials_to_good: int = 0
    trials: int = 0
    unprotected: int = 0
    too_large: int = 0
    put_back_far: int = 0
    wrong: int = 0
    not_found: int = 0
    nowhere: int = 0
    stops: int = 0

    def add(self, run: FittingRun) -> None:
        """Count one fitting."""
        count = run.counts.get(self.function)
        if count is None or not count.trials:
            return
        self.fittings += 1
        self.trials += count.trials
        self.unprotected += count.unprotected
        self.too_large += count.too_large
        self.put_back_far += count.put_back_far
        self.stops += count.stops
        self.nowhere += self.function in run.nowhere
        if count.first_good is None or count.gave_up:
            self.not_found += 1
        else:
            self.wrong += self.function in run.wrong
        if count.first_good is not None:
            self.settled += 1
            self.trials_to_good += count.first_good

    def as_record(self) -> dict[str, Any]:
        """Return the figures by name."""
        return {
            "function": self.function, "fittings": self.fittings,
            "mean_trials_to_a_good_setting": _part(self.trials_to_good, self.settled),
            "mean_trials": _part(self.trials, self.fittings),
            "wrong_final_settings": self.wrong, "no_setting_found": self.not_found,
            "people_without_a_good_position": self.nowhere,
            "steps_above_the_largest": self.too_large,
            "put_back_by_more_than_the_largest_step": self.put_back_far,
            "share_of_trials_unprotected": _part(self.unprotected, self.trials), "stops": self.stops,
        }


@dataclass
class PeopleFigures:
    """What many whole fittings came to."""

    people: int
    seed: int
    adjusters: dict[str, AdjusterFigures] = field(default_factory=lambda: {f: AdjusterFigures(f) for f in FUNCTIONS})
    states: Counter[str] = field(default_factory=Counter)
    why: Counter[str] = field(default_factory=Counter)
    restrictions: Counter[str] = field(default_factory=Counter)
    stale: int = 0
    unsolvable: int = 0
    unsolvable_complete: int = 0
    realigned: int = 0
    entries: int = 0
    seconds: float = 0.0

    @property
    def complete(self) -> int:
        """Fittings with a complete verdict, with or without a restriction."""
        return self.states[COMPLETE] + self.states[RESTRICTED]

    def add(self, run: FittingRun) -> None:
        """Count one fitting."""
        self.states[run.state] += 1
        self.stale += bool(run.stale)
        self.realigned += run.realigned
        self.entries += run.entries
        self.restrictions.update(run.restrictions)
        if not run.is_complete:
            self.why[run.why] += 1
        if run.nowhere:
            self.unsolvable += 1
            self.unsolvable_complete += run.is_complete
        for adjuster in self.adjusters.values():
            adjuster.add(run)

    def as_record(self) -> dict[str, Any]:
        """Return every figure by name; all but ``seconds`` follow from people and seed."""
        return {
            "adjusters": [a.as_record() for a in self.adjusters.values()],
            "fittings": {
                "complete_verdict": self.complete, "share_complete": _part(self.complete, self.people),
                "complete": self.states[COMPLETE], "complete_with_restriction": self.states[RESTRICTED],
                "incomplete": self.people - self.complete,
                "incomplete_because": dict(sorted(self.why.items())),
                "people_without_a_good_position": self.unsolvable,
                "of_these_with_a_complete_verdict": self.unsolvable_complete,
                "not_cleared": dict(sorted(self.restrictions.items())),
                "with_a_stale_confirmation": self.stale,
                "aligned_again": self.realigned, "entries": self.entries,
            },
            "seconds": round(self.seconds, 1),
        }


@dataclass
class Comparison:
    """The same fittings by the guidance and by the plain rule."""

    guided: PeopleFigures
    plain: PeopleFigures

    def as_record(self) -> dict[str, Any]:
        """Return every figure by name."""
        return {
            "people": self.guided.people, "seed": self.guided.seed,
            "guidance": self.guided.as_record(), "plain_rule": self.plain.as_record(),
        }


def rehearse_people(
    people: int, seed: int, *, guide: Guide = guidance, observer_error: float = 1.0,
    spread: float = 1.0, window_width: float = 1.0, each: Callable[[int], None] = lambda _done: None,
) -> PeopleFigures:
    """Run so many whole fittings; the same people and seed give the same figures.

    ``observer_error``, ``spread`` and ``window_width`` are factors on what the
    model assumes; ``each`` hears how many are done.  Raises Refusal for a number
    of people that can't be.
    """
    if not 1 <= people <= MOST_PEOPLE:
        raise Refusal("people_not_a_count", value=str(people), most=MOST_PEOPLE)
    started, figures = perf_counter(), PeopleFigures(people, seed)
    clinic = Clinic.founded()
    for number in range(1, people + 1):
        leg = leg_of(seed, number, spread=spread, window_width=window_width)
        chance = Random(f"{seed}/{number}/trials")
        figures.add(WholeFitting(clinic, number, leg, chance, guide, observer_error).run())
        each(number)
    figures.seconds = perf_counter() - started
    return figures


def compare_people(people: int, seed: int, each: Callable[[int], None] = lambda _done: None) -> Comparison:
    """Run the same fittings by the guidance and by the plain rule; ``each`` hears of both."""
    return Comparison(
        rehearse_people(people, seed, each=each),
        rehearse_people(people, seed, guide=by_plain_rule, each=lambda done: each(people + done)),
    )


def by_plain_rule(
    adjuster: Adjuster, position: Decimal, course: Sequence[Tried], view: FittingView,
) -> Suggestion:
    """The plain rule in the guidance's place; after a stop it walks where the adjuster was put back to."""
    if not course or course[-1].position != position:
        return Suggestion("walk", position)
    advice = ONE_INCREMENT.advise(adjuster, course, view.edition.findings_of(adjuster.function))
    if advice.stop:
        return Suggestion("confirm", position)
    return Suggestion("again" if advice.position == position else "turn", advice.position)


def leg_of(seed: int, number: int, *, spread: float = 1.0, window_width: float = 1.0) -> Leg:
    """Return the number-th invented person of a seed, with what is typed about them."""
    chance = Random(f"{seed}/{number}/person")
    drawn_from, solvable = chance.getrandbits(32), chance.random() >= NO_GOOD_POSITION_SHARE
    walker = model_person(drawn_from, spread=spread, window_width=window_width, solvable=solvable)
    return Leg(
        walker, body_mass_kg=f"{walker.mass_kg:.1f}", side=chance.choice(("left", "right")),
        no_stairs_because=chance.choice(("no_place", "not_cleared", "declined"))
        if chance.random() < WITHOUT_STAIRS_SHARE else "",
    )


def _part(some: int, whole: int) -> float | None:
    return round(some / whole, 4) if whole else None
