"""What the leg carries, and the whole body by estimate, as they are said."""

from __future__ import annotations

import pytest

from shared_models.checks.masses import masses_of
from shared_models.wording.masses import mass_note
from tests.fitting_desk import PROSTHETIST, Desk


def said(level: str = "transfemoral", mass: str = "75", load: str = "6") -> str:
    desk = Desk().staff()
    desk.note("opened", {"person": desk.person.id, "prosthetist": PROSTHETIST, "side": "left", "amputation_level": level, "socket_stage": "definitive"})
    desk.note("body", {"body_mass_kg": mass, "carried_load_kg": load})
    return " ".join(note.sentence for note in mass_note(masses_of(desk.view)))


def test_the_load_counts_to_what_is_carried_and_not_to_the_whole_body():
    assert "With what is carried, 81 kg." in said()
    assert said(load="6").partition("estimated:")[2] == said(load="20").partition("estimated:")[2]


@pytest.mark.parametrize(("level", "words"), [
    ("knee_disarticulation", "79.7 kg"), ("hip_disarticulation", "89.3 kg"),
    ("transfemoral", "79.7 to 89.3 kg, by the length of the residual thigh"),
])
def test_the_estimate_goes_by_the_level(level, words):
    """75 kg / (1 − 0.059) and / (1 − 0.16): shares of Osterkamp LK, J Am Diet Assoc
    1995;95:215-218 (from memory), by arithmetic."""
    assert words in said(level)


def test_without_a_mass_nothing_is_said():
    assert mass_note(masses_of(Desk().staff().view)) == ()
