"""Sending photos behind the records, and fetching one that is wanted.

No record waits for a photo: entries recorded while one travels go between two
of its pieces.  A photo stays on this tablet whatever a server says; that it is
whole there is believed only from the server's own word for the hash.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, Callable, Mapping

from shared_models.exchange import lane
from shared_models.language import spoken
from shared_models.wording.refusals import refusal_sentence
from mobile.keeping.session import Session

#: Asks the server: method, path of the clinic, content, headers; gives its response.
Asking = Callable[..., Any]


@dataclass
class PhotosSent:
    """What one sync did for photos; ``left`` are still to be sent."""

    sent: int = 0
    left: int = 0
    refused: int = 0
    why: str = ""


def send_photos(
    session: Session, epoch: str, ask: Asking, progress: Callable[[str, float], None],
    is_cancelled: Callable[[], bool], records_first: Callable[[], None],
) -> PhotosSent:
    """Send what the server has not named as whole, the newest signed fitting's first.

    ``records_first`` is called between two pieces.  A photo that can't go now is left
    for the next time with the reason; what ``ask`` raises ends it all.
    """
    done = PhotosSent()
    waiting = session.entries.waiting_attachments(epoch)
    if not waiting:
        return done
    first = session.entries.photos_in_order(session.clinic, session.tablet, waiting)
    order = first + [d for d in waiting if d not in set(first)]
    for place, digest in enumerate(order):
        if is_cancelled():
            break
        size = waiting[digest]

        def between(_sent: int, offset: int, place: int = place, size: int = size) -> None:
            share = (place + offset / max(size, 1)) / len(order)
            progress(spoken("Photo {place} of {order}", place=place + 1, order=len(order)), share)
            records_first()
            if is_cancelled():
                raise _Cancelled

        try:
            lane.send(
                asking(ask), digest, size,
                lambda at, most, digest=digest: session.entries.attachment_part(digest, at, most), between,
            )
        except lane.PhotoRefused as refusal:
            session.entries.note_refused(digest, str(refusal.figures.get("sentence", "")))
            done.refused, done.why = done.refused + 1, refusal_sentence(refusal)
            continue
        except lane.LaneRefusal as refusal:
            done.why = refusal_sentence(refusal)
            continue
        except _Cancelled:
            break
        session.entries.note_whole_at(digest, epoch)
        done.sent += 1
    done.left = len(order) - done.sent - done.refused
    return done


def fetch_photo(session: Session, digest: str, ask: Asking, progress: Callable[[str, float], None]) -> None:
    """Fetch a photo that the record here names, look at it, and keep it.

    Raises LaneRefusal, PictureForm, NotSaved, and what ``ask`` raises.
    """
    epoch = session.entries.sync_state(session.clinic).epoch
    data = lane.fetch(asking(ask), digest, lambda _got, offset: progress(
        spoken("Fetching, {max} MB so far", max=max(1, round(offset / 1_000_000))), 0.5
    ))
    session.entries.keep_fetched(digest, data, epoch)


def asking(ask: Asking) -> lane.Ask:
    """Return the lane's way to ask, over this tablet's way to its server."""

    def go(method: str, name: str, headers: Mapping[str, str], content: bytes) -> lane.Answer:
        response = ask(method, f"attachments/{name}", content, headers)
        return lane.Answer(response.status_code, dict(response.headers), response.content)

    return go


class _Cancelled(Exception):
    """Somebody pressed Cancel between two pieces."""
