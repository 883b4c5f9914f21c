"""The invented person of the rehearsal, and what is typed in each form."""

from __future__ import annotations

from datetime import date, timedelta
from typing import Any

#: Invented; nobody of this name was asked.
NEW_FITTING: dict[str, Any] = {
    "family_name": "Example-Marsh", "given_name": "Juniper", "born_on": "1988-04-02",
    "file_number": "D-2041", "side": "left", "amputation_level": "transfemoral",
    "socket_stage": "definitive",
}
#: Typed first and refused, before the right figure: 825 for 82.5.
REFUSED = ("body", "body_mass_kg", "825")
STOP_AT = "trial/swing_flexion"
#: The first trial of these is timed, by so many taps.
TIMED_AT, TAPS = "trial/swing_extension", 12
LOOSENED_AGAIN = "foot.front"


def answers(slot: str, view, today: date) -> dict[str, Any]:
    """Return what the rehearsal types into the form of a slot."""
    sort, _, key = slot.partition("/")
    if sort == "torque_interim":
        return {"reading_nm": f"{view.screw(key).screw.interim_nm.normalize():f}", "wrench": "Bench wrench 2"}
    if sort == "torque_final":
        return {
            "reading_nm": f"{view.screw(key).screw.final_nm.normalize():f}",
            "wrench": "Bench wrench 2",
            "wrench_calibrated_on": (today - timedelta(days=120)).isoformat(),
        }
    if sort == "torque_check":
        return {"held": True, **answers(f"torque_final/{key}", view, today)}
    if sort == "found":
        return {"position": view.former.settings()[key]}
    if sort == "component":
        return {"serial": f"DEMO-{key[:3].upper()}-0417", "lot": "D26"}
    if sort == "cap":
        return {"seated": True}
    if sort == "setting":
        return {}
    return dict(_ANSWERS[slot](today))


_ANSWERS = {
    "since_last": lambda _: {
        "came_for": "planned", "hours_worn_a_day": "12", "steps_a_day": "4000", "stairs_pattern": "step_over_step", "falls": "0",
        "gave_way": False, "noise_leak_looseness": False,
    },
    "parts_compared": lambda _: {"as_recorded": True, "no_damage": True},
    "alignment/found": lambda _: {"load_line_offset_mm": "36", "height_difference_mm": "-4"},
    "body": lambda _: {"body_mass_kg": "82.5", "carried_load_kg": "6"},
    "activity": lambda _: {"functional_level": "3", "walks_at_two_paces": True, "goals": "walk to the harbour, stairs at home"},
    "limb": lambda _: {"hip_flexion_contracture_deg": "5", "limb_state": "stable", "skin_state": "intact", "sound_limb": "good"},
    "footwear": lambda _: {"shoe_heel_height_mm": "10", "shoe": "walking shoe"},
    "consent": lambda _: {"given": True, "given_by": "person"},
    "candidacy": lambda _: {"suitable": "yes"},
    "alignment/bench": lambda _: {"reference_line_offset_mm": "0", "heel_height_mm": "10", "socket_flexion_deg": "10", "socket_adduction_deg": "5", "build_height_mm": "498"},
    "knee_check": lambda _: {"no_leak": True, "extension_stop_sound": True},
    "guarded_yield": lambda _: {"second_person": "Bo Helper", "yields_under_load": True},
    "ready": lambda _: {"two_identifiers_asked": True, "side_agrees": True, "skin_looked_at": True, "stands_by": "Bo Helper"},
    "alignment/static": lambda _: {"load_line_offset_mm": "36", "height_difference_mm": "-4", "weight_on_prosthesis_kg": "40.5", "weight_on_sound_side_kg": "42", "balance": "even"},
    "skin/first": lambda _: {"minutes_walked": "12", "skin_state": "red_fading"},
    "alignment/recheck": lambda _: {"load_line_offset_mm": "35", "height_difference_mm": "-4"},
    "skin/end": lambda _: {"skin_state": "intact"},
    "alignment/closing": lambda _: {"load_line_offset_mm": "35"},
    "outcome": lambda _: {"ten_metre_walk_s": "8.4", "timed_up_and_go_s": "9.9", "two_minute_walk_m": "141", "socket_comfort_0_10": "8", "aid": "none"},
    "handover": lambda _: {"use_on_stairs": "shown", "first_week": True, "when_to_stop": True, "no_turning": True, "restrictions_said": True},
    "review_plan": lambda today: {"review_on": (today + timedelta(days=14)).isoformat(), "look_at": "skin, heel rise on stairs"},
}


def trial_answers(slot: str, findings: list[dict[str, str]]) -> dict[str, Any]:
    """Return what is typed after a trial, given what the leg showed."""
    shown = {f["finding"] for f in findings}
    common = {"stands_by": "Bo Helper", "aid": "bars" if slot == "trial/stance_threshold" else "none", "pain_0_10": "1"}
    descent = "drops" if "drops_on_descent" in shown else "slow" if "yields_too_slowly" in shown else "even"
    own: dict[str, dict[str, Any]] = {
        "trial/stance_threshold": {"damping_came_in": "no_damping_when_loaded" not in shown, "damping_let_go": "damping_stays_in" not in shown},
        "trial/ramp": {"damping_came_in": True, "descent": descent},
        "trial/low_steps": {"damping_came_in": True, "descent": descent},
        "trial/stairs": {
            "damping_came_in": True, "step_over_step": True, "half_foot_over_edge": True, "trunk_upright": True,
            "descent": descent, "sound_side_landing": "hard" if descent == "drops" else "soft", "steps": "6", "time_s": "7.2",
        },
        "trial/final_walk": {"damping_came_in": True},
    }
    return {**common, **own.get(slot, {})}
