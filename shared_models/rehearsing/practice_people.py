"""The invented people of practice, and what instruments and they themselves would say.

Nobody of these names was asked.  Each is a model person with a stated trait, so
that a whole fitting can be practised alone on leg after leg.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta
from decimal import Decimal
from functools import lru_cache
from typing import Any, Mapping

from shared_models.calculations.model_leg.people import ModelPerson, model_person
from shared_models.calculations.model_leg.steps_down import StepsDown
from shared_models.calculations.model_leg.strides import LevelStride
from shared_models.catalogue.edition import GROUNDS
from shared_models.catalogue.sheets import FUNCTIONS
from shared_models.checks.rules_alignment import SOCKET_FLEXION_BEYOND_CONTRACTURE_DEG
from shared_models.entries.fitting import FittingView
from shared_models.language import phrase
from shared_models.quantities.amounts import amount_from, text_of
from shared_models.rehearsing.everyday import CALIBRATED_DAYS, HELPER, REVIEW_DAYS, WRENCH
from shared_models.wording.sentences import value_words

Motion = LevelStride | StepsDown
#: Steps counted going down stairs in a practice trial.
STEPS_DOWN = 6


@dataclass(frozen=True)
class PracticePerson:
    """One invented person: who they are, what is special, and the model leg they walk on.

    ``window_width``: how much they take as right, beside other model people;
    ``line_off_mm``: how far the load line stands from its target until an
    adapter was moved.
    """

    key: str
    seed: int
    trait: str
    family_name: str
    given_name: str
    born_on: str
    file_number: str
    side: str
    window_width: float = 1.0
    line_off_mm: int = 1
    contracture_deg: str = "5"

    @property
    def walker(self) -> ModelPerson:
        """The model person who walks."""
        return _walker(self.seed, self.window_width)

    @property
    def identity(self) -> dict[str, str]:
        """What is typed when their fitting is opened."""
        return {
            "family_name": self.family_name, "given_name": self.given_name, "born_on": self.born_on,
            "file_number": self.file_number, "side": self.side,
            "amputation_level": "transfemoral", "socket_stage": "definitive",
        }


PEOPLE = (
    PracticePerson("even", 1003, phrase("for a first practice: easily content"), "Practice-Ash", "Robin", "1988-04-02", "P-1001", "left", 1.2),
    PracticePerson("fast", 1021, phrase("walks fast"), "Practice-Birch", "Sanne", "1994-11-19", "P-1002", "right"),
    PracticePerson("heavy", 1029, phrase("heavier"), "Practice-Cedar", "Tove", "1979-02-27", "P-1003", "left"),
    PracticePerson("short", 1032, phrase("short residual limb: walks slowly, load line off at first"), "Practice-Dogwood", "Ulrik", "1966-08-14", "P-1004", "right", line_off_mm=-13, contracture_deg="15"),
    PracticePerson("narrow", 1000, phrase("hard to please: little is right"), "Practice-Elder", "Vesna", "1983-06-05", "P-1005", "left", 0.8),
)


def person_named(key: str) -> PracticePerson:
    """Return the invented person of a key; the first one for a key not known."""
    return next((p for p in PEOPLE if p.key == key), PEOPLE[0])


@lru_cache(maxsize=8)
def _walker(seed: int, window_width: float) -> ModelPerson:
    return model_person(seed, window_width=window_width)


def positions_of(view: FittingView) -> dict[str, Decimal]:
    """Return where the adjusters stand as recorded, as the model leg takes them."""
    found = {f: amount_from(p) for f, p in view.settings().items()}
    return {f: p for f, p in found.items() if p is not None}


def ground_of(slot: str) -> str:
    """Return what a trial's slot is walked on: level, ramp, low_steps or stairs."""
    key = slot.partition("/")[2]
    return key if key in GROUNDS else "level"


def motion_of(person: PracticePerson, slot: str, positions: Mapping[str, Decimal]) -> Motion:
    """Return the person's walk in a trial as motion."""
    ground = ground_of(slot)
    if ground == "level":
        return LevelStride(person.walker, positions)
    return StepsDown(person.walker, positions, ground)


# What instruments show and the person says -----------------------------------------


def told_of(person: PracticePerson, slot: str, view: FittingView, today: date) -> list[tuple[str, str]]:
    """Return label and value of what would be read or said for a slot; [] where nothing is."""
    values = told_values(person, slot, view, today)
    kind = view.edition.kind_of_slot(slot)
    found = []
    for key, value in values.items():
        field = kind.field(key)
        words = value_words(field, value, view)
        found.append((field.label, words))
    return found


def told_values(person: PracticePerson, slot: str, view: FittingView, today: date) -> dict[str, Any]:
    """Return what would be read or said for a slot, by field; {} where nothing is."""
    sort, _, key = slot.partition("/")
    if sort in ("torque_interim", "torque_final"):
        return _torque(view, key, sort == "torque_final", today)
    if sort == "trial":
        return _trial(person, slot, view)
    by_sort = {
        "component": {"serial": f"PRACTICE-{key[:3].upper()}-{person.file_number[2:]}", "lot": "P26"},
        "cap": {"seated": True},
        "alignment": _alignment(person, key, view),
    }
    return dict(by_sort[sort] if sort in by_sort else _plain(person, today).get(slot, {}))


def _torque(view: FittingView, key: str, final: bool, today: date) -> dict[str, Any]:
    placed = view.screw(key)
    if placed is None:
        return {}
    screw = placed.screw
    told = {"reading_nm": text_of(screw.final_nm if final else screw.interim_nm), "wrench": WRENCH}
    if final:
        told["wrench_calibrated_on"] = (today - timedelta(days=CALIBRATED_DAYS)).isoformat()
    return told


def _alignment(person: PracticePerson, key: str, view: FittingView) -> dict[str, Any]:
    if key == "bench":
        return {
            "reference_line_offset_mm": "0", "heel_height_mm": "10", "socket_flexion_deg": text_of(Decimal(person.contracture_deg) + SOCKET_FLEXION_BEYOND_CONTRACTURE_DEG),
            "socket_adduction_deg": "5", "build_height_mm": "498",
        }
    # An adapter that was moved brings the line to where it should be.
    moved = any(
        e.kind == "screw_moved" and e.body.get("what") == "moved" for e in view.entries()
    )
    knee = view.sheets().get("knee")
    target = knee.alignment.get("load_line_target_mm") if knee else None
    line = int(target if target is not None else 30) + (1 if moved else person.line_off_mm)
    if key == "closing":
        return {"load_line_offset_mm": str(line)}
    told: dict[str, Any] = {"load_line_offset_mm": str(line), "height_difference_mm": "-4"}
    if key == "static":
        whole = Decimal(_mass(person)) + Decimal("4")
        own = (whole * Decimal("0.48")).quantize(Decimal("0.5"))
        told |= {"weight_on_prosthesis_kg": str(own), "weight_on_sound_side_kg": str(whole - own), "balance": "even"}
    return told


def _trial(person: PracticePerson, slot: str, view: FittingView) -> dict[str, Any]:
    ground = ground_of(slot)
    told: dict[str, Any] = {
        "stands_by": HELPER, "aid": "bars" if slot == "trial/stance_threshold" else "none", "pain_0_10": "1",
    }
    if ground == "stairs":
        motion = motion_of(person, slot, positions_of(view))
        told |= {"steps": str(STEPS_DOWN), "time_s": f"{STEPS_DOWN / 2 * motion.period_s:.1f}"}
    return told


def _mass(person: PracticePerson) -> str:
    return f"{person.walker.mass_kg:.1f}"


def _plain(person: PracticePerson, today: date) -> dict[str, dict[str, Any]]:
    fast = person.walker.speed_m_s
    return {
        "body": {"body_mass_kg": _mass(person), "carried_load_kg": "4"},
        "activity": {"functional_level": "3", "walks_at_two_paces": True, "goals": "walk to the harbour, stairs at home"},
        "limb": {"hip_flexion_contracture_deg": person.contracture_deg, "limb_state": "stable", "skin_state": "intact", "sound_limb": "good"},
        "footwear": {"shoe_heel_height_mm": "10", "shoe": "walking shoe"},
        "consent": {"given": True, "given_by": "person"},
        "candidacy": {"suitable": "yes"},
        "knee_check": {"no_leak": True, "extension_stop_sound": True},
        "guarded_yield": {"second_person": HELPER, "yields_under_load": True},
        "ready": {"two_identifiers_asked": True, "side_agrees": True, "skin_looked_at": True, "stands_by": HELPER},
        "skin/first": {"minutes_walked": "12", "skin_state": "red_fading"},
        "skin/end": {"skin_state": "intact"},
        "sign_off": {"way": "witnessed"},
        "outcome": {
            "ten_metre_walk_s": f"{10 / fast:.1f}", "timed_up_and_go_s": f"{11 / fast:.1f}",
            "two_minute_walk_m": f"{115 * fast:.0f}", "socket_comfort_0_10": "8", "aid": "none",
        },
        "handover": {
            "use_on_stairs": "shown", "first_week": True, "when_to_stop": True, "no_turning": True,
            "restrictions_said": True, "whom_to_call": "practice clinic",
        },
        "review_plan": {"review_on": (today + timedelta(days=REVIEW_DAYS)).isoformat(), "look_at": "skin, heel rise on stairs"},
    }


def known_functions(slot: str, view: FittingView) -> tuple[str, ...]:
    """Return the functions that a trial looks at: its own; all of level walking for one without."""
    function = view.edition.kind_of_slot(slot).function
    return (function,) if function else tuple(f for f in FUNCTIONS if f != "stance_damping")
