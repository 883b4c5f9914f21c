"""No screen is missing in the gallery, and none of its four states without a reason."""

import importlib
import pkgutil

import mobile.screens
from mobile.gallery.states import HOWS, WITHOUT, catalogue
from mobile.screens.frame import StagePage
from mobile.widgets.sheet import Sheet


def screens() -> set[str]:
    """Every page, pane and sheet that mobile/screens defines."""
    found = set()
    for module in pkgutil.iter_modules(mobile.screens.__path__):
        loaded = importlib.import_module(f"mobile.screens.{module.name}")
        for name, value in vars(loaded).items():
            if isinstance(value, type) and value.__module__ == loaded.__name__:
                if issubclass(value, (StagePage, Sheet)) or name.endswith("Pane"):
                    found.add(name)
    return found - {"StagePage"}


def test_every_screen_is_shown_in_each_of_its_four_states_or_it_is_said_why_not():
    there = {(state.screen, state.how) for state in catalogue()}
    missing = [
        f"{screen}, {how}" for screen in sorted(screens()) for how in HOWS
        if (screen, how) not in there and (screen, how) not in WITHOUT
    ]
    assert missing == []


def test_a_reason_is_given_only_for_what_is_not_shown():
    there = {(state.screen, state.how) for state in catalogue()}
    assert [key for key in WITHOUT if key in there] == []
    assert all(len(reason) > 20 for reason in WITHOUT.values())


def test_the_gallery_shows_no_screen_that_is_gone():
    assert {state.screen for state in catalogue()} <= screens()


def test_names_of_states_are_unique():
    names = [state.name for state in catalogue()]
    assert len(names) == len(set(names))
