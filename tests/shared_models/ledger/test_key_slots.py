"""PINs: which are taken, what they open, and how wrong ones are counted."""

import json

import pytest
from sqlalchemy import select, text

from shared_models.entries.signatures import private_text
from shared_models.ledger.opening import open_store
from shared_models.ledger.key_slots import MOST_WRONG_TRIES, KeySlots, Stretch
from shared_models.ledger.pins import PinRefusal, refuse_weak
from shared_models.ledger.tables import key_slot
from tests.shared_models.making import CHEAP, patience

PIN, OTHER_PIN, THIRD_PIN = "481502", "730264", "905518"


@pytest.fixture
def store(tmp_path):
    return open_store(tmp_path / "tablet.sqlite", "tablet")


@pytest.fixture
def slots(store):
    return KeySlots(store, CHEAP)


def refused(function, *arguments):
    with pytest.raises(PinRefusal) as caught:
        function(*arguments)
    return caught.value


@pytest.mark.parametrize("pin, code", [
    ("", "pin_not_digits"), ("48150a", "pin_not_digits"), ("٤٨١٥٠٢", "pin_not_digits"),
    ("48150", "pin_too_short"), ("4" * 33, "pin_too_long"),
    ("123456", "pin_too_common"), ("000000", "pin_too_common"),
    ("654321", "pin_too_common"), ("890123", "pin_too_common"),
    ("121212", "pin_too_common"), ("123123", "pin_too_common"),
    ("112233", "pin_too_common"), ("98765432", "pin_too_common"),
])
def test_a_pin_that_is_easily_guessed_is_refused(slots, pin, code):
    assert refused(slots.begin, "staff-1", pin).code == code
    assert slots.people() == ()


@pytest.mark.parametrize("pin", ["481502", "140371", "20260304", "73026411"])
def test_a_pin_that_is_no_pattern_is_taken(pin):
    assert refuse_weak(pin) is None


def test_each_persons_pin_opens_the_same_store_and_their_own_key(slots):
    first = slots.begin("staff-1", PIN)
    second = slots.add_person(first, "staff-2", OTHER_PIN)
    assert slots.people() == ("staff-1", "staff-2")
    assert slots.unlock("staff-2", OTHER_PIN).data_key == first.data_key
    assert private_text(second.signing_key) != private_text(first.signing_key)
    again = slots.unlock("staff-1", PIN)
    assert private_text(again.signing_key) == private_text(first.signing_key)


def test_one_persons_pin_does_not_open_anothers_slot(slots):
    first = slots.begin("staff-1", PIN)
    slots.add_person(first, "staff-2", OTHER_PIN)
    assert refused(slots.unlock, "staff-2", PIN).code == "wrong_pin"
    assert refused(slots.unlock, "staff-3", PIN).code == "no_pin_for_person"


def test_keys_are_made_once_and_a_person_is_added_once(slots):
    first = slots.begin("staff-1", PIN)
    assert refused(slots.begin, "staff-2", PIN).code == "keys_already_made"
    assert refused(slots.add_person, first, "staff-1", PIN).code == "person_has_a_pin"


def test_wrong_tries_count_over_restarts_and_ten_lock_the_slot(tmp_path, slots):
    slots.begin("staff-1", PIN)
    for left in range(MOST_WRONG_TRIES - 1, 0, -1):
        started_again = KeySlots(open_store(tmp_path / "tablet.sqlite", "tablet"), CHEAP)
        started_again.seconds = patience()
        if left < MOST_WRONG_TRIES - 4:  # a restart begins the waiting anew
            assert refused(started_again.unlock, "staff-1", PIN).code == "pin_waits"
        refusal = refused(started_again.unlock, "staff-1", THIRD_PIN)
        assert (refusal.code, refusal.figures) == ("wrong_pin", {"tries_left": left})
    slots.seconds = patience()
    assert refused(slots.unlock, "staff-1", THIRD_PIN).code == "pin_waits"
    assert refused(slots.unlock, "staff-1", THIRD_PIN).code == "pin_locked"
    assert refused(slots.unlock, "staff-1", PIN).code == "pin_locked"


def test_from_the_fourth_wrong_try_on_the_next_one_waits_twice_as_long_each_time(slots, monkeypatch):
    slots.begin("staff-1", PIN)
    now, waited = [100.0], []
    slots.seconds = lambda: now[0]
    monkeypatch.setattr("time.time", lambda: 4e9)  # setting the clock does not help
    for _ in range(MOST_WRONG_TRIES - 1):
        refusal = refused(slots.unlock, "staff-1", THIRD_PIN)
        if refusal.code == "pin_waits":
            waited.append(refusal.figures["seconds"] - 1)
            now[0] += waited[-1] - 0.5
            assert refused(slots.unlock, "staff-1", PIN).code == "pin_waits"
            now[0] += 0.5
            refusal = refused(slots.unlock, "staff-1", THIRD_PIN)
        assert refusal.code == "wrong_pin"
    assert waited == [2, 4, 8, 16, 32]


def test_waiting_counts_as_no_try_and_the_right_pin_opens_after_it(slots):
    slots.begin("staff-1", PIN)
    now = [0.0]
    slots.seconds = lambda: now[0]
    for _ in range(4):
        refused(slots.unlock, "staff-1", THIRD_PIN)
    for _ in range(20):
        assert refused(slots.unlock, "staff-1", PIN).code == "pin_waits"
    now[0] += 2
    assert slots.unlock("staff-1", PIN).staff_id == "staff-1"


def test_a_right_pin_forgives_the_wrong_tries_before_it(slots):
    slots.begin("staff-1", PIN)
    refused(slots.unlock, "staff-1", THIRD_PIN)
    slots.unlock("staff-1", PIN)
    refusal = refused(slots.unlock, "staff-1", THIRD_PIN)
    assert refusal.figures == {"tries_left": MOST_WRONG_TRIES - 1}


def test_a_try_is_on_the_disk_before_the_pin_is_tried(store, slots, monkeypatch):
    slots.begin("staff-1", PIN)

    def battery_pulled(*_):
        raise KeyboardInterrupt

    monkeypatch.setattr(Stretch, "key", battery_pulled)
    with pytest.raises(KeyboardInterrupt):
        slots.unlock("staff-1", PIN)
    with store.reading() as connection:
        assert connection.scalar(select(key_slot.c.wrong_tries)) == 1


def test_a_changed_pin_opens_the_same_keys_and_the_old_one_no_more(slots):
    before = slots.begin("staff-1", PIN)
    slots.change_pin("staff-1", PIN, OTHER_PIN)
    assert refused(slots.unlock, "staff-1", PIN).code == "wrong_pin"
    after = slots.unlock("staff-1", OTHER_PIN)
    assert after.data_key == before.data_key
    assert private_text(after.signing_key) == private_text(before.signing_key)
    assert refused(slots.change_pin, "staff-1", PIN, THIRD_PIN).code == "wrong_pin"


def test_a_colleague_resets_a_locked_pin_with_a_fresh_signing_key(slots):
    lead = slots.begin("staff-1", PIN)
    before = slots.add_person(lead, "staff-2", OTHER_PIN)
    slots.seconds = patience()
    for _ in range(MOST_WRONG_TRIES):
        refused(slots.unlock, "staff-2", THIRD_PIN)
    slots.give_new_pin(lead, "staff-2", THIRD_PIN)
    after = slots.unlock("staff-2", THIRD_PIN)
    assert after.data_key == lead.data_key
    assert private_text(after.signing_key) != private_text(before.signing_key)


def test_a_copied_slot_row_does_not_open_under_another_name(store, slots):
    slots.begin("staff-1", PIN)
    with store.writing() as connection:
        connection.execute(text("UPDATE key_slot SET staff_id = 'staff-9'"))
    assert refused(slots.unlock, "staff-9", PIN).code == "wrong_pin"


def test_without_the_devices_secret_the_right_pin_opens_nothing(store):
    KeySlots(store, CHEAP, device_secret=b"kept by the system").begin("staff-1", PIN)
    assert refused(KeySlots(store, CHEAP).unlock, "staff-1", PIN).code == "wrong_pin"
    assert KeySlots(store, CHEAP, b"kept by the system").unlock("staff-1", PIN)


def test_a_slot_made_with_other_stretching_still_opens(store, slots):
    slots.begin("staff-1", PIN)
    assert KeySlots(store, Stretch(128, 2, 1)).unlock("staff-1", PIN)


def test_the_usual_stretching_costs_at_least_46_mebibytes(store):
    KeySlots(store).begin("staff-1", PIN)
    with store.reading() as connection:
        kept = json.loads(connection.scalar(select(key_slot.c.stretch)))
    assert kept["algorithm"] == "argon2id"
    assert kept["memory_kib"] >= 46 * 1024 and kept["passes"] >= 1
    assert KeySlots(store).unlock("staff-1", PIN)


def test_no_name_and_no_pin_is_found_in_any_file_of_a_tablet(tmp_path, store, slots):
    from shared_models.ledger.store import EntryStore
    from shared_models.ledger.sync_states import SyncState
    from tests.shared_models.making import CLINIC, Chain

    planted = ["Ottilie Farrow", "Quentin Marsh", "born 1971-02-30", "sore at the brim",
               "sync-token-4711", "Ansa Brook", PIN]
    unlocked = slots.begin("staff-1", PIN)
    entries = EntryStore(store, unlocked.codec)
    chain = Chain()
    entry = chain.add(body={"name": planted[0], "helped_by": planted[1]})
    entries.append(entry, [chain.signed_off(entry), chain.head()])
    entries.append(chain.add(because={"code": "other", "note": planted[3]},
                             replaces=[entry.digest]))
    entries.keep_draft("fitting/f-1/person", {"text": planted[2]})
    entries.keep_sync_state(SyncState(CLINIC, access={"token": planted[4]}))
    written = [path for path in tmp_path.rglob("*") if path.is_file()]
    assert any(path.name.endswith("-wal") for path in written)
    found = [
        (path.name, text_) for path in written for text_ in planted
        if text_.encode() in path.read_bytes()
    ]
    assert found == []
    # The search itself works: what may be readable is found.
    assert any(entry.digest.encode() in path.read_bytes() for path in written)
