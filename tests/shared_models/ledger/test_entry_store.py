"""The entry store: adding, reading back, chains, sequences, drafts."""

import threading

import pytest
from sqlalchemy import event, text

from shared_models.ledger.faults_of_storage import NotSaved, StoreRefusal
from shared_models.ledger.sealing import Locked, Plain, Sealed, SealingRefusal
from shared_models.ledger.store import EntryStore
from shared_models.ledger.sync_states import SyncState
from shared_models.exchange.chains import verify_chain
from tests.shared_models.making import (
    CLINIC,
    Chain,
    opened,
    server_store,
    tablet_store,
)


@pytest.fixture
def tablet(tmp_path):
    return tablet_store(tmp_path)


@pytest.fixture
def server(tmp_path):
    return server_store(tmp_path)


def test_an_entry_comes_back_byte_for_byte(tablet):
    chain = Chain()
    entry = chain.add(body={"load_line_offset_mm": "38.0", "side": "left"})
    tablet.append(entry, [chain.head()])
    found = tablet.by_digest(entry.digest)
    assert found.plaintext() == entry.plaintext()
    assert found.body["load_line_offset_mm"] == "38.0"
    assert tablet.signatures(signs=[entry.digest]) == [chain.head()]


def test_an_entry_with_names_of_a_later_program_is_kept_unharmed(tablet):
    entry = Chain().add("gait_hologram", later_field={"deep": ["a", "b"]})
    tablet.append(entry)
    assert tablet.by_digest(entry.digest).envelope["later_field"] == {"deep": ["a", "b"]}


def test_appending_the_same_entry_again_changes_nothing(tablet):
    chain = Chain().grown(2)
    for entry in (*chain.entries, *chain.entries):
        tablet.append(entry)
    assert tablet.count() == 2


def test_an_entry_that_does_not_follow_the_chains_end_is_not_saved(tablet):
    chain = Chain().grown(3)
    tablet.append(chain.entries[0])
    with pytest.raises(NotSaved) as caught:
        tablet.append(chain.entries[2])
    assert (caught.value.code, caught.value.figures) == (
        "chain_moved_on", {"number": 3, "end": 1},
    )
    assert tablet.count() == 1


def test_a_chains_end_is_its_last_number_and_digest(tablet):
    chain = Chain().grown(3)
    assert tablet.chain_end(CLINIC, chain.tablet) == (0, "")
    tablet.add_all(chain.entries)
    assert tablet.chain_end(CLINIC, chain.tablet) == chain.end
    assert [entry.number for entry in tablet.chain(CLINIC, chain.tablet, 2)] == [2, 3]


@pytest.mark.parametrize("column", ["digest", "kind", "subject_type", "tablet"])
def test_bits_turned_over_within_a_name_are_told_as_a_damaged_store(tablet, column):
    """The driver can't read the text at all; a person is told so in words all the same."""
    tablet.append(Chain().add())
    with tablet._store.writing() as connection:
        connection.execute(text(f"UPDATE entry SET {column} = CAST(x'66c374' AS TEXT)"))
    with pytest.raises(StoreRefusal) as caught:
        tablet.entries(), tablet.newest_of_kinds([], 1), tablet.chain_tablets(CLINIC)
        with tablet._store.reading() as connection:
            connection.execute(text(f"SELECT {column} FROM entry")).all()
    assert caught.value.code in ("store_corrupt", "record_damaged")


def test_both_branches_of_a_cloned_tablet_are_kept(server):
    chain = Chain().grown(2)
    twin = chain.clone()
    chain.add(), twin.add()
    server.add_all(chain.entries)
    server.add_all(twin.entries)
    assert server.count() == 4
    assert server.branches(CLINIC, chain.tablet) == {
        3: tuple(sorted([chain.end[1], twin.end[1]]))
    }
    last, ends, forked = server.standing(CLINIC)
    assert (last, forked) == (4, (chain.tablet,))
    assert ends == {chain.tablet: server.chain_end(CLINIC, chain.tablet)}


def test_a_fork_is_found_among_what_came_since_and_only_there(server):
    chain, other = Chain().grown(2), Chain("tablet-b").grown(3)
    twin = chain.clone()
    chain.add(), twin.add()
    server.add_all([*other.entries, *chain.entries])
    before, _, forked = server.standing(CLINIC)
    assert (before, forked) == (server.last_sequence(CLINIC), ())
    server.add_all(twin.entries)
    assert server.standing(CLINIC, before)[2] == server.standing(CLINIC)[2] == (chain.tablet,)
    now = server.last_sequence(CLINIC)
    assert server.standing(CLINIC, now)[2] == ()
    assert server.standing(CLINIC, now, [chain.tablet])[2] == (chain.tablet,)
    assert server.standing(CLINIC, now + 1, ["tablet-of-another-store"])[2] == (chain.tablet,)
    assert server.chain_tablets(CLINIC) == tuple(sorted([chain.tablet, other.tablet]))


def test_what_was_changed_in_the_file_is_not_passed_on(server):
    chain = Chain().grown(3)
    server.add_all(chain.entries, [chain.head()])
    for table in ("entry", "signature"):
        with server._store.writing() as connection:
            connection.execute(text(f"UPDATE {table} SET content = content || ' '"))
        with pytest.raises(StoreRefusal) as caught:
            server.feed_written(CLINIC)
        assert caught.value.code == "record_damaged"
        with server._store.writing() as connection:
            connection.execute(text(
                f"UPDATE {table} SET content = CAST(substr(content, 1, length(content) - 1) AS BLOB)"
            ))
    assert len(server.feed_written(CLINIC)) == 4


def test_a_server_numbers_entries_and_signatures_in_one_sequence_per_clinic(server):
    north, south = Chain().grown(2), Chain("tablet-b", "clinic-south").grown(1)
    server.add_all(north.entries, [north.head()])
    server.add_all(south.entries, [south.head()])
    server.append(north.add())
    assert [found.sequence for found in server.feed(CLINIC)] == [1, 2, 3, 4]
    assert [found.sequence for found in server.feed("clinic-south")] == [1, 2]
    assert [found.sequence for found in server.feed(CLINIC, after=2, limit=1)] == [3]
    assert server.last_sequence(CLINIC) == 4
    server.add_all(north.entries, [north.head(north.entries[1])])
    assert server.last_sequence(CLINIC) == 4


def test_numbers_given_to_several_writers_at_once_have_no_gap_and_no_double(server):
    chains = [Chain(f"tablet-{name}").grown(8) for name in "abcd"]

    def write(chain):
        for entry in chain.entries:
            server.append(entry)

    writers = [threading.Thread(target=write, args=(chain,)) for chain in chains]
    for writer in writers:
        writer.start()
    for writer in writers:
        writer.join()
    assert [found.sequence for found in server.feed(CLINIC)] == list(range(1, 33))


def test_a_tablet_keeps_the_numbers_that_the_server_gave(tablet):
    chain = Chain().grown(2)
    tablet.add_all(chain.entries[:1])
    sequences = {entry.digest: 10 + entry.number for entry in chain.entries}
    tablet.add_all(chain.entries, with_sequences=sequences)
    assert [found.sequence for found in tablet.feed(CLINIC)] == [11, 12]


def test_an_addition_that_fails_half_way_stores_nothing(server):
    chain = Chain().grown(3)
    with pytest.raises(ZeroDivisionError):
        with opened(server).writing() as connection:
            server.add_all(chain.entries, within=connection)
            raise ZeroDivisionError
    assert server.count() == 0
    assert server.last_sequence(CLINIC) == 0


def test_entries_are_found_by_subject_and_stand_in_display_order(tablet):
    chain = Chain()
    chain.add(), chain.add(subject={"type": "person", "id": "person-1"}), chain.add()
    tablet.add_all(list(reversed(chain.entries)))
    assert [entry.number for entry in tablet.entries(CLINIC)] == [1, 2, 3]
    fitting = chain.entries[0].subject
    assert [entry.number for entry in tablet.entries(CLINIC, fitting)] == [1, 3]


def test_the_fingerprint_is_that_of_the_set_whatever_the_order(tmp_path):
    chain = Chain().grown(4)
    one, other = tablet_store(tmp_path, "one"), server_store(tmp_path, "other")
    one.add_all(chain.entries, [chain.head()])
    other.add_all(chain.entries[:2])
    assert one.fingerprint(CLINIC) != other.fingerprint(CLINIC)
    other.add_all(list(reversed(chain.entries)), [chain.head()])
    assert one.fingerprint(CLINIC) == other.fingerprint(CLINIC)


def test_the_newest_clock_leaves_out_what_a_wild_clock_wrote(server):
    chain = Chain()
    usual = chain.add()
    chain.add(clock="ffffffffffff-0000")
    server.add_all(chain.entries)
    assert server.newest_clock("0fffffffffff-0000") == usual.clock
    assert server.newest_clock() == "ffffffffffff-0000"


@pytest.mark.parametrize("column_type, code", [
    ("BLOB", "digest_differs"), ("TEXT", "content_damaged"),
])
def test_a_row_changed_in_the_file_is_found_and_never_given_out(
    server, column_type, code
):
    chain = Chain().grown(5)
    server.add_all(chain.entries)
    with opened(server).writing() as connection:
        connection.execute(text(
            "UPDATE entry SET content = CAST(replace(content, 'entry 3', 'entry 9')"
            f" AS {column_type}) WHERE number = 3"
        ))
    with pytest.raises(StoreRefusal) as caught:
        server.entries()
    assert caught.value.code == "record_damaged"
    bad = verify_chain(server.chain_rows(CLINIC, chain.tablet))
    assert (bad.number, bad.code) == (3, code)


def test_nothing_is_read_before_somebody_unlocks(tablet):
    chain = Chain().grown(1)
    tablet.append(chain.entries[0])
    shut = EntryStore(opened(tablet), Locked())
    assert shut.chain_end(CLINIC, chain.tablet) == chain.end
    with pytest.raises(SealingRefusal) as caught:
        shut.entries()
    assert caught.value.code == "store_locked"


def test_sealed_content_moved_to_another_row_does_not_open(tablet):
    tablet.keep_draft("fitting/one/note", {"text": "for one"})
    tablet.keep_draft("fitting/two/note", {"text": "for two"})
    with opened(tablet).writing() as connection:
        connection.execute(text(
            "UPDATE draft SET content = (SELECT content FROM draft WHERE place ="
            " 'fitting/one/note')"
        ))
    assert tablet.draft("fitting/one/note") == {"text": "for one"}
    with pytest.raises(SealingRefusal) as caught:
        tablet.draft("fitting/two/note")
    assert caught.value.code == "content_damaged"


def test_another_data_key_opens_nothing(tablet):
    tablet.append(Chain().add())
    with pytest.raises(StoreRefusal) as caught:
        EntryStore(opened(tablet), Sealed(b"\x55" * 32)).entries()
    assert caught.value.code == "record_damaged"


def test_a_draft_goes_with_the_entry_that_fulfils_it(tablet):
    tablet.keep_draft("fitting/one/note", {"text": "half a w"})
    tablet.keep_draft("fitting/one/note", {"text": "half a word"})
    assert tablet.draft("fitting/one/note") == {"text": "half a word"}
    assert tablet.draft_places("fitting/one/") == ("fitting/one/note",)
    tablet.append(Chain().add(), fulfils_draft="fitting/one/note")
    assert tablet.draft("fitting/one/note") is None


def test_a_draft_stays_when_its_entry_is_not_saved(tablet):
    chain = Chain().grown(2)
    tablet.keep_draft("place", {"text": "typed"})
    with pytest.raises(NotSaved):
        tablet.append(chain.entries[1], fulfils_draft="place")
    assert tablet.draft("place") == {"text": "typed"}


def test_a_full_disk_saves_nothing_of_the_entry_and_all_works_again_afterwards(tablet):
    chain = Chain()
    store = opened(tablet)
    limit = {"pages": 0}
    event.listen(store.engine, "connect", lambda connection, _: connection.execute(
        f"PRAGMA max_page_count = {limit['pages'] or 2**30}"
    ))
    store.close()
    saved = [chain.add() for _ in range(5)]
    for entry in saved:
        tablet.append(entry)
    with store.reading() as connection:
        limit["pages"] = connection.scalar(text("PRAGMA page_count")) + 2
    store.close()
    refusal = None
    while refusal is None:
        entry = chain.add(body={"text": "long " * 1000})
        try:
            tablet.append(entry, [chain.head()], fulfils_draft="place")
            saved.append(entry)
        except NotSaved as error:
            refusal = error
    assert refusal.code == "not_saved_disk_full"
    assert [found.digest for found in tablet.entries()] == [one.digest for one in saved]
    assert tablet.signatures(signs=[entry.digest]) == []
    limit["pages"] = 0
    store.close()
    tablet.append(entry, [chain.head()])
    assert tablet.count() == len(saved) + 1
    with store.reading() as connection:
        assert connection.scalar(text("PRAGMA integrity_check")) == "ok"


def test_the_state_towards_the_server_is_kept_and_its_token_sealed(tablet):
    assert tablet.sync_state(CLINIC) == SyncState(CLINIC)
    state = SyncState(CLINIC, "epoch-1", 7, 3, "2026-03-04T10:42:07.120+02:00",
                      {"address": "https://clinic.example", "token": "t0p"})
    tablet.keep_sync_state(state)
    assert tablet.sync_state(CLINIC) == state
    assert opened(tablet).path is not None


def test_the_devices_name_is_readable_before_unlocking_but_not_its_key(tablet):
    chain = Chain()
    tablet.keep_device("tablet-a", chain.key)
    shut = EntryStore(opened(tablet), Locked())
    assert shut.device_name() == "tablet-a"
    with pytest.raises(SealingRefusal):
        shut.device_key()
    assert tablet.device_key().private_bytes_raw() == chain.key.private_bytes_raw()


def test_a_server_keeps_plain_content(server):
    entry = Chain().add()
    server.append(entry)
    with opened(server).reading() as connection:
        assert connection.scalar(text("SELECT content FROM entry")) == entry.plaintext()
    assert isinstance(server._codec, Plain)
