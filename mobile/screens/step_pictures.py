"""Drawings beside the forms of other steps: the chain of components, the shoe."""

from __future__ import annotations

from functools import partial

from shared_models.drawings.alignment import Picture
from shared_models.drawings.chain import chain_picture, shoe_picture
from shared_models.drawings.plain_shapes import Room
from mobile.flows.forms import SlotForm
from mobile.screens.alignment_picture import PlaneView

COMPONENT, FOOTWEAR = "component/", "footwear"
#: Of the width beside the rail: the keypad; of what it leaves: the drawing.
_KEYPAD_SHARE, _SHARE = 0.34, 0.38


def show_for_form(page, pane) -> None:
    """Put the drawing of a form's step into the picture pane and let it follow what is typed."""
    form: SlotForm = pane.form
    if form.slot.startswith(COMPONENT):
        _show(page, "chain", partial(_chain, form.view, form.slot[len(COMPONENT):]))
    elif form.slot == FOOTWEAR:
        view = _show(page, "shoe", lambda _plane, room: shoe_picture(form.view, form.read().body, room))
        page.side_share = _KEYPAD_SHARE
        pane.after_edit = lambda _key: view.redraw()


def show_for_slot(page, slot: str) -> None:
    """Put the drawing beside what is recorded in a slot."""
    if slot.startswith(COMPONENT):
        _show(page, "chain", partial(_chain, page.view, ""))
    elif slot == FOOTWEAR and page.view.head(slot) is not None:
        body = page.view.head(slot).body
        _show(page, "shoe", lambda _plane, room: shoe_picture(page.view, body, room))


def show_for_step(page) -> None:
    """Put the chain beside the list of components, where the page is wide enough for both."""
    if page.step_key == "components" and page.is_wide:
        _show(page, "chain", partial(_chain, page.view, ""))


def _chain(view, in_hand: str, _plane: str, room: Room) -> Picture:
    return chain_picture(view, in_hand, room)


def _show(page, name: str, draw) -> PlaneView:
    view = PlaneView(name, draw)
    page.picture.add_widget(view)
    page.picture_share = _SHARE
    page.has_picture = True
    return view
