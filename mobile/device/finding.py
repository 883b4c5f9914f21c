"""Find widgets on the screen by their ``test_name``, and say plainly when one is not there."""

from collections.abc import Iterator


class NotOnScreen(AssertionError):
    """The widget asked for is missing, doubled, hidden, covered or too small for a finger."""


def every(root) -> Iterator:
    """Every widget shown below ``root``, itself included, in drawing order."""
    yield root
    for child in reversed(root.children):
        yield from every(child)


def find_all(root, prefix: str = "") -> list:
    """All named widgets below ``root`` whose ``test_name`` begins with ``prefix``."""
    found = []
    for widget in every(root):
        name = getattr(widget, "test_name", "")
        if name and name.startswith(prefix):
            found.append(widget)
    return found


def names(root) -> list[str]:
    """The test names below ``root``, sorted."""
    return sorted(widget.test_name for widget in find_all(root))


def find(root, name: str):
    """The one widget called ``name`` below ``root``.

    Raises :class:`NotOnScreen` naming what is there instead, or how many bear the name.
    """
    found = [widget for widget in find_all(root) if widget.test_name == name]
    if len(found) == 1:
        return found[0]
    if found:
        raise NotOnScreen(f"{len(found)} widgets are called {name!r}; a test name must be unique")
    there = _listed(names(root))
    raise NotOnScreen(f"nothing called {name!r} is on the screen; there are: {there}")


def words_on(root) -> str:
    """All text shown below ``root``, one piece a line, without markup."""
    pieces = []
    for widget in every(root):
        text = getattr(widget, "plain_text", None)
        if text is None:
            text = getattr(widget, "text", "") if hasattr(widget, "texture_size") else ""
        if text:
            pieces.append(str(text))
    return "\n".join(pieces)


def parents_of(widget) -> Iterator:
    """The widgets around ``widget``, from the nearest outwards, without the window."""
    parent = widget.parent
    while parent is not None and parent is not parent.parent:
        yield parent
        parent = parent.parent


def window_box(widget) -> tuple[float, float, float, float]:
    """Left, bottom, right and top of the widget in window pixels."""
    left, bottom = widget.to_window(widget.x, widget.y)
    right, top = widget.to_window(widget.right, widget.top)
    return left, bottom, right, top


def _listed(these: list[str]) -> str:
    return ", ".join(these) if these else "no named widgets at all"
