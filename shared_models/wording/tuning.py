"""Sentences for the next step of an adjuster: what to do, what is known, and why."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal
from typing import Sequence

from shared_models.calculations.tuning import Suggestion, turn_direction
from shared_models.catalogue.edition import Finding
from shared_models.catalogue.sheets import Adjuster
from shared_models.checks.tuning_advice import PassedOver
from shared_models.language import Phrases, counted, filled, spoken, within
from shared_models.quantities.amounts import text_of
from shared_models.wording.units import unit_behind
from shared_models.wording.turning import way_words

#: What can't be taken, by the code of its refusal.
REFUSALS = Phrases({
    "tuning_position_outside": "The {adjuster} can't stand at {position}: it runs from {lowest} to {highest} {unit}. Correct the position.",
})

_DO = Phrases({
    "walk": "Walk with the {name} at {now} first, and say what was seen and felt.",
    "again": "Leave the {name} at {now} and walk once more.",
    "confirm": "Confirm {now}, if the person agrees: the {name} is likely right there.",
    "turn": "Turn the {name} {turn} to {to}, then walk again.",
    "restore": "Put the {name} back to {to} at once, before anything else.",
    "ask": "Ask first: did stance damping come in at all on the way down? Record the answer before anything is turned.",
    "threshold": "Leave the {name} at {now}: stance damping did not come in. Go back to the stance threshold; no stairs until damping comes in every time.",
    "look": "Leave the {name} as it is: turning it is not the first thing to try here.",
    "contradiction": "Too much and too little in one trial: look at each pace by itself before turning anything.",
    "end_of_range": "The {name} is at the end of its range and no position left can be good: look at alignment, foot, socket and weight.",
    "closed": "Every position from {lowest} to {highest} was tried or is excluded, so a good one is unlikely here: look at alignment, foot, socket and weight.",
})
_WHY = Phrases({
    "walk": "Nothing was walked at {now} yet.",
    "again": "The chance that {now} is right is {chance} %; one more walk decides it with the fewest trials.",
    "confirm": "The chance that {now} is right is {chance} %.",
    "restore": "Stance damping was missing at {missing}, so {missing} and above are not suggested again.",
    "ask": "A drop without damping asks for a lower threshold, a drop with it for more damping.",
    "threshold": "More damping can't help where none comes in.",
    "look": "What was found more often has another cause than this setting.",
    "contradiction": "Turning would mend one and worsen the other.",
    "end_of_range": "Every finding asks for more than the range gives.",
    "closed": "What was found leaves no room between too low and too high.",
})


def suggestion_words(
    found: Suggestion, adjuster: Adjuster, position: Decimal | None,
    known: Sequence[Finding],
) -> str:
    """Return what to do next, with the finding that led there."""
    finding = next((f for f in known if f.key == found.finding), None)
    # What to try first is said where nothing is turned; a turn says it itself.
    turned = found.action in ("turn", "again", "confirm")
    reason = spoken("Found: {words}.", words=finding.words) if finding and finding.words else ""
    if finding and not turned:
        reason = f"{reason} {finding.try_first}"
    return f"{filled(_DO[found.action], _figures(found, adjuster, position))} {reason}".strip()


def reason_words(found: Suggestion, adjuster: Adjuster, position: Decimal | None) -> tuple[str, str]:
    """Return two sentences: what the trials showed, and why this step."""
    return known_words(found), _why(found, adjuster, position)


def passed_over_words(passed: PassedOver | None, known: Sequence[Finding]) -> str:
    """Return why a suggestion goes past a position where little spoke against it; '' when it does not."""
    if passed is None:
        return ""
    finding = next((f.words for f in known if f.key == passed.finding), "")
    side = spoken("too low") if passed.low else spoken("too high")
    at = text_of(passed.position)
    return spoken("Position {at} had a slight finding ({finding}); passed over because one slight finding alone does not settle that it is {side}.", at=at, finding=finding, side=side)


def known_words(found: Suggestion) -> str:
    """Return what the trials showed of the range, in one sentence."""
    low, high = _bracket(found)
    if low is not None and high is not None and low >= high:
        return spoken("Trials contradict each other between {high} and {low}.", high=text_of(high), low=text_of(low))
    if low is not None and high is not None:
        return spoken("Clearly too low up to {low}, clearly too high from {high}.", low=text_of(low), high=text_of(high))
    if low is not None:
        return spoken("Clearly too low up to {low}; nothing was clearly too high yet.", low=text_of(low))
    if high is not None:
        return spoken("Clearly too high from {high}; nothing was clearly too low yet.", high=text_of(high))
    return spoken("Nothing was clearly too low or too high yet.")


def _why(found: Suggestion, adjuster: Adjuster, position: Decimal | None) -> str:
    if found.action == "turn" and position is not None and found.position is not None:
        return _why_turn(found, adjuster, position)
    if found.action == "restore" and found.missing_from is None:
        return spoken("Safety comes before anything that is learnt about the setting.")
    return filled(_WHY[found.action], _figures(found, adjuster, position))


def _why_turn(found: Suggestion, adjuster: Adjuster, position: Decimal) -> str:
    step, to = abs(found.position - position), text_of(found.position)
    chance = _percent(found.chance_next)
    if adjuster.function.startswith("stance"):
        return spoken("Stance settings go in the smallest steps only; the chance that {to} is right is {chance} %.", to=to, chance=chance)
    if step == adjuster.largest_step and found.chance_next < 0.5:
        return spoken("{to} is one largest step towards the positions that are likely to be good.", to=to)
    return spoken("{to} is expected to lead to a right setting in the fewest trials; the chance that it is right is {chance} %.", to=to, chance=chance)


def _percent(chance: float) -> str:
    """Return a chance in words; nothing believed of a leg is ever certain."""
    if chance > 0.99:
        return spoken("above 99")
    return spoken("below 1") if chance < 0.01 else spoken("about {chance}", chance=round(100 * chance))


def _figures(found: Suggestion, adjuster: Adjuster, position: Decimal | None) -> dict[str, str]:
    there = found.position
    turn = turn_direction(adjuster, position, there) if None not in (there, position) else ""
    return {
        "name": within(adjuster.name),
        "now": text_of(position) if position is not None else "",
        "to": text_of(there) if there is not None else "",
        "turn": way_words(turn),
        "chance": _percent(found.chance),
        "missing": text_of(found.missing_from) if found.missing_from is not None else "",
        "lowest": text_of(adjuster.lowest), "highest": text_of(adjuster.highest),
    }


@dataclass(frozen=True)
class RangeShown:
    """What a bar of positions shows, with the words that say the same.

    Positions in the sheet's unit; ``low``/``high``: too low up to, too high
    from, None where nothing is known; ``here`` and ``there``: where the
    adjuster stands and where it is suggested to go.
    """

    lowest: float
    highest: float
    step: float
    low: float | None
    high: float | None
    here: float
    there: float | None
    here_words: str
    there_words: str
    low_words: str
    maybe_words: str
    high_words: str


def range_shown(found: Suggestion, adjuster: Adjuster, position: Decimal) -> RangeShown:
    """Return what is known of an adjuster's range as a bar shows it."""
    low, high = _bracket(found)
    if low is not None and high is not None and low >= high:
        low, high = None, None
    there = found.position if found.position != position else None
    first = low + adjuster.smallest_step if low is not None else adjuster.lowest
    last = high - adjuster.smallest_step if high is not None else adjuster.highest
    maybe = spoken("{first} to {last}", first=text_of(first), last=text_of(last)) if first < last else text_of(first)
    return RangeShown(
        float(adjuster.lowest), float(adjuster.highest), float(adjuster.smallest_step),
        _drawn(low), _drawn(high), float(position), _drawn(there),
        spoken("now {position}", position=text_of(position)), spoken("next {there}", there=text_of(there)) if there is not None else "",
        spoken("too low up to {low}", low=text_of(low)) if low is not None else spoken("from {lowest}", lowest=text_of(adjuster.lowest)),
        spoken("may be right: {maybe}", maybe=maybe) if first <= last else spoken("none left"),
        spoken("too high from {high}", high=text_of(high)) if high is not None else spoken("to {highest}", highest=text_of(adjuster.highest)),
    )


def _bracket(found: Suggestion) -> tuple[Decimal | None, Decimal | None]:
    """Too low up to, too high from; where damping was missing is too high."""
    highs = [h for h in (found.too_high_from, found.missing_from) if h is not None]
    return found.too_low_up_to, min(highs, default=None)


def _drawn(position: Decimal | None) -> float | None:
    return float(position) if position is not None else None


def recheck_words(disturbed: Sequence[str]) -> str:
    """Return which functions a turn disturbs; '' when none that was confirmed."""
    if not disturbed:
        return ""
    named = spoken(" and ").join(within(name) for name in disturbed)
    again = counted("that", "those", len(disturbed))
    return spoken("This turn disturbs {named}: walk {again} again afterwards.", named=named, again=again)


def step_words(trouble: str, adjuster: Adjuster) -> str:
    """Return what is wrong with a step that was chosen; '' when nothing is."""
    name = within(adjuster.name)
    return {
        "": "",
        "outside": spoken("The {name} runs from {lowest} to {highest} {unit}.", name=name, lowest=adjuster.lowest, highest=adjuster.highest, unit=unit_behind(adjuster.highest, adjuster.unit)),
        "missing": spoken("Stance damping was missing at this threshold or below it. Stay below, or say why."),
        "too_large": spoken("That is more than the largest step of {largest_step} {unit}. Go in smaller steps, or say why.", largest_step=adjuster.largest_step, unit=unit_behind(adjuster.largest_step, adjuster.unit)),
    }[trouble]
