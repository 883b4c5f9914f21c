"""A forgotten PIN: the sealed recovery code, and what the server keeps."""

import pytest

from shared_models.entries.signatures import new_key, private_text
from shared_models.ledger.opening import open_store
from shared_models.ledger.key_slots import MOST_WRONG_TRIES, KeySlots
from shared_models.ledger.pins import PinRefusal
from shared_models.ledger.recovery_slots import RecoverySlots
from tests.shared_models.making import CHEAP, patience

PIN, OTHER_PIN, THIRD_PIN = "481502", "730264", "905518"


@pytest.fixture
def tablet(tmp_path):
    return opened(tmp_path)


def opened(folder):
    store = open_store(folder / "tablet.sqlite", "tablet")
    slots = KeySlots(store, CHEAP)
    slots.seconds = patience()
    return slots, RecoverySlots(store, slots, CHEAP)


def refused(function, *arguments):
    with pytest.raises(PinRefusal) as caught:
        function(*arguments)
    return caught.value


def test_a_recovery_code_gives_one_new_pin_and_then_opens_nothing(tablet):
    slots, recovery = tablet
    before = slots.begin("staff-1", PIN)
    code = recovery.new_code(before, "staff-1")
    for _ in range(MOST_WRONG_TRIES):
        refused(slots.unlock, "staff-1", THIRD_PIN)
    typed = code.lower().replace("-", " ")
    after = recovery.reset_with_code("staff-1", typed, OTHER_PIN)
    assert after.data_key == before.data_key
    assert slots.unlock("staff-1", OTHER_PIN).data_key == before.data_key
    assert private_text(after.signing_key) != private_text(before.signing_key), "the code opens no signing key"
    assert refused(slots.unlock, "staff-1", PIN).code == "wrong_pin"
    assert refused(recovery.reset_with_code, "staff-1", code, THIRD_PIN).code == "no_recovery_code"


def test_a_newer_recovery_code_puts_the_older_one_out_of_use(tablet):
    slots, recovery = tablet
    keys = slots.begin("staff-1", PIN)
    old, new = recovery.new_code(keys, "staff-1"), recovery.new_code(keys, "staff-1")
    assert refused(recovery.reset_with_code, "staff-1", old, OTHER_PIN).code == "wrong_recovery_code"
    assert recovery.reset_with_code("staff-1", new, OTHER_PIN)


def test_one_persons_recovery_code_resets_nobody_elses_pin(tablet):
    slots, recovery = tablet
    keys = slots.begin("staff-1", PIN)
    slots.add_person(keys, "staff-2", OTHER_PIN)
    code = recovery.new_code(keys, "staff-1")
    recovery.new_code(keys, "staff-2")
    assert refused(recovery.reset_with_code, "staff-2", code, THIRD_PIN).code == "wrong_recovery_code"
    assert slots.unlock("staff-2", OTHER_PIN)


def test_ten_wrong_recovery_codes_end_it_also_across_restarts(tmp_path, tablet):
    slots, recovery = tablet
    code = recovery.new_code(slots.begin("staff-1", PIN), "staff-1")
    for left in range(MOST_WRONG_TRIES - 1, -1, -1):
        again = opened(tmp_path)[1]
        refusal = refused(again.reset_with_code, "staff-1", "AAAA-AAAA-AAAA-AAAA-AAAA", OTHER_PIN)
        assert refusal.figures == {"tries_left": left}
    assert refused(recovery.reset_with_code, "staff-1", code, OTHER_PIN).code == "recovery_code_dead"
    assert slots.unlock("staff-1", PIN), "the PIN itself is untouched"


def test_a_weak_new_pin_is_refused_before_the_code_is_spent(tablet):
    slots, recovery = tablet
    code = recovery.new_code(slots.begin("staff-1", PIN), "staff-1")
    assert refused(recovery.reset_with_code, "staff-1", code, "123456").code == "pin_too_common"
    assert recovery.reset_with_code("staff-1", code, OTHER_PIN)


def test_what_the_server_keeps_opens_the_tablet_and_signs_with_the_key_that_the_server_recorded(tablet):
    slots, recovery = tablet
    before = slots.begin("staff-1", PIN)
    share, key = recovery.new_share(before, "https://server.example"), new_key()
    assert recovery.server_address() == "https://server.example"
    assert refused(recovery.reset_with_share, "staff-1", "another share", OTHER_PIN, key)
    recovery.reset_with_share("staff-1", share, OTHER_PIN, key)
    after = slots.unlock("staff-1", OTHER_PIN)
    assert after.data_key == before.data_key and private_text(after.signing_key) == private_text(key)


def test_neither_code_nor_share_lies_in_the_tablets_files(tmp_path, tablet):
    slots, recovery = tablet
    keys = slots.begin("staff-1", PIN)
    secrets = [recovery.new_code(keys, "staff-1"), recovery.new_share(keys, "https://server.example")]
    secrets.append(secrets[0].replace("-", ""))
    files = b"".join(p.read_bytes() for p in tmp_path.iterdir())
    assert b"server.example" in files and not any(s.encode() in files for s in secrets)
