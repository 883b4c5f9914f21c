"""The lead clinician's part of the rehearsal, over the review page's own HTTP."""

from __future__ import annotations

from html.parser import HTMLParser
from urllib.parse import urljoin


class _Forms(HTMLParser):
    """Collects the forms of a page: action, and the fields it would send."""

    def __init__(self) -> None:
        super().__init__()
        self.forms: list[tuple[str, dict[str, str]]] = []
        self.links: list[str] = []

    def handle_starttag(self, tag, attrs):
        found = dict(attrs)
        if tag == "form":
            self.forms.append((found.get("action") or "", {}))
        elif tag in ("input", "textarea") and self.forms and found.get("name"):
            if found.get("type") not in ("submit", "radio", "checkbox"):
                self.forms[-1][1][found["name"]] = found.get("value") or ""
        elif tag == "a" and found.get("href"):
            self.links.append(found["href"])


class PageRefused(AssertionError):
    """The review page did not do what was asked."""


class Lead:
    """A lead clinician at the review page."""

    def __init__(self, client, address: str) -> None:
        self.client, self.address = client, address

    def _get(self, path: str):
        response = self.client.get(urljoin(self.address, path), follow_redirects=True)
        if response.status_code != 200:
            raise PageRefused(f"{path} answered {response.status_code}")
        return response

    def _send(self, page, with_field: str, **fields: str):
        forms = _Forms()
        forms.feed(page.text)
        for action, hidden in forms.forms:
            if with_field in hidden:
                url = urljoin(str(page.url), action)
                return self.client.post(url, data={**hidden, **fields}, follow_redirects=True)
        raise PageRefused(f"no form on {page.url} has the field {with_field}")

    def log_in(self, login: str, password: str) -> None:
        """Log in; raises PageRefused when that does not work."""
        page = self._send(self._get("/"), "password", login=login, password=password)
        if page.status_code != 200 or "log in" in page.text.lower() and "password" in page.text.lower() and "log out" not in page.text.lower():
            raise PageRefused("the log-in was refused")

    def accept(self, fitting: str, password: str) -> str:
        """Accept a fitting; returns the page that answers."""
        page = self._get(f"/fittings/{fitting}")
        answer = self._send(page, "password", decision="accepted", password=password)
        if answer.status_code != 200:
            raise PageRefused(f"the decision answered {answer.status_code}")
        return answer.text
