"""What is recorded of an ordinary, invented fitting, form by form."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import timedelta
from decimal import Decimal
from random import Random
from typing import Any, Callable, Mapping, Sequence

from shared_models.calculations.timing.contacts import Contact
from shared_models.calculations.timing.figures import THUMB_TAPS
from shared_models.checks.contacts_text import contacts_text
from shared_models.entries.envelope import Entry
from shared_models.entries.fitting import FittingView
from shared_models.quantities.amounts import text_of
from shared_models.quantities.moments import now_here

#: How a standing reading scatters about the truth, and how far the first bench
#: alignment and each tightened screw leave the load line from where it should
#: be, as standard deviations.  Invented for rehearsal; no source.
READING_MM, FIRST_MM, PULLED_MM = 0.7, 4.0, 0.5
#: How exactly an adapter is turned, as a standard deviation in parts of the turn.
TURNED_PART = 0.1
HELPER, WRENCH = "Bo Helper (invented)", "Bench wrench 2"
#: Days since the rehearsal's wrench was calibrated, until the review, until a follow-up.
CALIBRATED_DAYS, REVIEW_DAYS, FOLLOW_UP_DAYS = 120, 14, 28
#: The load line of a knee whose sheet states no target, in front of the knee centre.
USUAL_LOAD_LINE_MM = Decimal(30)


@dataclass
class Standing:
    """Where the load line truly falls; aligning and tightening move it."""

    chance: Random
    target_mm: float
    offset_mm: float = field(init=False)

    def __post_init__(self) -> None:
        self.offset_mm = self.target_mm + self.chance.gauss(0, FIRST_MM)

    def read_mm(self) -> str:
        """Return one reading, in whole millimetres as typed."""
        return str(round(self.offset_mm + self.chance.gauss(0, READING_MM)))

    def move_mm(self, by_mm: float) -> None:
        """An adapter was turned by what should move the line so far, as exactly as hands can."""
        self.offset_mm += by_mm * (1 + self.chance.gauss(0, TURNED_PART))

    def tighten(self) -> None:
        """A screw was brought to its final torque, which may pull the line."""
        self.offset_mm += self.chance.gauss(0, PULLED_MM)


@dataclass
class Everyday:
    """The forms of one fitting for an invented person."""

    number: int
    prosthetist: str
    technician: str
    person: str
    standing: Standing
    body_mass_kg: str
    carried_load_kg: str
    side: str

    def body(self, slot: str, view: FittingView) -> dict[str, Any]:
        """Return what is recorded in a slot; KeyError where an everyday fitting records nothing."""
        sort, _, key = slot.partition("/")
        if sort in _BY_SORT:
            return _BY_SORT[sort](self, view, key)
        return _BY_SLOT[slot](self)

    def timing(self, trial: Entry, contacts: Sequence[tuple[str, float]]) -> dict[str, Any]:
        """Return what is recorded of the taps of a walk on the level, sides as ``side`` has them."""
        other = {"left": "right", "right": "left"}[self.side]
        sides = {"prosthetic": self.side, "sound": other}
        return {
            "timing": trial.digest[:16], "trial": trial.digest, "way": "level",
            "instrument": THUMB_TAPS.instrument, "event": THUMB_TAPS.event,
            "contacts": contacts_text([Contact(sides[side], time_s) for side, time_s in contacts]),
        }

    def restriction(self, ground: str, because: str) -> dict[str, Any]:
        """Return what is recorded where a ground is not cleared."""
        return {"what": ground, "because": because, "follow_up_on": _in_days(FOLLOW_UP_DAYS)}


def _in_days(days: int) -> str:
    return (now_here().date() + timedelta(days=days)).isoformat()


def _torque(view: FittingView, key: str, final: bool) -> dict[str, Any]:
    screw = view.screw(key).screw
    body = {"screw": key, "wrench": WRENCH, "reading_nm": text_of(screw.final_nm if final else screw.interim_nm)}
    if final:
        body |= {"locking_method": screw.locking_method, "wrench_calibrated_on": _in_days(-CALIBRATED_DAYS)}
    return body


def _static(who: Everyday) -> dict[str, Any]:
    total_kg = Decimal(who.body_mass_kg) + Decimal(who.carried_load_kg)
    own_kg = (total_kg * Decimal("0.47")).quantize(Decimal("0.5"))
    return {
        "load_line_offset_mm": who.standing.read_mm(), "height_difference_mm": "-4",
        "weight_on_prosthesis_kg": str(own_kg), "weight_on_sound_side_kg": str(total_kg - own_kg), "balance": "even",
    }


_BY_SORT: Mapping[str, Callable[[Everyday, FittingView, str], dict[str, Any]]] = {
    "torque_interim": lambda _, view, key: _torque(view, key, final=False),
    "torque_final": lambda _, view, key: _torque(view, key, final=True),
    "cap": lambda _, view, key: {"cap": key, "seated": True},
    "setting": lambda _, view, key: {
        "function": key, "position": text_of(view.adjuster(key).start), "reason": "start",
    },
}
_BY_SLOT: Mapping[str, Callable[[Everyday], dict[str, Any]]] = {
    "identity": lambda who: {
        "family_name": f"Example-{who.number}", "given_name": "Juniper", "born_on": "1988-04-02",
        "file_number": f"D-{who.number}",
    },
    "opened": lambda who: {
        "person": who.person, "prosthetist": who.prosthetist, "side": who.side,
        "amputation_level": "transfemoral", "socket_stage": "definitive",
    },
    "body": lambda who: {"body_mass_kg": who.body_mass_kg, "carried_load_kg": who.carried_load_kg},
    "activity": lambda _: {"functional_level": "3", "walks_at_two_paces": True, "goals": "walk to the harbour, stairs at home"},
    "limb": lambda _: {"hip_flexion_contracture_deg": "5", "limb_state": "stable", "skin_state": "intact", "sound_limb": "good"},
    "footwear": lambda _: {"shoe_heel_height_mm": "10", "shoe": "walking shoe"},
    "consent": lambda _: {"given": True, "given_by": "person"},
    "candidacy": lambda _: {"suitable": "yes"},
    "alignment/bench": lambda _: {
        "reference_line_offset_mm": "0", "heel_height_mm": "10", "socket_flexion_deg": "10",
        "socket_adduction_deg": "5", "build_height_mm": "498",
    },
    "knee_check": lambda _: {"no_leak": True, "extension_stop_sound": True},
    "guarded_yield": lambda _: {"second_person": HELPER, "yields_under_load": True},
    "ready": lambda _: {"two_identifiers_asked": True, "side_agrees": True, "skin_looked_at": True, "stands_by": HELPER},
    "alignment/static": _static,
    "alignment/recheck": lambda who: {"load_line_offset_mm": who.standing.read_mm(), "height_difference_mm": "-4"},
    "alignment/closing": lambda who: {"load_line_offset_mm": who.standing.read_mm()},
    "skin/first": lambda _: {"minutes_walked": "12", "skin_state": "red_fading"},
    "skin/end": lambda _: {"skin_state": "intact"},
    "sign_off": lambda who: {"technician": who.technician, "way": "witnessed"},
    "outcome": lambda _: {
        "ten_metre_walk_s": "8.4", "timed_up_and_go_s": "9.9", "two_minute_walk_m": "141",
        "socket_comfort_0_10": "8", "aid": "none",
    },
    "handover": lambda _: {
        "use_on_stairs": "shown", "first_week": True, "when_to_stop": True, "no_turning": True,
        "restrictions_said": True, "whom_to_call": "Harbour Hill demo clinic",
    },
    "review_plan": lambda _: {"review_on": _in_days(REVIEW_DAYS), "look_at": "skin, heel rise on stairs"},
}
