"""Setting up, unlocking, the list of fittings, a new person, sending: each in its states."""

from __future__ import annotations

from dataclasses import dataclass

from mobile.gallery.families import ARABIC_NAME, CLINIC, CROWD, EARLY, FRESH, FULL as MUCH, LONG_NAME, THAI_NAME
from mobile.gallery.states import EMPTY, ERROR, FULL, TYPICAL, Showing, state, without

_TYPED = {"family_name": "Example-Marsh", "given_name": "Juniper", "born_on": "1988-04-02", "file_number": "D-2041"}


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


# The list of fittings -------------------------------------------------------------------


@state("HomePage", TYPICAL, EARLY)
def some_fittings(at: Showing):
    """A clinic's week."""
    at.stage.go_home()


@state("HomePage", EMPTY)
def no_fitting(at: Showing):
    """The first day."""
    at.stage.go_home()


@state("HomePage", ERROR, EARLY)
def nobody_fits_the_search(at: Showing):
    """Searched for what is not there, while the disk takes nothing more."""
    at.stage.go_home()
    at.type("search", "Nobody of that name")
    from shared_models.quantities.refusals import Refusal

    at.stage._draft_kept(Refusal("draft_not_kept"))


@state("HomePage", FULL, CROWD)
def two_thousand_fittings(at: Showing):
    """After years, with names of other scripts among them."""
    at.stage.go_home()


@state("HomePage", FULL, CROWD)
def names_of_other_scripts(at: Showing):
    """The longest name and one in Arabic letters, found by their file numbers."""
    at.stage.go_home()
    at.type("search", "D-1")


# A new fitting ----------------------------------------------------------------------------


def _new(at: Showing, **typed):
    at.stage.go_new()
    for key, value in typed.items():
        at.type(key, value)


@state("NewFittingPage", EMPTY)
def nobody_yet(at: Showing):
    """As it opens."""
    _new(at)


@state("NewFittingPage", TYPICAL)
def typed(at: Showing):
    """Filled in."""
    _new(at, **_TYPED, side="left", amputation_level="transfemoral", socket_stage="definitive")


@state("NewFittingPage", ERROR)
def refused_and_left_out(at: Showing):
    """A day that does not exist, and everything else left out."""
    _new(at, born_on="2088-04-02")
    at.press("save")


@state("NewFittingPage", FULL)
def longest_name(at: Showing):
    """The longest name a form takes, and another script."""
    _new(at, **{**_TYPED, "family_name": LONG_NAME, "given_name": ARABIC_NAME["given_name"]}, side="left")


@state("NewFittingPage", FULL)
def thai_name(at: Showing):
    """A name in Thai letters."""
    _new(at, **{**_TYPED, **THAI_NAME})


@state("SameSheet", TYPICAL, EARLY)
def perhaps_the_same(at: Showing):
    """The file number is known."""
    _new(at, **{**_TYPED, "file_number": "D-2043"}, side="left", amputation_level="transfemoral", socket_stage="definitive")
    at.press("save")


@state("SameSheet", FULL, MUCH)
def many_alike(at: Showing):
    """Several are known who look alike, with the longest names."""
    _new(at, **{**_TYPED, "given_name": LONG_NAME[:120]}, side="left", amputation_level="transfemoral", socket_stage="definitive")
    at.press("save")


without("SameSheet", EMPTY, "it is only opened when somebody alike is known")
without("SameSheet", ERROR, "it is itself the doubt; every answer to it is possible")


# Sheets of parts, sending, practice ---------------------------------------------------------


def _sheets(at: Showing):
    from mobile.screens.sheets import SheetsPage

    at.stage.show(SheetsPage(at.stage))


@state("SheetsPage", TYPICAL)
def known_parts(at: Showing):
    """The invented parts."""
    _sheets(at)


@state("SheetsPage", ERROR)
def nothing_there_and_one_damaged(at: Showing):
    """An empty folder, then a file that can't be read."""
    _sheets(at)
    at.page.take_in()
    at.page.folder.mkdir(exist_ok=True)
    (at.page.folder / "damaged.toml").write_text("sheet = ", "utf-8")
    (at.page.folder / "half.toml").write_text('sheet = "half"\nname = "Half a sheet"\n', "utf-8")
    at.page.take_in()


@state("SheetsPage", FULL)
def many_parts(at: Showing):
    """A large store room."""
    from shared_models.catalogue.sheets import demo_sheet
    from shared_models.entries.envelope import Subject

    with at.tablet.store.together():
        for number in range(30):
            body = {**demo_sheet("foot_elm"), "sheet": f"foot-{number}", "name": f"Foot {number} of the store room, with the long name that its label bears (invented)"}
            at.session.save("component_sheet", Subject("component_sheet", body["sheet"]), body)
    _sheets(at)


without("SheetsPage", EMPTY, "the practice clinic and every clinic founded by hand begin with sheets; a clinic without any shows its heading and button only")


def _with_server(at: Showing, address: str = "http://127.0.0.1:9"):
    from dataclasses import replace

    known = at.session.entries.sync_state(at.session.clinic)
    at.session.entries.keep_sync_state(replace(known, access={"address": address, "token": "none", "tablet": at.session.tablet}))


@state("SyncPage", TYPICAL)
def ready_to_send(at: Showing):
    """A server is known."""
    _with_server(at, "https://stancebook.example:8443")
    at.stage.go_sync()


@state("SyncPage", EMPTY)
def no_server(at: Showing):
    """A clinic on this tablet alone."""
    at.stage.go_sync()


@state("SyncPage", ERROR, EARLY)
def nobody_answers(at: Showing):
    """No network."""
    _with_server(at)
    at.stage.go_sync()
    at.page.start()
    at.wait_for(lambda: at.page.outcome.parent is not None, "the refusal")


@state("SyncPage", FULL)
def long_way(at: Showing):
    """An address without a place to break it."""
    _with_server(at, "https://" + "a-very-long-name-of-a-server." * 5 + "example")
    at.stage.go_sync()


@state("PracticePeoplePage", TYPICAL)
def whom_to_practise_on(at: Showing):
    """The way into practice, pressed at the locked page."""
    from mobile.screens.practice_people import PracticePeoplePage

    at.stage.practising.enter()
    at.stage.show(PracticePeoplePage(at.stage))


without("PracticePeoplePage", EMPTY, "the invented people are part of the app")
without("PracticePeoplePage", ERROR, "one press on an invented person can't be refused")
without("PracticePeoplePage", FULL, "the invented people are always the same")
