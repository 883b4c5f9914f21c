"""The whole play: server, tablet, fitting, syncs, the lead clinician's decision."""

from __future__ import annotations

from pathlib import Path

from kivy.base import EventLoop
from kivy.core.window import Window

from shared_models.catalogue.sheets import demo_people
from shared_models.checks.verdict import Verdict
from shared_models.wording.sentences import sentence_of
from shared_models.wording.states import VERDICT, review_word
from mobile.app import StancebookApp
from mobile.demo import found_demo
from mobile.device.finger import Finger
from mobile.device.finding import NotOnScreen
from mobile.device.glove import Glove
from mobile.flows.people import DRAFT
from mobile.keeping.tablet import Tablet
from mobile.rehearsal.counting import Counting
from mobile.rehearsal.course import Course, LostOnTheWay
from mobile.rehearsal.pictures import Pictures
from mobile.rehearsal.lead import Lead, PageRefused
from mobile.rehearsal.server_process import ServerProcess
from mobile.rehearsal.witness import Witness
from mobile.screens.new_fitting import NewFittingPage

WATCHING_REST_S = 0.1
TECHNICIAN = "demo-technician"


class RehearsalFailed(RuntimeError):
    """Something in the rehearsal did not go as it must; says what."""


class Play:
    """One rehearsal in one folder; a second one in the same folder goes on."""

    def __init__(
        self, folder: Path, server: str, code: str, witness: Path | None, watched: bool,
        pictures: Path | None, gloved: bool = False,
    ) -> None:
        self.folder = folder
        self.server_address, self.code = server, code
        self.server: ServerProcess | None = None
        self.witness = Witness(witness)
        self.tablet = Tablet(folder / "tablet")
        self.app = StancebookApp(self.tablet, on_saved=self.witness.saved)
        hand = Glove if gloved else Finger
        self.finger = hand(Window, rest_s=WATCHING_REST_S if watched else 0.0)
        self.pictures = Pictures(pictures, self.finger)
        self.demo = demo_people()

    def run(self, alone: bool = False) -> None:
        """Play it all; raises RehearsalFailed."""
        try:
            self._open(alone)
            self.course = Course(self.app.stage, self.finger, self.say, self._typed, at=self.witness.at)
            self._counting = Counting(self.finger, self._view)
            if alone:
                self.course.run_until(self.course.complete)
                self._tell_effort()
                self._tell("on the tablet", self._verdict())
            else:
                self._whole()
        except (NotOnScreen, LostOnTheWay, PageRefused) as trouble:
            raise RehearsalFailed(str(trouble)) from trouble

    def close(self) -> None:
        """End the server and close the tablet's store."""
        if self.server is not None:
            self.server.close()
        self.tablet.close()

    def say(self, line: str) -> None:
        """Print a line of the course, and take a picture where asked."""
        print(line, flush=True)
        self.pictures.take(line)

    # The acts ------------------------------------------------------------------

    def _open(self, alone: bool) -> None:
        if alone:
            if not self.tablet.people():
                found_demo(self.tablet)
        elif not self.server_address:
            self.server = ServerProcess(self.folder / "server")
            self.server_address, self.code = self.server.address, self.server.code
            self.say(f"A server with a fresh demo clinic listens on {self.server_address}")
        if not EventLoop.window:
            EventLoop.window = Window
        Window.create_window() if getattr(Window, "headless", False) else None
        if EventLoop.status != "started":
            EventLoop.start()
        Window.add_widget(self.app.build())
        self.finger.settle()

    def _whole(self) -> None:
        if not self.tablet.people():
            self._join()
        if TECHNICIAN not in self.tablet.people():
            self._colleague()
        self.say("The fitting:")
        self._counting = Counting(self.finger, self._view)
        self.course.run_until(lambda: self.course.only_last_gap() or self.course.complete())
        if self.course.only_last_gap():
            self._sync()
            self._tell("on the server, before the last gap is closed", self._server_verdict())
            self.course.run_until(self.course.complete)
        self._tell_effort()
        if self._verdict().review == "":
            self.finger.tap("request_review")
            self.say("Sent for review, signed by the prosthetist.")
        self._sync()
        self._tell("on the server, after the last gap is closed", self._server_verdict())
        if self._verdict().review != "accepted":
            self._accept()
            self._sync()
        verdict = self._verdict()
        if verdict.review != "accepted" or verdict.changed_since_review:
            raise RehearsalFailed(f"the decision did not come back: review is '{verdict.review}'")
        self.finger.settle()
        self.say(f"Back on the tablet: {VERDICT[verdict.state]}, review {review_word(verdict.review, verdict.changed_since_review)}.")
        print(f"The record lies in {self.tablet.path} (tablet, sealed)")
        if self.server is not None:
            print(f"               and {self.server.store} (server)")

    def _join(self) -> None:
        """Join the clinic by code, as the prosthetist; then a PIN for the technician."""
        finger, hands, people = self.finger, self.course.hands, self.course.people
        self.witness.at("joining")
        finger.tap("join")
        hands.enter("address", self.server_address)
        hands.enter("code", self.code)
        finger.tap("main")
        finger.wait_for(lambda: finger.is_there("person:demo-prosthetist"), what="the clinic's staff")
        finger.tap("person:demo-prosthetist")
        for _ in range(2):
            hands.pin(people["demo-prosthetist"]["pin"])
        self.say("The tablet joined the clinic; the prosthetist chose a PIN.")

    def _colleague(self) -> None:
        finger, stage = self.finger, self.app.stage
        if stage.session is None:
            self.course.unlock("demo-prosthetist")
        self.witness.at("a PIN for the technician")
        finger.tap("colleague")
        finger.tap(f"person:{TECHNICIAN}")
        for _ in range(2):
            self.course.hands.pin(self.course.people[TECHNICIAN]["pin"])
        self.say("The technician chose a PIN.")

    def _sync(self) -> None:
        """Send and fetch by the screen's own button, then come back to the fitting."""
        finger = self.finger
        self.witness.at("sync")
        finger.tap("header:unsent")
        finger.tap("main")
        self.witness.at("sync under way")
        finger.wait_for(lambda: finger.is_there("sync:outcome"), most_s=60, what="the end of the sync")
        outcome = finger.find("sync:outcome")
        if outcome.lead != "Done.":
            raise RehearsalFailed(f"{outcome.lead} {outcome.text}")
        self.witness.at("synced")
        self.say(f"Synced: {outcome.text}")
        finger.tap("header:leave")

    def _accept(self) -> None:
        import httpx

        self.witness.at("the lead clinician decides")
        person = next(p for p in self.demo["staff"] if p.get("login"))
        with httpx.Client(timeout=20) as client:
            lead = Lead(client, self.server_address)
            lead.log_in(person["login"], person["password"])
            lead.accept(self.course.own_fitting(), person["password"])
        self.say(f"{person['name']} accepted the fitting on the review page, over HTTP.")

    def _view(self):
        """The rehearsal's own fitting as recorded so far, None before it is opened."""
        session = self.app.stage.session
        own = self.course.own_fitting() if session is not None else ""
        return session.fitting(own) if own else None

    def _tell_effort(self) -> None:
        effort = self._counting.effort()
        if effort.facts:
            print(f"By hand: {effort}, PINs and refused tries among them.", flush=True)

    # Verdicts --------------------------------------------------------------------

    def _verdict(self) -> Verdict:
        return self.app.stage.session.verdict(self.course.own_fitting())

    def _server_verdict(self) -> Verdict:
        """The server's own verdict; it must equal the tablet's, figure for figure."""
        own = self._verdict()
        access = self.app.stage.session.entries.sync_state(self.app.stage.session.clinic).access
        import httpx

        answer = httpx.get(
            f"{access['address']}/exchange/{self.app.stage.session.clinic}/verdicts/{self.course.own_fitting()}",
            params={"day": own.day}, headers={"Authorization": f"Bearer {access['token']}"}, timeout=20,
        )
        answer.raise_for_status()
        if answer.json()["digest"] != own.digest:
            raise RehearsalFailed("server and tablet judge this fitting differently")
        return own

    def _tell(self, where: str, verdict: Verdict) -> None:
        print(f"Verdict {where}: {VERDICT[verdict.state]}")
        view = self.app.stage.session.fitting(self.course.own_fitting())
        for step in verdict.steps:
            if step.state not in ("met", "waived", "not applicable"):
                why = "; ".join(dict.fromkeys(sentence_of(r, view) for r in step.remarks if r.blocks))
                print(f"  {step.title}: {step.state}. {why}")

    def _typed(self, key: str, value) -> None:
        page = self.app.stage.page
        if isinstance(page, NewFittingPage):
            self.witness.typed(DRAFT, key, value)
        elif getattr(page, "slot", "") and getattr(page, "fitting", ""):
            self.witness.typed(f"fitting/{page.fitting}/{page.slot}", key, value)
