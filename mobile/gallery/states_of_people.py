"""The list of fittings, a new person: each in its states."""

from __future__ import annotations

from mobile.gallery.families import ARABIC_NAME, CROWD, EARLY, FULL as MUCH, LONG_NAME, THAI_NAME
from mobile.gallery.states import EMPTY, ERROR, FULL, TYPICAL, Showing, state, without

_TYPED = {"family_name": "Example-Marsh", "given_name": "Juniper", "born_on": "1988-04-02", "file_number": "D-2041"}


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
    """Filled in, with a telephone."""
    _new(at, **_TYPED, side="left", amputation_level="transfemoral", socket_stage="definitive", telephone="+44 1632 960123")


@state("NewFittingPage", ERROR)
def refused_and_left_out(at: Showing):
    """A day that has not come, a telephone that can't be called, and everything else left out."""
    _new(at, born_on="2088-04-02", telephone="ask at the mill")
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
