"""A desk for tests: staff with real keys, and a whole fitting in a few calls.

Everything goes through the same composing, signing and folding as on a tablet;
only the store is left out.
"""

from __future__ import annotations

import itertools
from datetime import date, timedelta

from shared_models.catalogue.sheets import DEMO_SHEETS, demo_people, demo_sheet
from shared_models.checks.verdict import Verdict, judge
from shared_models.entries.clock import HybridClock
from shared_models.entries.composing import Author, ChainEnd
from shared_models.entries.envelope import Entry, Subject
from shared_models.entries.fitting import FittingView
from shared_models.entries.record import Record
from shared_models.entries.signatures import Signature, new_key, public_text, sign
from shared_models.quantities.moments import now_here

CLINIC = "demo-clinic"
PROSTHETIST, TECHNICIAN, LEAD = "demo-prosthetist", "demo-technician", "demo-lead"


def undrawn(sheet: dict) -> dict:
    """The sheet without its drawing, for a test that changes the screws or adjusters it shows."""
    return {name: value for name, value in sheet.items() if name != "drawing"}


class Desk:
    """One tablet's worth of people, keys and entries."""

    def __init__(self, tablet: str = "tablet-a", record: Record | None = None, keys=None):
        ticks = itertools.count(1_790_000_000_000, 1000)
        self.record = record or Record()
        self.author = Author(self.record, ChainEnd(CLINIC, tablet), HybridClock(lambda: next(ticks)))
        self.fitting = Subject("fitting", "fitting-1")
        self.person = Subject("person", "person-1")
        self.keys = keys or {}

    def beside(self, tablet: str) -> "Desk":
        """Return a second tablet that knows what this one knows now."""
        other = Record()
        other.add(self.record.entries.values(), self.record.signatures.values())
        desk = Desk(tablet, other, self.keys)
        desk.author.clock.see(self.author.clock.last)
        return desk

    def take(self, other: "Desk") -> None:
        """Take in everything the other desk has."""
        self.record.add(other.record.entries.values(), other.record.signatures.values())

    def keep(self, entry: Entry) -> Entry:
        self.author.accepted(entry)
        self.record.add([entry])
        return entry

    def note(self, kind: str, body: dict, by: str = PROSTHETIST, subject: Subject | None = None, **more) -> Entry:
        return self.keep(self.author.record_fact(kind, subject or self.fitting, body, by, **more))

    def correct(self, wrong: Entry, code: str = "mistyped", by: str = PROSTHETIST, **changed) -> Entry:
        return self.keep(self.author.correct(wrong, {**wrong.body, **changed}, by, code))

    def withdraw(self, wrong: Entry, code: str = "wrong_person") -> Entry:
        return self.keep(self.author.withdraw(wrong, PROSTHETIST, code))

    def sign(self, entry: Entry, by: str, meaning: str) -> Signature:
        signature = sign(
            self.keys[by], clinic=CLINIC, signs=entry.digest, signer_type="staff", signer=by,
            printed_name=self.record.name_of(by), meaning=meaning, signed_at=entry.recorded_at,
        )
        self.record.add(signatures=[signature])
        return signature

    @property
    def view(self) -> FittingView:
        return FittingView(self.record, self.fitting.id)

    def head(self, slot: str) -> Entry:
        found = self.view.head(slot)
        assert found is not None, f"nothing holds {slot}"
        return found

    def verdict(self, day: date | None = None) -> Verdict:
        return judge(self.view, day or now_here().date())

    def states(self) -> dict[str, str]:
        return {s.key: s.state for s in self.verdict().steps}

    def stale(self) -> set[str]:
        return {key for key, state in self.states().items() if state == "stale"}

    # a whole fitting ---------------------------------------------------------

    def staff(self) -> "Desk":
        people = demo_people()
        self.note("clinic", {"name": people["clinic_name"]}, subject=Subject("clinic", CLINIC))
        for person in people["staff"]:
            subject = Subject("staff", person["id"])
            self.keys[person["id"]] = new_key()
            self.note("staff", {"name": person["name"], "roles": person["roles"]}, subject=subject)
            self.note("staff_key", {"tablet": self.author.end.tablet, "public_key": public_text(self.keys[person["id"]])}, by=person["id"], subject=subject)
        return self

    def before_the_bench(self, mass: str = "82.5", load: str = "6") -> "Desk":
        self.note("identity", {"family_name": "Example", "given_name": "Ash", "born_on": "1988-04-02", "file_number": "D-2041"}, subject=self.person)
        self.note("opened", {"person": self.person.id, "prosthetist": PROSTHETIST, "side": "left", "amputation_level": "transfemoral", "socket_stage": "definitive"})
        self.note("body", {"body_mass_kg": mass, "carried_load_kg": load})
        self.note("activity", {"functional_level": "3", "walks_at_two_paces": True, "goals": "hill paths"})
        self.note("limb", {"hip_flexion_contracture_deg": "5", "limb_state": "stable", "skin_state": "intact", "sound_limb": "good"})
        self.note("footwear", {"shoe_heel_height_mm": "10", "shoe": "walking shoe"})
        self.note("consent", {"given": True, "given_by": "person"})
        for name in DEMO_SHEETS:
            body = demo_sheet(name)
            sheet = self.note("component_sheet", body, by=LEAD, subject=Subject("component_sheet", body["sheet"]))
            self.component(body["part"], sheet)
        self.note("candidacy", {"suitable": "yes"})
        return self

    def component(self, place: str, sheet: Entry, serial: str = "none marked") -> Entry:
        return self.note("component", {"place": place, "sheet": sheet.subject.id, "sheet_digest": sheet.digest, "serial": serial, "lot": "none marked"})

    def on_the_bench(self) -> "Desk":
        self.note("bench_alignment", {"reference_line_offset_mm": "0", "heel_height_mm": "10", "socket_flexion_deg": "10", "socket_adduction_deg": "5", "build_height_mm": "498"})
        for function in ("stance_threshold", "swing_flexion", "swing_extension", "stance_damping"):
            self.turn(function, str(self.view.adjuster(function).start), "start")
        self.interim()
        self.note("knee_check", {"no_leak": True, "extension_stop_sound": True})
        self.note("guarded_yield", {"second_person": "Bo", "yields_under_load": True})
        self.ready()
        return self

    def interim(self, *keys: str) -> None:
        for screw in self.view.screws():
            if not keys or screw.key in keys:
                self.note("torque_interim", {"screw": screw.key, "reading_nm": str(screw.screw.interim_nm), "wrench": "W1"})

    def ready(self) -> Entry:
        return self.note("ready", {"two_identifiers_asked": True, "side_agrees": True, "skin_looked_at": True, "stands_by": "Bo"})

    def turn(self, function: str, position: str, reason: str = "trial") -> Entry:
        return self.note("setting", {"function": function, "position": position, "reason": reason})

    def walk(self, slot: str, outcome: str = "confirmed", **more) -> Entry:
        body = {"stands_by": "Bo", "aid": "none", "pain_0_10": "0", "findings": [], "outcome": outcome}
        body.update({
            "stance_threshold": {"damping_came_in": True, "damping_let_go": True},
            "ramp": {"damping_came_in": True, "descent": "even"},
            "low_steps": {"damping_came_in": True, "descent": "even"},
            "stairs": {"damping_came_in": True, "step_over_step": True, "half_foot_over_edge": True, "trunk_upright": True, "descent": "even", "sound_side_landing": "soft", "steps": "6", "time_s": "7.2"},
            "final_walk": {"damping_came_in": True},
        }.get(slot, {}))
        body.update(more)
        kind = "final_walk" if slot == "final_walk" else "trial_" + slot
        return self.note(kind, body)

    def stand(self, load_line: str = "36") -> Entry:
        return self.note("static_alignment", {"load_line_offset_mm": load_line, "height_difference_mm": "-4", "weight_on_prosthesis_kg": "40", "weight_on_sound_side_kg": "44", "balance": "even"})

    def recheck(self) -> Entry:
        return self.note("alignment_recheck", {"load_line_offset_mm": "36", "height_difference_mm": "-4"})

    def tune(self) -> "Desk":
        self.stand()
        self.turn("stance_threshold", "1")
        self.walk("stance_threshold")
        self.note("skin_first", {"minutes_walked": "12", "skin_state": "intact"})
        self.walk("swing_flexion")
        self.walk("swing_extension")
        self.recheck()
        for ground in ("ramp", "low_steps", "stairs"):
            self.walk(ground)
        return self

    def close(self) -> "Desk":
        self.note("skin_end", {"skin_state": "intact"})
        self.tighten()
        self.caps()
        self.closing_alignment()
        self.sign_off()
        self.walk("final_walk")
        return self

    def tighten(self, *keys: str, **more) -> None:
        for screw in self.view.screws():
            if not keys or screw.key in keys:
                self.final_torque(screw.key, str(screw.screw.final_nm), **more)

    def final_torque(self, key: str, reading: str, **more) -> Entry:
        screw = self.view.screw(key).screw
        calibrated = (now_here().date() - timedelta(days=90)).isoformat()
        return self.note("torque_final", {"screw": key, "locking_method": screw.locking_method, "reading_nm": reading, "wrench": "W1", "wrench_calibrated_on": calibrated, **more})

    def caps(self) -> None:
        for cap in self.view.caps():
            self.note("cap", {"cap": cap.key, "seated": True})

    def closing_alignment(self) -> Entry:
        return self.note("alignment_closing", {"load_line_offset_mm": "35"})

    def sign_off(self, by: str = TECHNICIAN) -> Entry:
        entry = self.note("sign_off", {"technician": by, "way": "witnessed"}, by=by)
        self.sign(entry, by, "signs_off")
        return entry

    def hand_over(self) -> "Desk":
        self.note("outcome_measures", {"ten_metre_walk_s": "8.4", "timed_up_and_go_s": "9.9", "two_minute_walk_m": "140", "socket_comfort_0_10": "8", "aid": "none"})
        self.note("handover", {"use_on_stairs": "shown", "first_week": True, "when_to_stop": True, "no_turning": True, "restrictions_said": True, "whom_to_call": "the clinic"})
        self.note("review_plan", {"review_on": (now_here().date() + timedelta(days=14)).isoformat()})
        return self

    # a later visit -------------------------------------------------------------

    def visit(self, name: str = "visit-1") -> "Desk":
        """Open a visit after what this desk is at."""
        opened = {**self.head("opened").body, "after": self.fitting.id}
        self.fitting = Subject("fitting", name)
        self.note("opened", opened)
        return self

    def asked(self, **more) -> "Desk":
        body = {"came_for": "planned", "hours_worn_a_day": "12", "steps_a_day": "4000", "stairs_pattern": "step_over_step", "falls": "0", "gave_way": False, "noise_leak_looseness": False}
        self.note("since_last", {**body, **more})
        self.note("body", {"body_mass_kg": "83", "carried_load_kg": "6"})
        self.note("footwear", {"shoe_heel_height_mm": "10", "shoe": "walking shoe"})
        return self

    def compared(self) -> Entry:
        return self.note("parts_compared", {"as_recorded": True, "no_damage": True})

    def found(self, load_line: str = "35", **positions: str) -> "Desk":
        left = self.view.former.settings()
        for function, position in {**left, **positions}.items():
            self.note("setting_found", {"function": function, "position": position})
        self.note("alignment_found", {"load_line_offset_mm": load_line, "height_difference_mm": "-4"})
        for screw in self.view.screws():
            self.check(screw.key)
        return self

    def check(self, key: str, reading: str = "", held: bool = True) -> Entry:
        reading = reading or str(self.view.screw(key).screw.final_nm)
        calibrated = (now_here().date() - timedelta(days=90)).isoformat()
        return self.note("torque_check", {"screw": key, "held": held, "reading_nm": reading, "wrench": "W1", "wrench_calibrated_on": calibrated})

    def ready_again(self) -> "Desk":
        self.note("limb", {"hip_flexion_contracture_deg": "5", "limb_state": "stable", "skin_state": "intact", "sound_limb": "good"})
        self.note("knee_check", {"no_leak": True, "extension_stop_sound": True})
        self.ready()
        return self

    def leave(self) -> "Desk":
        self.caps()
        self.walk("final_walk")
        self.note("skin_end", {"skin_state": "intact"})
        return self.hand_over()

    def event(self, key: str = "e1", **more) -> Entry:
        body = {"event": key, "happened_on": now_here().date().isoformat(), "what": "fall", "during": "wet kerb", "injury": "none", "knee_involved": "no", "action": "sat down", "told": "the clinic", "follow_up": "look at the knee"}
        return self.note("adverse_event", {**body, **more})

    def follow_up(self, key: str = "e1", closes: bool = True, what: str = "looked at, sound") -> Entry:
        return self.note("event_follow_up", {"event": key, "what": what, "told": "", "closes": closes})

    def request_review(self) -> Entry:
        entry = self.note("review_requested", {"note": ""})
        self.sign(entry, PROSTHETIST, "requests_review")
        return entry

    def decide(self, decision: str = "accepted", remarks=()) -> Entry:
        entry = self.note("review_decision", {"decision": decision, "remarks": list(remarks)}, by=LEAD)
        self.sign(entry, LEAD, "decides")
        return entry

    @classmethod
    def finished(cls) -> "Desk":
        return cls().staff().before_the_bench().on_the_bench().tune().close().hand_over()
