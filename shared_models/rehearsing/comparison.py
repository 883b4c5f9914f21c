"""The tuning guidance beside the plain rules, over many model people.

    python -m shared_models.rehearsing.comparison --people 10000 --seed 1 --sensitivity

prints one table per adjuster: trials to a setting held for good, share of truly
good final settings, turns above the sheet's largest step, and how often stance
damping did not protect.  Every figure has its 95 % interval.  With
``--sensitivity`` the same with the people's error of observing, width of window
and spread at half and double what the guidance assumes.
"""

from __future__ import annotations

import argparse
import sys
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass
from decimal import Decimal
from random import Random
from typing import Callable, Iterable, Mapping, Sequence

from shared_models.calculations.model_leg.people import model_person
from shared_models.catalogue.sheets import FUNCTIONS, Adjuster, demo_sheet, sheet_from
from shared_models.rehearsing.courses import CourseResult, Walker, tune
from shared_models.rehearsing.intervals import Estimate, mean, ratio_of_means, share
from shared_models.rehearsing.plain_rules import (
    FIXED_INCREMENTS,
    ONE_INCREMENT,
    Guided,
    Rule,
)

PLAIN = ONE_INCREMENT.name
#: Model people worked on in one go by one process.
_PORTION = 250


@dataclass(frozen=True)
class Setup:
    """Which people are drawn: factors on what is usual, 1 for as it is."""

    seed: int
    observer_error: float = 1.0
    window_width: float = 1.0
    spread: float = 1.0


@dataclass(frozen=True)
class Figures:
    """What one rule came to over all people, on one adjuster.

    ``of_plain``: mean trials over those of the plain rule; ``largest_step`` and
    ``missing_again``: turns above the sheet's largest step, and to a threshold
    at or above one where damping was missing; ``unprotected``: share of trials
    in which stance damping did not protect; ``not_ended``: courses that gave up
    or saw no way on.
    """

    rule: str
    people: int
    trials: Estimate
    right: Estimate
    of_plain: Estimate
    unprotected: Estimate
    largest_step: int
    missing_again: int
    not_ended: int


def rules_for(function: str) -> tuple[Rule, ...]:
    """Return the rules measured on a function, the plain one first.

    Stance settings go in smallest steps only, so wider increments are no
    rules for them.
    """
    wider = FIXED_INCREMENTS if function.startswith("swing") else ()
    return (ONE_INCREMENT, *wider, Guided())


def courses_of(
    adjuster: Adjuster, people: Iterable[int], setup: Setup,
    person_of: Callable[..., Walker] = model_person,
) -> dict[str, list[CourseResult]]:
    """Return every course of every rule, by rule, person by person.

    All rules meet the same people with the same stream of chance.  People for
    whom no position of the adjuster is good are left out.
    """
    rules = rules_for(adjuster.function)
    found: dict[str, list[CourseResult]] = {rule.name: [] for rule in rules}
    for number in people:
        person = person_of(
            setup.seed * 1_000_003 + number, spread=setup.spread, window_width=setup.window_width,
        )
        others = good_positions(person, adjuster.function)
        if person.good_window(adjuster.function, others) is None:
            continue
        for rule in rules:
            chance = Random(f"{setup.seed}/{number}/{adjuster.function}")
            found[rule.name].append(tune(
                person, adjuster, rule, chance, setup.observer_error, others=others,
            ))
    return found


def good_positions(person: Walker, tuned: str) -> dict[str, Decimal]:
    """Return where the other adjusters stand while one is tuned.

    In the order of tuning, each in the middle of what is then its good window:
    whoever tunes the extension valve has set threshold and flexion before.
    """
    found: dict[str, Decimal] = {}
    for function in FUNCTIONS[:FUNCTIONS.index(tuned)]:
        window = person.good_window(function, found)
        if window is not None:
            found[function] = window[0] + (window[1] - window[0]) // 2
    return found


def figures_of(courses: Mapping[str, Sequence[CourseResult]]) -> tuple[Figures, ...]:
    """Return what each rule came to."""
    plain = [float(c.trials) for c in courses[PLAIN]]
    return tuple(_figures(rule, own, plain) for rule, own in courses.items())


def _figures(rule: str, courses: Sequence[CourseResult], plain: Sequence[float]) -> Figures:
    trials = [float(c.trials) for c in courses]
    return Figures(
        rule, len(courses), mean(trials), share(sum(c.right for c in courses), len(courses)),
        ratio_of_means(trials, plain),
        share(sum(c.unprotected_trials for c in courses), sum(c.trials for c in courses)),
        sum(c.largest_step_violations for c in courses), sum(c.missing_again for c in courses),
        sum(c.outcome != "reached" for c in courses),
    )


def best_fixed(figures: Sequence[Figures]) -> Figures:
    """Return the fixed-increment rule with the fewest trials, whatever it got right."""
    names = {rule.name for rule in FIXED_INCREMENTS} | {PLAIN}
    return min((f for f in figures if f.rule in names), key=lambda f: f.trials.value)


def compare(
    adjuster: Adjuster, people: int, setup: Setup, processes: int = 1,
) -> tuple[Figures, ...]:
    """Return the figures of every rule on an adjuster over so many model people."""
    portions = [range(k, min(k + _PORTION, people)) for k in range(0, people, _PORTION)]
    if processes <= 1:
        parts = [courses_of(adjuster, portion, setup) for portion in portions]
    else:
        with ProcessPoolExecutor(processes) as pool:
            parts = list(pool.map(
                courses_of, [adjuster] * len(portions), portions, [setup] * len(portions),
            ))
    whole: dict[str, list[CourseResult]] = {}
    for part in parts:
        for rule, courses in part.items():
            whole.setdefault(rule, []).extend(courses)
    return figures_of(whole)


def table(figures: Sequence[Figures]) -> str:
    """Return figures as a table that can be read in a terminal and in Markdown."""
    lines = [
        "| rule | trials | of one increment | right | unprotected trials | above largest step | missing again | not ended |",
        "|---|---|---|---|---|---|---|---|",
    ]
    for f in figures:
        lines.append("| " + " | ".join((
            f.rule, _shown(f.trials, 2), _shown(f.of_plain, 3), _percent(f.right),
            _percent(f.unprotected), str(f.largest_step), str(f.missing_again), str(f.not_ended),
        )) + " |")
    best, guided = best_fixed(figures), figures[-1]
    lines.append(
        f"\n{guided.rule}: {guided.trials.value / best.trials.value:.3f} of the trials of the best "
        f"fixed rule ({best.rule}); {guided.people} people."
    )
    return "\n".join(lines)


def _shown(estimate: Estimate, places: int) -> str:
    return f"{estimate.value:.{places}f} ({estimate.lowest:.{places}f} to {estimate.highest:.{places}f})"


def _percent(estimate: Estimate) -> str:
    return f"{100 * estimate.value:.2f} % ({100 * estimate.lowest:.2f} to {100 * estimate.highest:.2f})"


def setups(seed: int, sensitivity: bool) -> dict[str, Setup]:
    """Return the setups to measure, by what they are called."""
    found = {"as assumed": Setup(seed)}
    if sensitivity:
        for name in ("observer_error", "window_width", "spread"):
            for factor, word in ((0.5, "half"), (2.0, "double")):
                found[f"{name.replace('_', ' ')} {word}"] = Setup(seed, **{name: factor})
    return found


def main(argv: Sequence[str] | None = None) -> int:
    """Print the tables."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--people", type=int, default=1000)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--sensitivity", action="store_true")
    parser.add_argument("--processes", type=int, default=1)
    parser.add_argument("--adjuster", choices=FUNCTIONS, action="append")
    options = parser.parse_args(argv)
    if options.people < 1 or options.processes < 1:
        parser.error("people and processes are counted from 1")
    knee = sheet_from(demo_sheet("knee_alder"))
    for name, setup in setups(options.seed, options.sensitivity).items():
        for function in options.adjuster or FUNCTIONS:
            adjuster = knee.adjuster(function)
            if adjuster is None:
                continue
            found = compare(adjuster, options.people, setup, options.processes)
            print(f"\n{function.replace('_', ' ')}, {name}\n\n{table(found)}", flush=True)
    return 0


if __name__ == "__main__":
    sys.exit(main())
