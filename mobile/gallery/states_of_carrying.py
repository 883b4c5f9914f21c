"""Carrying by stick, joining a server later: each in its states."""

from __future__ import annotations

from mobile.gallery.families import EARLY, FULL as MUCH
from mobile.gallery.states import EMPTY, ERROR, FULL, TYPICAL, Showing, state, without


def _carrying(at: Showing):
    from mobile.screens.carrying import CarryingPage

    at.stage.show(CarryingPage(at.stage))


def _ended(at: Showing):
    at.wait_for(lambda: at.page.work is None and at.page.outcome.parent is not None, "the outcome")


@state("CarryingPage", TYPICAL, EARLY)
def where_to_write(at: Showing):
    """Something is unsent, nothing is written yet."""
    _carrying(at)


@state("CarryingPage", ERROR, EARLY)
def no_receipt_there(at: Showing):
    """Read back before a server has written anything."""
    _carrying(at)
    at.page.take_back()
    _ended(at)


@state("CarryingPage", FULL, MUCH)
def much_written(at: Showing):
    """All that is unsent of a large record, written."""
    _carrying(at)
    at.page.write()
    _ended(at)


without("CarryingPage", EMPTY, "the tablet's own folder can always be chosen, and the clinic itself is unsent at first")


def _join(at: Showing):
    from mobile.screens.join_late import JoinLatePage

    at.stage.show(JoinLatePage(at.stage))


@state("JoinLatePage", EMPTY)
def no_address_yet(at: Showing):
    """As it opens."""
    _join(at)


@state("JoinLatePage", TYPICAL)
def address_and_code_typed(at: Showing):
    """Before pressing."""
    _join(at)
    at.page.address.text, at.page.code.text = "https://stancebook.example:8443", "K7QM-4XWD"


@state("JoinLatePage", ERROR)
def no_server_answers(at: Showing):
    """Nobody answers at that address."""
    _join(at)
    at.page.address.text, at.page.code.text = "http://127.0.0.1:9", "K7QM-4XWD"
    at.page.join()
    at.wait_for(lambda: not at.page.button.disabled, "the refusal")


@state("JoinLatePage", FULL)
def long_address_of_a_server(at: Showing):
    """An address without a place to break it."""
    _join(at)
    at.page.address.text = "https://" + "a-very-long-name-of-a-server." * 5 + "example"
    at.page.code.text = "K7QM-4XWD-9RTL-2PNC-8VHB-5JGD"
