"""The first time: begin a clinic on this tablet alone, or join one by a code."""

from __future__ import annotations

import secrets
import threading

from kivy.clock import Clock

from shared_models.catalogue.edition import load_edition
from shared_models.entries.envelope import Subject
from shared_models.entries.record import Record
from shared_models.entries.signatures import new_key, public_text
from shared_models.language import spoken
from shared_models.quantities.refusals import Refusal
from shared_models.wording.refusals import refusal_sentence
from mobile.keeping.enrolment import Enrolment
from mobile.keeping.tablet import Newcomer, refuse_weak_pin
from mobile.screens.frame import StagePage
from mobile.widgets.banner import Banner
from mobile.widgets.choices import ChoiceRow
from mobile.widgets.listing import ListRow
from mobile.widgets.pin_pad import PinPad
from mobile.widgets.surface import Words
from mobile.widgets.text_field import TextField


def new_staff_id(short_name: str) -> str:
    """Return an id that the locked screen can show: a short name, no full name."""
    stem = "".join(c if c.isascii() and c.isalnum() else "-" for c in short_name.strip().lower())
    return f"p-{stem.strip('-')[:20] or 'x'}-{secrets.token_hex(3)}"


class WelcomePage(StagePage):
    """Nobody has a PIN here yet."""

    def __init__(self, stage):
        super().__init__(stage, has_rail=False)
        self.header.who, self.header.detail = spoken("Stancebook"), spoken("this tablet is new")
        self.head(spoken("Begin"), spoken("Join your clinic with a code from the lead clinician, or begin one on this tablet alone."))
        for title, subtitle, act, name in (
            (spoken("Join a clinic"), spoken("with the server's address and a one-time code"), lambda: stage.show(JoinPage(stage)), "join"),
            (spoken("Begin a clinic on this tablet"), spoken("no network needed"), lambda: stage.show(FoundPage(stage)), "found"),
        ):
            row = ListRow(title=title, subtitle=subtitle, test_name=name)
            row.fbind("on_release", lambda *_, go=act: go())
            self.body.add_widget(row)


class PersonPart:
    """Asks for a new person's name, short name and roles."""

    def __init__(self, body):
        roles = load_edition().choices["role"]
        self.name = TextField(test_name="field:name", label=spoken("Your full name"), hint=spoken("printed beside what you sign"))
        self.short = TextField(test_name="field:short_name", label=spoken("Short name for the locked screen"), hint=spoken("initials; anyone can read it there"))
        self.roles = [
            ChoiceRow(test_name=f"field:role_{code}", label=words[:1].upper() + words[1:], options=[("yes", spoken("yes")), ("no", spoken("no"))], value="no")
            for code, words in roles.items()
        ]
        self.codes = list(roles)
        for widget in (self.name, self.short, *self.roles):
            body.add_widget(widget)

    def newcomer(self, pin: str) -> Newcomer | None:
        """Return the person, or None after saying what is missing."""
        for field in (self.name, self.short):
            missing = not field.text.strip()
            field.message, field.message_kind = (spoken("Fill this in."), "refusal") if missing else ("", "")
        roles = tuple(c for c, row in zip(self.codes, self.roles) if row.value == "yes")
        last = self.roles[-1]
        last.message, last.message_kind = ("", "") if roles else (spoken("Choose at least one role."), "refusal")
        if not roles or not self.name.text.strip() or not self.short.text.strip():
            return None
        return Newcomer(new_staff_id(self.short.text), self.name.text.strip(), roles, pin)


class TwicePad(PinPad):
    """Asks for a new PIN twice, then calls ``on_chosen(pin)``."""

    def __init__(self, on_chosen, **kwargs):
        super().__init__(test_name="pin_pad", least_digits=6, most_digits=12, enter_words=spoken("next"), **kwargs)
        self._on_chosen, self._first = on_chosen, ""
        self.again()

    def again(self, message: str = "") -> None:
        """Ask for the first time."""
        self._first, self.label, self.message = "", spoken("Choose a PIN, at least 6 digits"), message

    def on_pin(self, digits: str) -> None:
        """Take the first or the second typing."""
        if not self._first:
            try:
                refuse_weak_pin(digits)
            except Refusal as refusal:
                self.again(refusal_sentence(refusal))
                return
            self._first, self.label, self.message = digits, spoken("The same PIN once more"), ""
        elif digits != self._first:
            self.again(spoken("The two differ. Choose a PIN once more."))
        else:
            self.again()
            self._on_chosen(digits)


class FoundPage(StagePage):
    """Begin a clinic on this tablet, with its first person."""

    def __init__(self, stage):
        super().__init__(stage, has_rail=False, has_side=True)
        self.header.who, self.header.detail, self.header.leave_words = spoken("Stancebook"), spoken("a new clinic"), spoken("Back")
        self.head(spoken("A clinic on this tablet"), spoken("Its name, who you are, then your PIN."))
        self.clinic = TextField(test_name="field:clinic_name", label=spoken("Name of the clinic"))
        self.body.add_widget(self.clinic)
        self.person = PersonPart(self.body)
        self.pad = TwicePad(self.found)
        self.side.add_widget(self.pad)

    def leave(self) -> None:
        """Back to the beginning."""
        self.stage.go_welcome()

    def found(self, pin: str) -> None:
        """Make the clinic and open it."""
        person = self.person.newcomer(pin)
        missing = not self.clinic.text.strip()
        self.clinic.message, self.clinic.message_kind = (spoken("Fill this in."), "refusal") if missing else ("", "")
        if person is None or missing:
            return
        clinic = f"clinic-{secrets.token_hex(6)}"
        try:
            session = self.stage.tablet.found(clinic, self.clinic.text.strip(), [person])
        except Refusal as refusal:
            self.pad.again(refusal_sentence(refusal))
            return
        self.stage.unlocked(session)


class JoinPage(StagePage):
    """Join by address and code, then say who you are and choose a PIN."""

    def __init__(self, stage):
        super().__init__(stage, has_rail=False)
        self.header.who, self.header.detail, self.header.leave_words = spoken("Stancebook"), spoken("joining a clinic"), spoken("Back")
        self.head(spoken("Join a clinic"), spoken("Type the address and the one-time code that the lead clinician gave you."))
        self.address = TextField(test_name="field:address", label=spoken("Address of the server"))
        self.code = TextField(test_name="field:code", label=spoken("One-time code"))
        self.trouble = Banner(kind="doubt", test_name="join:trouble")
        for widget in (self.address, self.code):
            self.body.add_widget(widget)
        self.button = self.main(spoken("Join"), self.join, "main")

    def leave(self) -> None:
        """Back to the beginning."""
        self.stage.go_welcome()

    def join(self) -> None:
        """Ask the server, off the screen's thread."""
        if self.button.disabled:
            return
        self.button.disabled = True
        tablet, key = f"tablet-{secrets.token_hex(6)}", new_key()
        address, code = self.address.text, self.code.text

        def work():
            try:
                enrolment = self.stage.courier.enrol(address, code, tablet, public_text(key))
                pages = self.stage.courier.fetch_all(enrolment)
            except Refusal as refusal:
                words = refusal_sentence(refusal)
                Clock.schedule_once(lambda _dt: self.refused(words), 0)
                return
            Clock.schedule_once(lambda _dt: self.joined(enrolment, pages, key), 0)

        threading.Thread(target=work, daemon=True).start()

    def refused(self, words: str) -> None:
        """Say why; what was typed stays."""
        self.button.disabled = False
        self.trouble.lead = words
        if self.trouble.parent is None:
            self.body.add_widget(self.trouble)

    def joined(self, enrolment, pages, key) -> None:
        """The clinic is known: now who you are."""
        self.stage.show(WhoPage(self.stage, enrolment, key, pages))


class WhoPage(StagePage):
    """Choose yourself from the clinic's staff and choose a PIN."""

    def __init__(self, stage, enrolment: Enrolment, key, pages):
        super().__init__(stage, has_rail=False, has_side=True)
        self.enrolment, self.key, self.pages = enrolment, key, pages
        record = Record()
        for page in pages:
            record.add(page.entries, page.signatures)
        self.header.who, self.header.detail = spoken("Stancebook"), spoken("joining a clinic")
        self.head(spoken("Who are you?"), spoken("Choose yourself, then choose a PIN for this tablet."))
        self.record, self.rows, self.staff = record, {}, ""
        words = load_edition().choices["role"]
        for staff in record.subjects("staff"):
            body = record.staff_body(staff)
            roles = ", ".join(words.get(role, role) for role in body.get("roles", ()))
            row = ListRow(title=str(body.get("name", staff)), subtitle=roles, test_name=f"person:{staff}")
            row.fbind("on_release", lambda *_, s=staff: self.choose(s))
            self.rows[staff] = row
            self.body.add_widget(row)
        self.pad = TwicePad(self.chosen)
        self.side.add_widget(self.pad)

    def choose(self, staff: str) -> None:
        """Take somebody as oneself."""
        self.staff = staff
        for name, row in self.rows.items():
            row.trailing, row.row_state = (spoken("chosen"), "met") if name == staff else ("", "")

    def chosen(self, pin: str) -> None:
        """Make the keys, keep what was fetched, record the key, and begin."""
        if not self.staff:
            self.pad.again(spoken("Choose yourself first, then the PIN."))
            return
        body = self.record.staff_body(self.staff)
        person = Newcomer(self.staff, str(body.get("name", "")), tuple(body.get("roles", ())), pin)
        try:
            session = self.stage.tablet.join(self.enrolment, self.pages, self.key, person)
        except Refusal as refusal:
            self.pad.again(refusal_sentence(refusal))
            return
        self.stage.unlocked(session)


class ColleaguePage(StagePage):
    """Give a further person a PIN here, while somebody is at work."""

    def __init__(self, stage):
        super().__init__(stage, has_rail=False, has_side=True)
        self.header.who, self.header.detail, self.header.leave_words = spoken("A colleague"), "", spoken("Back")
        session = stage.session
        how = spoken("choose themselves") if session.has_server else spoken("choose themselves, or fill in who they are")
        self.head(spoken("A PIN for a colleague"), spoken("They {how}, then type their own PIN.", how=how))
        record, here = session.record, set(stage.tablet.people())
        self.staff, self.rows = "", {}
        for staff in record.subjects("staff"):
            # A new PIN for somebody who has one is the lead clinician's to give.
            renews = staff in here
            if staff == session.staff or (renews and "lead_clinician" not in session.roles):
                continue
            if not record.head(Subject("staff", staff), "staff"):
                continue
            row = ListRow(
                title=record.name_of(staff), test_name=f"person:{staff}",
                subtitle=spoken("has a PIN here; give a new one") if renews else "",
            )
            row.fbind("on_release", lambda *_, s=staff: self.choose(s))
            self.rows[staff] = row
            self.body.add_widget(row)
        # Where there is a server, who works at the clinic is said there.
        self.person = None if session.has_server else PersonPart(self.body)
        if self.person is None:
            self.body.add_widget(Words(text=spoken("Somebody is missing? The lead clinician adds them on the server; then send and fetch."), tone="ink_soft"))
        self.trouble = Banner(kind="doubt", test_name="colleague:trouble")
        self.pad = TwicePad(self.chosen)
        self.side.add_widget(self.pad)

    def choose(self, staff: str) -> None:
        """Take somebody the clinic knows."""
        self.staff = "" if self.staff == staff else staff
        for name, row in self.rows.items():
            row.trailing = spoken("chosen") if name == self.staff else ""

    def chosen(self, pin: str) -> None:
        """Make their keys on this tablet."""
        if not self.staff and self.person is None:
            self.pad.again(spoken("Choose yourself first, then the PIN."))
            return
        body = self.stage.session.record.staff_body(self.staff) if self.staff else {}
        person = (
            Newcomer(self.staff, str(body.get("name", "")), tuple(body.get("roles", ())), pin)  # type: ignore[arg-type]
            if self.staff else self.person.newcomer(pin)
        )
        if person is None:
            return
        try:
            if self.staff in self.stage.tablet.people():
                self.stage.tablet.give_new_pin(self.stage.session, self.staff, pin)
            else:
                self.stage.tablet.add_person(self.stage.session, person)
        except Refusal as refusal:
            self.trouble.lead = refusal_sentence(refusal)
            if self.trouble.parent is None:
                self.body.add_widget(self.trouble)
            return
        self.stage.go_home()
