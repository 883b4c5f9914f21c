"""Sheets of parts, sending, practice, the look, a fault of the app: each in its states."""

from __future__ import annotations

from mobile.gallery.families import EARLY
from mobile.gallery.states import EMPTY, ERROR, FULL, TYPICAL, Showing, state, without

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


@state("SheetsPage", ERROR)
def contradicts_itself(at: Showing):
    """A file whose step is wider than its range and whose torque is likelier in another unit."""
    from importlib.resources import files

    _sheets(at)
    at.page.folder.mkdir(exist_ok=True)
    text = (files("shared_models.catalogue") / "demo" / "knee_alder.toml").read_text("utf-8")
    wrong = text.replace('version = "1.2"', 'version = "1.3"').replace('largest_step = "3"', 'largest_step = "30"').replace('final_nm = "11"', 'final_nm = "97"')
    (at.page.folder / "knee.toml").write_text(wrong, "utf-8")
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


# How it looks, and a fault of the app ---------------------------------------------------------


@state("LookSheet", TYPICAL, EARLY)
def how_it_looks(at: Showing):
    """Over the list of fittings."""
    at.stage.go_home()
    at.press("header:look")


@state("LookSheet", ERROR, EARLY)
def look_not_kept(at: Showing):
    """The tablet has no room to keep it."""
    how_it_looks(at)
    from mobile.screens import look

    sheet = at.window.children[0]
    assert isinstance(sheet, look.LookSheet)
    sheet.folder = at.tablet.path / "no folder"
    sheet._keep()


without("LookSheet", EMPTY, "each of its choices always has an answer")
without("LookSheet", FULL, "it has five choices, whatever is recorded")


@state("FaultPage", ERROR, EARLY)
def fault_of_the_app(at: Showing):
    """Something went wrong that no screen expected."""
    from mobile.screens.faults import FaultPage

    at.stage.show(FaultPage(at.stage, RuntimeError("invented"), at.tablet.path))


without("FaultPage", TYPICAL, "it is only shown when something went wrong")
without("FaultPage", EMPTY, "it says the same whatever is recorded")
without("FaultPage", FULL, "it says the same whatever is recorded")
