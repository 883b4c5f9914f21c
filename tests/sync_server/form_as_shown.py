"""What a browser without scripts would send of the form of a page as it stands."""

from __future__ import annotations

from html.parser import HTMLParser


class _Form(HTMLParser):
    def __init__(self, action: str) -> None:
        super().__init__()
        self.sent: dict[str, str] = {}
        self._action, self._inside, self._text, self._select, self._options = action, False, "", "", []

    def handle_starttag(self, tag, attrs):
        found = dict(attrs)
        if tag == "form":
            self._inside = found.get("action") == self._action
        if not self._inside:
            return
        name = found.get("name", "")
        if tag == "input" and name and (found.get("type") not in ("checkbox", "radio") or "checked" in found):
            self.sent[name] = found.get("value") or ""
        elif tag == "select":
            self._select, self._options = name, []
        elif tag == "option":
            self._options.append((found.get("value", ""), "selected" in found))
        elif tag == "textarea":
            self._text, self.sent[name] = name, ""

    def handle_data(self, data):
        if self._text:
            self.sent[self._text] += data

    def handle_endtag(self, tag):
        if tag == "textarea":
            self._text = ""
        elif tag == "select" and self._select:
            chosen = [value for value, is_chosen in self._options if is_chosen]
            self.sent[self._select] = chosen[0] if chosen else self._options[0][0]
            self._select = ""
        elif tag == "form":
            self._inside = False


def form_as_shown(text: str, action: str) -> dict[str, str]:
    """Return name and value of every field that the form would send; buttons are left out."""
    form = _Form(action)
    form.feed(text)
    return form.sent
