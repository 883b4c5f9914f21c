"""Before a tablet may sync: a one-time code is spent at the server."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, Mapping

from shared_models.entries.canonical import canonical_bytes
from shared_models.ledger.opening import program_version
from mobile.keeping.line import Line, SyncRefusal, checked_address


@dataclass(frozen=True)
class Enrolment:
    """What a server gives for a one-time code."""

    address: str
    clinic: str
    tablet: str
    token: str
    server: str
    server_key: str
    epoch: str

    def access(self) -> dict[str, str]:
        """Return what the tablet keeps, sealed, to reach the server."""
        return {
            "address": self.address, "token": self.token, "server": self.server,
            "server_key": self.server_key,
        }


def enrol(
    client: Any, address: str, code: str, tablet: str, public_key: str,
    founded: Mapping[str, Any] | None = None,
) -> Enrolment:
    """Spend a code and become one of the clinic's tablets; raises SyncRefusal."""
    address = checked_address(address)
    answer = Line(client, {"address": address}).object_of("POST", "enrol", canonical_bytes({
        "format": 1, "code": code.strip(), "tablet": tablet,
        "public_key": public_key, "program": program_version(), **(founded or {}),
    }))
    try:
        return Enrolment(address, *(str(answer[k]) for k in (
            "clinic", "tablet", "token", "server", "server_key", "epoch",
        )))
    except KeyError as error:
        raise SyncRefusal("answer_unreadable") from error


def reset_pin(client: Any, address: str, code: str, tablet: str, public_key: str) -> tuple[str, str]:
    """Spend the lead clinician's one-time code; return the share and for whom it is."""
    line = Line(client, {"address": checked_address(address)})
    answer = line.object_of("POST", "pin-reset", canonical_bytes({
        "format": 1, "code": code.strip(), "tablet": tablet, "staff_key": public_key,
    }))
    try:
        return str(answer["share"]), str(answer["staff"])
    except KeyError as error:
        raise SyncRefusal("answer_unreadable") from error
