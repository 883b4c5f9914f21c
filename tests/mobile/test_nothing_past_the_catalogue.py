"""Whoever reads the tablet in another language reads nothing in English: its screens in the marked language.

One state of each screen and every eighth of the others; with STANCEBOOK_EVERY_STATE=1 all of them.
"""

import os
import re

import pytest
from kivy.uix.label import Label
from kivy.uix.textinput import TextInput

from shared_models.catalogue.sheets import DEMO_SHEETS, demo_people, demo_sheet
from shared_models.language import MARKED, SOURCE, choose_language
from shared_models.language.figures import MARKED_SIGN
from mobile.gallery.boxes import shown, topmost
from mobile.gallery.round import LYING, Round
from mobile.gallery.states import catalogue
from tests.languages.unmarked import Known, words_of

#: What the states type, record or name: people, wrenches, screws of invented sheets, files, addresses, notes.
TYPED = (
    "Bench wrench 2", "W1", "Bo Helper", "none marked", "colleague of the long corridor", "wet kerb", "sat down", "look at the knee",
    "walk to the harbour, stairs at home", "heel wedge under the shoe", "damaged.csv", "damaged.jpg",
    "demo lead", "demo prosthetist", "demo technician", "the clinic",
    "Walk the stairs once more, with the usual shoe.", "from the side",
)
_TYPED = re.compile(
    r"(Juniper |Ash |Bartholomew )?Example-\w+|Maximiliane-Theodora[\w -]+|https?://\S+|/\S*stancebook-gallery\S*"
    r"|Screw \d+ of the lower half of the knee's frame, at the side towards the body"
    r"|Foot \d+ of the store room, with the long name that its label bears \(invented\)|[\w]+ Practice-\w+|walk-\d+\.csv|[\u0600-\u06ff]+"
    r"|The heel of the prosthesis rises higher than that of the sound side[^\u27e6\u27e7]*|DEMO-\w+-\d+"
)
#: The version of a sheet is a name, printed by its maker, and no figure.
_VERSION = re.compile(r"(?:[Vv]ersion|newest is) \S+")
#: Points that are none of a figure to be read: of an address, and of a line as a file of contacts has it.
_FOR_MACHINES = re.compile(r"https?://\S+|left,5\.05")
#: The button for the look of the screen shows a large and a small letter; the language's row is named in English too.
SIGNS = ("Aa", " \u00b7 Language")
#: The preview breaks the paper's sentences into lines; the papers have a test of their own.
LEFT_TO_OTHERS = {"PaperPane", "DrawnPage"}
_MARKUP = re.compile(r"\[/?[a-z]+(=[^\]]*)?\]")


def states():
    """The states to be drawn, in the order of the catalogue."""
    found, seen = [], set()
    every = bool(os.environ.get("STANCEBOOK_EVERY_STATE"))
    for number, state in enumerate(catalogue()):
        if state.screen not in LEFT_TO_OTHERS and (every or state.screen not in seen or number % 8 == 0):
            found.append(state)
        seen.add(state.screen)
    return found


def texts_on(window):
    for widget in shown(topmost(window)):
        if isinstance(widget, Label):
            yield _MARKUP.sub(" ", str(widget.text))
        if isinstance(widget, TextInput):
            yield str(widget.hint_text)


@pytest.fixture
def marked_round(window):
    choose_language(MARKED)
    found = Round(window)
    yield found
    found.close()
    choose_language(SOURCE)


def test_every_screen_is_said_by_way_of_the_catalogue(marked_round, window):
    sheets = [t for name in DEMO_SHEETS for t in words_of(demo_sheet(name))]
    known = Known([*sheets, *words_of(demo_people()), *TYPED, *SIGNS, " clicks", " marks", "lbf\u00b7in"])
    past: dict[str, str] = {}
    marked_round._turn_to(LYING)
    for state in states():
        def look() -> None:
            for text in texts_on(window):
                if known.unmarked(_TYPED.sub(" ", text)):
                    past.setdefault(text.strip(), state.name)
        marked_round.show(state, look)
    assert not past, "\n".join(f"{name}: {text}" for text, name in past.items())


def test_every_figure_of_every_screen_has_the_readers_decimal_sign(marked_round, window):
    known = Known([t for name in DEMO_SHEETS for t in words_of(demo_sheet(name))] + list(TYPED))
    past: dict[str, str] = {}
    read = []
    marked_round._turn_to(LYING)
    for state in states():
        def look() -> None:
            for text in texts_on(window):
                read.append(text.count(MARKED_SIGN))
                if known.pointed(_VERSION.sub(" ", _FOR_MACHINES.sub(" ", text))):
                    past.setdefault(text.strip(), state.name)
        marked_round.show(state, look)
    assert not past, "\n".join(f"{name}: {text}" for text, name in past.items())
    assert sum(read) > 20, "hardly a figure was on these screens"
