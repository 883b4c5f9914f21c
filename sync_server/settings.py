"""What the operator can set, by environment and command line."""

from __future__ import annotations

import ipaddress
import tempfile
from dataclasses import dataclass, field
from pathlib import Path
from typing import Mapping

from shared_models.ledger.key_slots import Stretch
from shared_models.quantities.refusals import Refusal

#: Where a session ends after this time without a request (minutes).
IDLE_MINUTES = 15


class SettingRefusal(Refusal):
    """A setting can't be used: ``setting_wrong``, ``needs_tls``, ``key_file_needed``."""


@dataclass(frozen=True)
class Settings:
    """The settings of one server.

    ``store`` is a file or the URL of a database server; ``key_file`` keeps the
    server's signing key (beside the file by default); ``hosts`` are further
    names under which the server is reached; ``tls_in_front`` says that a proxy
    ends TLS before it, from one of the addresses ``proxies``; ``tls_certificate``
    and ``tls_key`` are PEM files with which the server speaks TLS itself;
    ``metrics_token`` opens ``/metrics``; ``attachments`` is the folder of the photos' bytes.
    """

    store: str = "stancebook-server.sqlite"
    host: str = "127.0.0.1"
    port: int = 8765
    key_file: str = ""
    hosts: tuple[str, ...] = ()
    tls_in_front: bool = False
    proxies: tuple[str, ...] = ()
    tls_certificate: str = ""
    tls_key: str = ""
    metrics_token: str = field(default="", repr=False)
    idle_minutes: int = IDLE_MINUTES
    stretch: Stretch = field(default_factory=Stretch)
    attachments: str = ""

    @property
    def signing_key_file(self) -> Path | None:
        """Where the signing key lies; None for a store in memory."""
        if self.key_file:
            return Path(self.key_file)
        if self.store == ":memory:":
            return None
        if "://" in self.store:
            raise SettingRefusal("key_file_needed")
        return Path(self.store + ".signing-key")

    @property
    def attachments_folder(self) -> Path:
        """Where the photos' bytes lie as files; all processes of a server share it."""
        if self.attachments:
            return Path(self.attachments)
        if self.store == ":memory:":
            return Path(tempfile.mkdtemp(prefix="stancebook-attachments-"))
        if "://" in self.store:
            return Path(f"{self.signing_key_file}.attachments")
        return Path(self.store + ".attachments")

    @property
    def served_hosts(self) -> frozenset[str]:
        """The names that a request may ask for; others are refused."""
        names = {"127.0.0.1", "localhost", "[::1]", *self.hosts}
        if self.host not in ("0.0.0.0", "::"):
            names.add(f"[{self.host}]" if ":" in self.host else self.host)
        return frozenset(name.lower() for name in names)

    @property
    def over_tls(self) -> bool:
        """Whether browsers and tablets reach the server over TLS."""
        return self.tls_in_front or bool(self.tls_certificate)

    @property
    def believed_proxies(self) -> frozenset[str]:
        """The addresses from which a proxy may come; this machine's where none is named."""
        return frozenset(self.proxies or ("127.0.0.1", "::1"))

    def refuse_open_network(self) -> None:
        """Refuse plain http beyond this machine: ``needs_tls``, ``proxy_not_named``."""
        if bool(self.tls_certificate) != bool(self.tls_key):
            raise SettingRefusal("tls_half_set")
        if self.tls_certificate and self.tls_in_front:
            raise SettingRefusal("tls_twice")
        if is_loopback(self.host) or self.tls_certificate:
            return
        if not self.tls_in_front:
            raise SettingRefusal("needs_tls", host=self.host)
        if not self.proxies:
            raise SettingRefusal("proxy_not_named", host=self.host)


def is_loopback(host: str) -> bool:
    """Tell whether an address reaches this machine only."""
    if host == "localhost":
        return True
    try:
        return ipaddress.ip_address(host).is_loopback
    except ValueError:
        return False


def settings_from(environment: Mapping[str, str], **told: object) -> Settings:
    """Return settings from the environment, overruled by what was ``told``."""
    values: dict[str, object] = {}
    for name in ("store", "host", "key_file", "attachments"):
        if found := environment.get(f"STANCEBOOK_{name.upper()}"):
            values[name] = found
    for name, lowest, highest in (("port", 0, 65535), ("idle_minutes", 1, 480)):
        if found := environment.get(f"STANCEBOOK_{name.upper()}"):
            values[name] = _whole(f"STANCEBOOK_{name.upper()}", found, lowest, highest)
    if found := environment.get("STANCEBOOK_HOSTS"):
        values["hosts"] = tuple(name.strip() for name in found.split(",") if name.strip())
    for name in ("tls_certificate", "tls_key", "metrics_token"):
        if found := environment.get(f"STANCEBOOK_{name.upper()}"):
            values[name] = found
    if found := environment.get("STANCEBOOK_PROXIES"):
        values["proxies"] = tuple(_address("STANCEBOOK_PROXIES", part) for part in found.split(","))
    if found := environment.get("STANCEBOOK_TLS_IN_FRONT"):
        values["tls_in_front"] = _yes_no("STANCEBOOK_TLS_IN_FRONT", found)
    values.update({name: value for name, value in told.items() if value is not None})
    return Settings(**values)  # type: ignore[arg-type]


def _address(name: str, text: str) -> str:
    try:
        return str(ipaddress.ip_address(text.strip()))
    except ValueError as error:
        wanted = "it must be IP addresses with commas between them"
        raise SettingRefusal("setting_wrong", name=name, value=text.strip(), wanted=wanted) from error


def _whole(name: str, text: str, lowest: int, highest: int) -> int:
    wanted = f"it must be a whole number from {lowest} to {highest}"
    if not (text.isascii() and text.isdigit()) or not lowest <= int(text) <= highest:
        raise SettingRefusal("setting_wrong", name=name, value=text, wanted=wanted)
    return int(text)


def _yes_no(name: str, text: str) -> bool:
    if text not in ("yes", "no"):
        raise SettingRefusal("setting_wrong", name=name, value=text, wanted="it must be yes or no")
    return text == "yes"
