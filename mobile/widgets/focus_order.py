"""Which field comes next, and bringing the field in hand into sight."""

from kivy.clock import Clock
from kivy.metrics import dp
from kivy.uix.scrollview import ScrollView


#: The :class:`~mobile.widgets.key_ring.KeyRing` that takes Tab, where there is one.
walk = None


def following(widget):
    """The field after ``widget`` in the order of the screen, or None when it is the last.

    Kivy's own search goes round to the first again; a person who presses 'next' in the last field
    has done with the page instead.
    """
    found = widget.get_focus_next()
    if found is None or found is widget or _place(found) < _place(widget):
        return None
    return found


def lets_go_when_left(widget) -> bool:
    """Let the keyboard go when the widget's page has been left; True when it was so.

    Kivy takes the focus of nothing that merely leaves the window, so what is typed on the next
    page would go on reaching it.
    """
    if widget.get_parent_window() is not None:
        return False
    widget.focus = False
    return True


def bring_into_sight(widget) -> None:
    """Scroll every pane around the widget so far that it shows, once the layout has settled."""

    def scroll(_dt):
        parent = widget.parent
        while parent is not None and parent is not parent.parent:
            if isinstance(parent, ScrollView) and _has_more(parent):
                parent.scroll_to(widget, padding=dp(16), animate=False)
            parent = parent.parent

    Clock.schedule_once(scroll, 0)


def _has_more(pane: ScrollView) -> bool:
    """Whether there is anything to scroll; content shorter than its pane would only be pushed down."""
    content = pane.children[0] if pane.children else None
    return content is not None and content.height > pane.height


def _place(widget) -> list[int]:
    path = []
    while widget.parent is not None and widget.parent is not widget:
        siblings = widget.parent.children
        path.append(len(siblings) - siblings.index(widget) if widget in siblings else 0)
        widget = widget.parent
    return path[::-1]
