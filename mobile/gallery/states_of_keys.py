"""A forgotten PIN, and keys and codes: each in its states."""

from __future__ import annotations

from mobile.gallery.recording import LEAD
from mobile.gallery.states import EMPTY, ERROR, FULL, TYPICAL, Showing, state, without


def _forgotten(at: Showing):
    from mobile.screens.forgotten import ForgottenPage
    from mobile.screens.lock import lock_name

    at.stage.go_lock()
    at.stage.show(ForgottenPage(at.stage, lock_name, at.tablet.people()[0]))


@state("ForgottenPage", EMPTY)
def no_code_typed(at: Showing):
    """As it opens."""
    _forgotten(at)


@state("ForgottenPage", TYPICAL)
def code_typed(at: Showing):
    """Before the new PIN."""
    _forgotten(at)
    at.type("code", "K7QM-2XRT-9HVB-WD4N-JE63")


@state("ForgottenPage", ERROR)
def wrong_code(at: Showing):
    """The code opens nothing."""
    code_typed(at)
    at.page.chosen("739164")
    at.wait_for(lambda: not at.page.is_busy, "the refusal")


@state("ForgottenPage", FULL)
def many_who_may_have_forgotten(at: Showing):
    """As many as share one tablet."""
    from mobile.keeping.tablet import Newcomer

    for number in range(9):
        at.tablet.add_person(at.session, Newcomer(
            f"p-colleague-of-the-long-corridor-{number}", f"Colleague {number}", ("technician",), f"73{number}518",
        ))
    _forgotten(at)


def _keys(at: Showing):
    from mobile.screens.keys import KeysPage

    at.stage.show(KeysPage(at.stage))


@state("KeysPage", EMPTY)
def no_key_waits(at: Showing):
    """On a tablet whose keys all count."""
    _keys(at)


@state("KeysPage", TYPICAL)
def code_made(at: Showing):
    """The recovery code, shown this once."""
    _keys(at)
    at.page.make_code()


@state("KeysPage", FULL)
def keys_wait(at: Showing):
    """As after joining with a code that was issued for nobody by name."""
    from shared_models.entries.envelope import Subject
    from shared_models.entries.vouching import SERVER_CHAIN

    session = at.session
    author, end = session.author, session.author.end
    kept = (end.tablet, end.number, end.digest)
    end.tablet, end.number, end.digest = f"{SERVER_CHAIN}gallery", 0, ""
    entry = author.record_fact("clinic", Subject("clinic", session.clinic), {"name": "x", "keys_vouched": True}, "server")
    end.tablet, end.number, end.digest = kept
    session.entries.add_all([entry])
    session.absorb([entry], [])
    _keys(at)


without("KeysPage", ERROR, "what can't be vouched for is not offered to be pressed")


def _fresh_key(at: Showing):
    _keys(at)
    at.press("fresh_key")


@state("FreshKeyPage", TYPICAL, staff=LEAD)
def before_the_pin(at: Showing):
    """What follows from it is read before the PIN is typed."""
    _fresh_key(at)


@state("FreshKeyPage", ERROR, staff=LEAD)
def wrong_pin_at_the_fresh_key(at: Showing):
    """A wrong PIN changes nothing."""
    _fresh_key(at)
    at.pin("260815")
    at.wait_for(lambda: not at.page.is_busy, "the refusal")


without("FreshKeyPage", EMPTY, "it always says what follows; nothing is listed")
without("FreshKeyPage", FULL, "it says the same however much is sealed")
