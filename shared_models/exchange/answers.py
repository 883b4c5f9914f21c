"""The server's answers to a push, and where it stands.

Plain strict JSON, not packed: they are small and a person may read them.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any, Mapping

from shared_models.entries.canonical import NotStrictJson, canonical_bytes, strict_json
from shared_models.exchange.intake import Accepted, Fork, Reason, Refused
from shared_models.exchange.packing import (
    FORMAT,
    BatchRefusal,
    count_in,
    list_in,
    text_in,
)

_MOST = 100_000


@dataclass(frozen=True)
class Receipt:
    """A push was stored; ``last`` is the clinic's newest sequence number."""

    clinic: str
    epoch: str
    stored: int
    repeated: int
    last: int
    forks: tuple[Fork, ...] = ()
    #: How many items were held back for the lead clinician instead of stored.
    held: int = 0


@dataclass(frozen=True)
class Standing:
    """Where a server stands: ``chains`` maps a tablet to its end.

    An end is (number, digest); (0, "") stands for none.  ``branches`` lists
    the tablets whose chain has forked.
    """

    clinic: str
    epoch: str
    program: str
    last: int
    chains: Mapping[str, tuple[int, str]] = field(default_factory=dict)
    branches: tuple[str, ...] = ()


def receipt_for(found: Accepted, clinic: str, epoch: str, last: int) -> Receipt:
    """Return the receipt of an accepted batch that is now stored."""
    stored = len(found.new_entries) + len(found.new_signatures)
    return Receipt(clinic, epoch, stored, len(found.repeated), last, found.forks)


def encode_receipt(receipt: Receipt) -> bytes:
    """Return the body of a 200 answer to a push."""
    return canonical_bytes({
        "format": FORMAT, "clinic": receipt.clinic, "epoch": receipt.epoch,
        "stored": receipt.stored, "repeated": receipt.repeated,
        "last": receipt.last,
        "forks": [
            {"tablet": fork.tablet, "number": fork.number,
             "digests": list(fork.digests)}
            for fork in receipt.forks
        ],
        **({"held": receipt.held} if receipt.held else {}),
    })


def decode_receipt(data: bytes) -> Receipt:
    """Read a receipt; raise BatchRefusal when it is none."""
    value = _object(data)
    forks = []
    for found in list_in(value, "forks", _MOST):
        if not isinstance(found, dict):
            raise BatchRefusal("batch_wrong_form", place="forks")
        digests = tuple(str(item) for item in list_in(found, "digests", _MOST))
        forks.append(Fork(text_in(found, "tablet"), count_in(found, "number"), digests))
    return Receipt(
        text_in(value, "clinic"), text_in(value, "epoch"), count_in(value, "stored"),
        count_in(value, "repeated"), count_in(value, "last"), tuple(forks),
        count_in(value, "held") if "held" in value else 0,
    )


def encode_refused(refused: Refused) -> bytes:
    """Return the body of a 422 answer to a push."""
    return canonical_bytes({
        "format": FORMAT, "code": "batch_refused",
        "reasons": [
            {"place": reason.place, "digest": reason.digest, "code": reason.code,
             "figures": dict(reason.figures)}
            for reason in refused.reasons
        ],
    })


def decode_refused(data: bytes) -> Refused:
    """Read the reasons of a refused push."""
    value = _object(data)
    reasons = []
    for found in list_in(value, "reasons", _MOST):
        if not isinstance(found, dict) or not isinstance(found.get("figures"), dict):
            raise BatchRefusal("batch_wrong_form", place="reasons")
        reasons.append(Reason(
            text_in(found, "place"), text_in(found, "digest"),
            text_in(found, "code"), found["figures"],
        ))
    return Refused(tuple(reasons))


def encode_standing(standing: Standing) -> bytes:
    """Return the body of a standing."""
    return canonical_bytes({
        "format": FORMAT, "clinic": standing.clinic, "epoch": standing.epoch,
        "program": standing.program, "last": standing.last,
        "chains": {
            tablet: {"number": number, "digest": digest}
            for tablet, (number, digest) in standing.chains.items()
        },
        "branches": list(standing.branches),
    })


def decode_standing(data: bytes) -> Standing:
    """Read a standing; raise BatchRefusal when it is none."""
    value = _object(data)
    chains = value.get("chains")
    if not isinstance(chains, dict) or not all(
        isinstance(end, dict) for end in chains.values()
    ):
        raise BatchRefusal("batch_wrong_form", place="chains")
    return Standing(
        text_in(value, "clinic"), text_in(value, "epoch"), text_in(value, "program"),
        count_in(value, "last"),
        {
            tablet: (count_in(end, "number"), text_in(end, "digest"))
            for tablet, end in chains.items()
        },
        tuple(str(item) for item in list_in(value, "branches", _MOST)),
    )


def _object(data: bytes) -> dict[str, Any]:
    try:
        value = strict_json(data)
    except NotStrictJson as error:
        raise BatchRefusal("batch_not_strict_json") from error
    if not isinstance(value, dict) or value.get("format") != FORMAT:
        raise BatchRefusal("batch_unknown_format", known=FORMAT)
    return value
