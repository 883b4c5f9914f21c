"""Sentences of the rehearsals without screens: refusals of their options."""

from __future__ import annotations

from shared_models.language import Phrases

#: What can't be asked of a rehearsal.
REFUSALS = Phrases({
    "people_not_a_count": "'{value}' is no number of people. Say how many to fit: a whole number from 1 to {most}.",
    "seed_not_a_number": "'{value}' is no seed. Give a whole number, such as 7; the same seed brings the same people.",
    "only_with_people": "{option} belongs to a rehearsal without screens. Say also how many people to fit, such as --people 100.",
    "not_with_people": "{option} belongs to a rehearsal on the screens, and --people fits people without any. Leave one of the two out.",
})

#: Why a fitting without screens stayed incomplete, after the step or adjuster it stopped at.
GAVE_UP = Phrases({
    "closed": "the bracket closed: no position can be good",
    "end_of_range": "at the end of its range",
    "look": "no adjuster cures what was found",
    "contradiction": "too much and too little again and again",
    "ask": "whether damping came in was never clear",
    "too_many_trials": "too many trials",
})
