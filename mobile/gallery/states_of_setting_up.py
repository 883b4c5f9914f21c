"""Setting up, a colleague, unlocking: each in its states."""

from __future__ import annotations

from dataclasses import dataclass

from mobile.gallery.families import ARABIC_NAME, FRESH, LONG_NAME, THAI_NAME
from mobile.gallery.states import EMPTY, ERROR, FULL, TYPICAL, Showing, state, without

# The first time ---------------------------------------------------------------------


@state("WelcomePage", TYPICAL, FRESH)
def two_ways(_at: Showing):
    """Shown by itself on a fresh tablet."""


without("WelcomePage", EMPTY, "it shows nothing of a record: it is the same on every fresh tablet")
without("WelcomePage", ERROR, "nothing is typed or fetched on it")
without("WelcomePage", FULL, "it shows nothing of a record")


def _found(at: Showing):
    from mobile.screens.welcome import FoundPage

    at.stage.show(FoundPage(at.stage))


@state("FoundPage", EMPTY, FRESH)
def nothing_typed(at: Showing):
    """As it opens."""
    _found(at)


@state("FoundPage", TYPICAL, FRESH)
def clinic_and_name_typed(at: Showing):
    """Before the PIN."""
    _found(at)
    at.type("clinic_name", "Clinic at the Weir (invented)")
    at.type("name", "Wren Prosper")


@state("FoundPage", ERROR, FRESH)
def nothing_filled_in(at: Showing):
    """A PIN without a name and a clinic."""
    _found(at)
    at.page.found("493817")


@state("FoundPage", ERROR, FRESH)
def weak_pin(at: Showing):
    """A PIN that anybody would guess."""
    clinic_and_name_typed(at)
    at.find("field:roles").dispatch("on_edit", "prosthetist") if at.finger.is_there("field:roles") else None
    at.page.found("123456")


@state("FoundPage", FULL, FRESH)
def longest_names(at: Showing):
    """As much as somebody types."""
    _found(at)
    at.type("clinic_name", LONG_NAME)
    at.type("name", LONG_NAME)


def _join(at: Showing):
    from mobile.screens.welcome import JoinPage

    at.stage.show(JoinPage(at.stage))


@state("JoinPage", EMPTY, FRESH)
def no_address(at: Showing):
    """As it opens."""
    _join(at)


@state("JoinPage", TYPICAL, FRESH)
def address_and_code(at: Showing):
    """Before pressing."""
    _join(at)
    at.type("address", "https://stancebook.example:8443")
    at.type("code", "K7QM-4XWD")


@state("JoinPage", ERROR, FRESH)
def no_network(at: Showing):
    """Nobody answers at that address."""
    _join(at)
    at.type("address", "http://127.0.0.1:9")
    at.type("code", "K7QM-4XWD")
    at.page.join()
    at.wait_for(lambda: not at.page.button.disabled, "the refusal")


@state("JoinPage", FULL, FRESH)
def long_address(at: Showing):
    """An address without a place to break it."""
    _join(at)
    at.type("address", "https://" + "a-very-long-name-of-a-server." * 5 + "example")
    at.type("code", "K7QM-4XWD-9RTL-2PNC-8VHB-5JGD")


@dataclass(frozen=True)
class _Fetched:
    """What a pull brought: the staff of the clinic."""

    entries: tuple
    signatures: tuple = ()


def _who(at: Showing):
    from mobile.screens.welcome import WhoPage

    known = at.session.record.entries.values() if at.session else ()
    page = _Fetched(tuple(e for e in known if e.subject.type == "staff"))
    at.stage.show(WhoPage(at.stage, None, None, [page]))


@state("WhoPage", TYPICAL)
def staff_of_the_clinic(at: Showing):
    """Whom the server knows."""
    _who(at)
    at.page.choose("demo-prosthetist")


@state("WhoPage", EMPTY, FRESH)
def nobody_known(at: Showing):
    """A clinic whose staff has not been fetched."""
    _who(at)


@state("WhoPage", ERROR)
def pin_before_person(at: Showing):
    """A PIN typed before somebody was chosen."""
    _who(at)
    at.page.chosen("493817")


@state("WhoPage", FULL)
def large_staff(at: Showing):
    """A clinic of many."""
    _many_staff(at)
    _who(at)


def _many_staff(at: Showing):
    from shared_models.entries.envelope import Subject

    with at.tablet.store.together():
        for number in range(20):
            name = (LONG_NAME, ARABIC_NAME["family_name"], THAI_NAME["family_name"])[number] if number < 3 else f"Invented Colleague {number}"
            at.session.save("staff", Subject("staff", f"p-colleague-{number}"), {"name": name, "roles": ["prosthetist", "technician"]})


def _colleague(at: Showing):
    from mobile.screens.welcome import ColleaguePage

    at.stage.show(ColleaguePage(at.stage))


@state("ColleaguePage", TYPICAL)
def a_colleague(at: Showing):
    """Typed by hand on a tablet alone."""
    _colleague(at)
    at.type("name", "Linnet Prosper")


@state("ColleaguePage", EMPTY)
def nobody_typed(at: Showing):
    """As it opens."""
    _colleague(at)


@state("ColleaguePage", ERROR)
def no_name(at: Showing):
    """A PIN without a name."""
    _colleague(at)
    at.page.chosen("493817")


@state("ColleaguePage", FULL)
def many_colleagues(at: Showing):
    """A clinic of many, one with the longest name."""
    _many_staff(at)
    _colleague(at)
    at.type("name", LONG_NAME)


# Unlocking ----------------------------------------------------------------------------


@state("LockPage", TYPICAL)
def locked(at: Showing):
    """Somebody chosen, no PIN yet."""
    at.stage.go_lock()


@state("LockPage", ERROR)
def wrong_pin(at: Showing):
    """The PIN does not fit."""
    at.stage.go_lock()
    at.pin("864209")
    at.wait_for(lambda: not at.page.is_busy, "the refusal")


@state("LockPage", FULL)
def many_people(at: Showing):
    """As many as share one tablet, with long ids."""
    from mobile.keeping.tablet import Newcomer

    for number in range(9):
        at.tablet.add_person(at.session, Newcomer(f"p-colleague-of-the-long-corridor-{number}", f"Colleague {number}", ("technician",), f"73{number}518"))
    at.stage.go_lock()


without("LockPage", EMPTY, "a tablet that nobody can open shows the welcome page instead")
