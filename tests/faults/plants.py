"""Two dozen bugs that people write, each planted in a running program by a small patch.

A plant changes modules in memory of the process that plays the rows, never the
tree.  The row named beside it is where it is looked for first.
"""

from __future__ import annotations

import dataclasses
from dataclasses import dataclass
from types import SimpleNamespace
from typing import Any, Callable

import mobile.keeping.courier as courier
import mobile.keeping.incoming as incoming
import mobile.keeping.offering as offering
import mobile.keeping.session as session
import mobile.keeping.stick as stick
import shared_models.entries.slots as slots
import shared_models.exchange.batch as batch
import shared_models.exchange.chains as chains
import shared_models.exchange.intake as intake
import shared_models.exchange.pull as pull
import shared_models.exchange.sealed_file as sealed_file
import shared_models.ledger.engine as engine
import shared_models.ledger.opening as opening
import shared_models.ledger.rows as rows
import shared_models.ledger.store as store
import shared_models.ledger.store_file as store_file
import sync_server.services.intake as server_intake
from shared_models.ledger.tables import entry as entry_table


@dataclass(frozen=True)
class Plant:
    """A bug: what it is, where it must show, and how it is planted."""

    name: str
    row: str
    put: Callable[[], None]


PLANTS: list[Plant] = []


def plant(row: str) -> Callable[[Callable[[], None]], Callable[[], None]]:
    """Add a bug to the list; its docstring says what it is."""
    def add(put: Callable[[], None]) -> Callable[[], None]:
        PLANTS.append(Plant(put.__name__, row, put))
        return put
    return add


@plant("killed_server")
def acknowledged_before_stored() -> None:
    """The server answers, and stores afterwards."""
    import sync_server.routes.exchange as exchange
    from shared_models.exchange.answers import Receipt

    whole, close, waiting = exchange.take_batch, engine.Store.close, []

    def early(station, access, data, *more):  # type: ignore[no-untyped-def]
        waiting.append(lambda: whole(station, access, data, *more))
        return Receipt(access.clinic, station.entries.epoch, 1, 0, 1)

    def late(self: Any) -> None:
        while waiting:
            waiting.pop()()
        close(self)

    exchange.take_batch, engine.Store.close = early, late  # type: ignore[method-assign]


@plant("mixed")
def saved_before_durable() -> None:
    """Each seventh save of a tablet returns before it is on the disk, and never gets there."""
    whole, count = store.EntryStore.append, [0]

    def lazy(self: Any, *arguments: Any, **more: Any) -> None:
        count[0] += 1
        if count[0] % 7:
            whole(self, *arguments, **more)

    store.EntryStore.append = lazy  # type: ignore[method-assign]


@plant("repeated")
def no_dedup() -> None:
    """The server takes what it has for new, and stores it under a further digest."""
    whole = store._missing

    def everything(connection, table, items):  # type: ignore[no-untyped-def]
        there = whole(connection, table, items)
        return there if table is not entry_table or there else dict(items)

    rows_made = store.entry_row

    def other_digest(entry, *more):  # type: ignore[no-untyped-def]
        row = rows_made(entry, *more)
        seen.setdefault(entry.digest, 0)
        seen[entry.digest] += 1
        if seen[entry.digest] > 1 and row["number"] and count_server(more):
            row["digest"] = f"{seen[entry.digest]:064x}"
        return row

    seen: dict[str, int] = {}

    def count_server(more: Any) -> bool:
        return type(more[0]).__name__ == "Plain"

    store._missing, store.entry_row = everything, other_digest


@plant("clocks")
def wall_clock_order() -> None:
    """Of two that hold one place, the one with the later clock wins."""
    whole = slots.Slot.heads

    def latest(self: Any) -> Any:
        found = whole(self)
        return found[-1:] if len(found) > 1 else found

    slots.Slot.heads = latest  # type: ignore[method-assign]


@plant("mixed")
def first_writer_wins() -> None:
    """What arrives beside another change is dropped by whoever shows it."""
    whole = slots.Slot.leaves

    def first(self: Any) -> Any:
        return whole(self)[:1]

    slots.Slot.leaves = first  # type: ignore[method-assign]


@plant("old_schemas")
def outbox_dropped_by_migration() -> None:
    """A migration keeps only what was acknowledged."""
    whole = opening.upgrade

    def dropping(connection, side, *more):  # type: ignore[no-untyped-def]
        from sqlalchemy import inspect, text

        whole(connection, side, *more)
        if side == "tablet" and inspect(connection).has_table("sync_state"):
            connection.execute(text(
                "DELETE FROM entry WHERE server_sequence IS NULL AND number > (SELECT "
                "max(acknowledged_number) FROM sync_state)"
            ))

    opening.upgrade = dropping


@plant("mixed")
def signed_part_rewritten() -> None:
    """The server tidies the body of what was signed before it stores it."""
    whole = store.entry_row

    def tidied(entry, codec, *more):  # type: ignore[no-untyped-def]
        row = whole(entry, codec, *more)
        if type(codec).__name__ == "Plain" and entry.kind in ("sign_off", "review_requested"):
            row["content"] = row["content"].replace(b'"because":{}', b'"because":{} ')
        return row

    store.entry_row = tidied


@plant("tampered")
def hash_not_checked() -> None:
    """The check of a chain takes each row's digest on trust."""
    chains._trouble = lambda row, before: ""


@plant("damaged")
def damaged_batch_taken() -> None:
    """The server takes an envelope whatever its digest says."""
    whole = intake._formed

    def trusting(found):  # type: ignore[no-untyped-def]
        entries, reasons = whole(found)
        kept = [r for r in reasons if r.code != "digest_differs"]
        if len(kept) != len(reasons):
            for place, (_digest, envelope) in enumerate(found.entries):
                if place not in entries:
                    entries[place] = intake.entry_read(envelope)
        return entries, kept

    intake._formed = trusting
    intake._gaps = lambda *_a: []
    intake.check_signatures = lambda *_a: type("F", (), {"new": (), "troubles": ()})()


@plant("mixed")
def cursor_passes_a_number() -> None:
    """A page says that it goes further than it does."""
    whole = pull.page_of

    def hasty(clinic, epoch, items, after, limit):  # type: ignore[no-untyped-def]
        page = whole(clinic, epoch, items, after, limit)
        if len(page.items) < 3:
            return page
        return dataclasses.replace(page, items=(*page.items[:-2], page.items[-1]))

    import sync_server.services.outgo as outgo

    pull.page_of = outgo.page_of = hasty


@plant("mixed")
def cursor_of_the_page_ahead() -> None:
    """A page is stored with the cursor of the one that was asked for meanwhile."""
    whole = incoming.Incoming.pages

    def hasty(self, line, after):  # type: ignore[no-untyped-def]
        pages = whole(self, line, after)
        page = next(pages)
        for following in pages:
            yield dataclasses.replace(page, next=following.next)
            page = following
        yield page

    incoming.Incoming.pages = hasty  # type: ignore[method-assign]


@plant("mixed")
def outbox_emptied_before_the_answer() -> None:
    """The tablet counts a batch as there when it was sent, not when it was answered."""
    whole = courier.Courier._meet

    def sure(self, client, here, state, *more):  # type: ignore[no-untyped-def]
        found = whole(self, client, here, state, *more)
        met = dataclasses.replace(found[0], acknowledged_number=here.author.end.number)
        here.entries.keep_sync_state(met)
        return (met, *found[1:])

    courier.Courier._meet = sure  # type: ignore[method-assign]


@plant("restored")
def restored_server_not_noticed() -> None:
    """A tablet that sees another epoch goes on from its cursor."""
    offering_nothing(lambda: None)
    whole = courier.Courier._meet

    def blind(self, client, here, state, *more):  # type: ignore[no-untyped-def]
        found = whole(self, client, here, state, *more)
        met = dataclasses.replace(found[0], epoch=found[1], pulled_to=state.pulled_to)
        here.entries.keep_sync_state(met)
        return (met, *found[1:])

    courier.Courier._meet = blind  # type: ignore[method-assign]


def offering_nothing(then: Callable[[], None]) -> None:
    """Leave out what a restored server is offered."""
    courier.what_is_missing = offering.what_is_missing = lambda *_a: iter(())
    then()


@plant("restored")
def only_own_chain_offered_again() -> None:
    """A restored server is offered a tablet's own entries, never those it pulled."""
    courier.what_is_missing = offering.what_is_missing = lambda *_a: iter(())


@plant("cloned")
def second_branch_dropped() -> None:
    """Of two entries with one number only the first is kept."""
    whole = intake.check_batch

    def single(found, known, keys):  # type: ignore[no-untyped-def]
        judged = whole(found, known, keys)
        if isinstance(judged, intake.Accepted) and judged.forks:
            forked = {f.number for f in judged.forks}
            return dataclasses.replace(judged, new_entries=tuple(
                e for e in judged.new_entries if e.number < min(forked)
            ), new_signatures=(), forks=())
        return judged

    server_intake.check_batch = intake.check_batch = single


@plant("damaged")
def half_a_batch_stored() -> None:
    """What is sound of a refused batch is stored all the same."""
    whole = intake.check_batch

    def partly(found, known, keys):  # type: ignore[no-untyped-def]
        judged = whole(found, known, keys)
        if isinstance(judged, intake.Refused):
            entries, _ = intake._formed(found)
            if entries:
                return intake.Accepted(tuple(entries.values()), (), (), ())
        return judged

    server_intake.check_batch = intake.check_batch = partly


@plant("power_lost")
def not_synced() -> None:
    """The database does not wait for the disk."""
    whole = engine._settings

    def fast(connection: Any, record: object) -> None:
        whole(connection, record)
        connection.execute("PRAGMA synchronous = OFF")

    engine._settings = fast


@plant("killed_tablet")
def entry_and_signature_apart() -> None:
    """A sign-off and its signature are stored in two transactions, the signature last."""
    whole = store.EntryStore.append

    def apart(self: Any, entry: Any, signatures: Any = (), **more: Any) -> None:
        whole(self, entry, (), **more)
        if signatures:
            with self._store.writing() as connection:
                from sqlalchemy import text

                connection.execute(text("UPDATE about SET program = program"))
            self.add_all([], list(signatures))

    store.EntryStore.append = apart  # type: ignore[method-assign]


@plant("failed_sync")
def failed_commit_called_saved() -> None:
    """An error of the disk while saving is swallowed."""
    whole = store.EntryStore.append

    def hopeful(self: Any, *arguments: Any, **more: Any) -> None:
        try:
            whole(self, *arguments, **more)
        except store.NotSaved:
            return

    store.EntryStore.append = hopeful  # type: ignore[method-assign]


@plant("damaged_pages")
def damaged_content_shown() -> None:
    """A store is opened and read without a look at whether it is whole."""
    store_file._examine_database = lambda path: False
    rows._damaged = lambda row: KeyError(row.digest)


@plant("mixed")
def pull_replaces_what_is_unsent() -> None:
    """A pull makes room by taking away what was not sent yet."""
    whole = courier.Courier._fetch

    def tidy(self, client, here, state, *more):  # type: ignore[no-untyped-def]
        from sqlalchemy import text

        with here.entries._store.writing() as connection:
            connection.execute(text(
                "DELETE FROM entry WHERE rowid IN (SELECT rowid FROM entry WHERE "
                "server_sequence IS NULL AND tablet = (SELECT tablet FROM device) LIMIT 1)"
            ))
        return whole(self, client, here, state, *more)

    courier.Courier._fetch = tidy  # type: ignore[method-assign]


@plant("mixed")
def signature_left_behind() -> None:
    """A tablet sends its entries without what people signed over them."""
    whole = batch.encode_links

    def bare(clinic, links, signatures):  # type: ignore[no-untyped-def]
        return whole(clinic, links, [s for s in signatures if s.signer_type == "tablet"])

    batch.encode_links = bare


@plant("mixed")
def saved_again_after_a_restart() -> None:
    """A tablet records once more what it finds unsent when it is switched on."""
    whole = session.Session.__init__

    def again(self: Any, *arguments: Any, **more: Any) -> None:
        whole(self, *arguments, **more)
        count, _ = self.unsent()
        if count and self.has_server:
            last = self.entries.chain(self.clinic, self.tablet, self.author.end.number)
            if last and last[0].subject.type == "fitting" and last[0].kind == "setting":
                self.save("setting", last[0].subject, last[0].body, settles=True)

    session.Session.__init__ = again  # type: ignore[method-assign]


@plant("carried")
def any_receipt_empties_the_outbox() -> None:
    """A receipt on a stick is taken for everything that the tablet has, whatever it names."""
    def sure(here, receipt, done):  # type: ignore[no-untyped-def]
        done.entries += here.note_acknowledged(here.author.end.number)

    stick._note_entries = sure


@plant("carried")
def sealed_file_taken_unsigned() -> None:
    """A carried file is opened without a look at its sender's signature."""
    class Trusting:
        from_public_bytes = staticmethod(lambda _key: SimpleNamespace(verify=lambda *_a: None))

    sealed_file.Ed25519PublicKey = Trusting  # type: ignore[misc, assignment]
