"""Judging a batch: all or nothing, with a reason for each entry."""

import base64
import copy
import dataclasses

import pytest

from shared_models.entries.clock import HybridClock
from shared_models.entries.signatures import new_key, public_text
from shared_models.exchange.answers import (
    Standing,
    decode_receipt,
    decode_refused,
    decode_standing,
    encode_receipt,
    encode_refused,
    encode_standing,
    receipt_for,
)
from shared_models.exchange.batch import Batch, batch_of
from shared_models.exchange.clocks import DAY_MS, see_bounded
from shared_models.exchange.intake import Accepted, check_batch
from shared_models.exchange.keys import Keys
from tests.shared_models.making import (
    CLINIC,
    Chain,
    codes,
    keys_of,
    server_store,
    take,
)


@pytest.fixture
def server(tmp_path):
    return server_store(tmp_path)


def changed(batch: Batch, place: int, **fields) -> Batch:
    """Return the batch with fields of one envelope changed, its digest kept."""
    entries = copy.deepcopy(list(batch.entries))
    entries[place][1].update(fields)
    return dataclasses.replace(batch, entries=tuple(entries))


def test_a_sound_batch_is_taken_once_and_repeats_change_nothing(server):
    chain = Chain().grown(3)
    first = take(server, chain.batch(), keys_of(chain))
    assert [entry.number for entry in first.new_entries] == [1, 2, 3]
    assert len(first.new_signatures) == 1
    again = take(server, chain.batch(), keys_of(chain))
    assert (again.new_entries, again.new_signatures) == ((), ())
    assert len(again.repeated) == 3
    assert server.last_sequence(CLINIC) == 4


def test_a_changed_envelope_refuses_the_whole_batch_naming_the_entry(server):
    chain = Chain().grown(3)
    found = take(server, changed(chain.batch(), 1, body={"text": "other"}), keys_of(chain))
    assert codes(found) == ["digest_differs", "follows_refused_entry"]
    assert found.reasons[0].place == "entries/1"
    assert found.reasons[0].digest == chain.entries[1].digest
    assert server.count() == 0


def test_an_envelope_not_of_the_form_is_refused_with_its_field(server):
    chain = Chain().grown(1)
    found = take(server, changed(chain.batch(), 0, recorded_at="yesterday"), keys_of(chain))
    assert codes(found)[0] == "envelope_not_a_moment"
    assert found.reasons[0].figures == {"field": "recorded_at"}


def test_an_entry_of_another_clinic_is_refused(server):
    chain = Chain(clinic="clinic-south").grown(1)
    batch = dataclasses.replace(chain.batch(), clinic=CLINIC)
    assert "other_clinic" in codes(take(server, batch, keys_of(chain)))


def test_a_gap_is_refused_with_what_is_known_so_that_it_can_be_sent_again(server):
    chain = Chain().grown(6)
    keys = keys_of(chain)
    take(server, chain.batch(1, 2), keys)
    found = take(server, chain.batch(4, 6), keys)
    assert codes(found) == ["chain_gap"]
    figures = found.reasons[0].figures
    assert figures == {
        "tablet": chain.tablet, "number": 4,
        "known_number": 2, "known_digest": chain.entries[1].digest,
    }
    resent = take(server, chain.batch(figures["known_number"] + 1, 6), keys)
    assert isinstance(resent, Accepted) and server.count() == 6


def test_entries_of_a_batch_may_stand_in_any_order(server):
    chain = Chain().grown(4)
    batch = batch_of(CLINIC, reversed(chain.entries), [chain.head()])
    found = take(server, batch, keys_of(chain))
    assert [entry.number for entry in found.new_entries] == [1, 2, 3, 4]


def test_a_cloned_tablets_branch_is_kept_and_reported(server):
    chain = Chain().grown(3)
    twin = chain.clone()
    chain.grown(1), twin.grown(2)
    keys = keys_of(chain)
    take(server, chain.batch(), keys)
    found = take(server, twin.batch(4), keys)
    assert [(fork.number, fork.digests) for fork in found.forks] == [
        (4, tuple(sorted([chain.entries[3].digest, twin.entries[3].digest])))
    ]
    assert server.count() == 6
    assert take(server, twin.batch(4), keys).forks == ()


def test_both_branches_of_a_clone_may_come_in_one_batch(server):
    chain = Chain().grown(1)
    twin = chain.clone()
    chain.grown(1), twin.grown(1)
    both = batch_of(CLINIC, [*chain.entries, twin.entries[1]], [chain.head(), twin.head()])
    assert len(take(server, both, keys_of(chain)).forks) == 1


def test_new_entries_without_a_signed_head_are_refused(server):
    chain = Chain().grown(3)
    keys = keys_of(chain)
    bare = batch_of(CLINIC, chain.entries, [])
    assert codes(take(server, bare, keys)) == ["chain_head_not_signed"] * 3
    early = batch_of(CLINIC, chain.entries, [chain.head(chain.entries[1])])
    found = take(server, early, keys)
    assert [(r.code, r.place) for r in found.reasons] == [
        ("chain_head_not_signed", "entries/2")
    ]


def test_a_head_signed_by_a_tablet_that_is_not_enrolled_is_refused(server):
    chain, stranger = Chain().grown(1), Chain()
    assert "key_not_enrolled" in codes(take(server, chain.batch(), keys_of(stranger)))


def test_one_tablet_does_not_sign_for_another(server):
    chain, other = Chain().grown(1), Chain("tablet-b")
    other.entries = chain.entries
    batch = batch_of(CLINIC, chain.entries, [other.head()])
    assert "signature_not_of_this_chain" in codes(take(server, batch, keys_of(chain, other)))


def test_a_person_signs_what_they_recorded_with_their_recorded_key(server):
    chain = Chain()
    chain.add_staff_key()
    entry = chain.add("technician_sign_off")
    batch = batch_of(CLINIC, chain.entries, [chain.signed_off(entry), chain.head()])
    assert len(take(server, batch, keys_of(chain)).new_signatures) == 2


@pytest.mark.parametrize("fault, code", [
    (dict(signer="staff-2"), "signer_did_not_record_entry"),
    (dict(meaning="chain_head"), "signer_did_not_record_entry"),
    (dict(signer_type="clinic"), "signature_wrong_form"),
    (dict(clinic="clinic-south"), "signature_other_clinic"),
    (dict(signs="0" * 64), "signs_unknown_entry"),
])
def test_a_persons_signature_over_something_else_is_refused(server, fault, code):
    chain = Chain()
    chain.add_staff_key()
    wrong = chain.signed_off(chain.add(), **fault)
    batch = batch_of(CLINIC, chain.entries, [chain.head(), wrong])
    found = take(server, batch, keys_of(chain))
    assert (codes(found), found.reasons[0].place) == ([code], "signatures/1")
    assert server.count() == 0


def test_a_key_that_nobody_recorded_signs_nothing(server):
    chain = Chain()
    entry = chain.add()
    batch = batch_of(CLINIC, chain.entries, [chain.head(), chain.signed_off(entry)])
    assert codes(take(server, batch, keys_of(chain))) == ["key_not_enrolled"]


def test_a_signature_moved_to_another_entry_does_not_verify(server):
    chain = Chain()
    chain.add_staff_key()
    signature = chain.signed_off(chain.add())
    moved = dataclasses.replace(signature, signs=chain.add().digest)
    batch = batch_of(CLINIC, chain.entries, [chain.head(), moved])
    assert codes(take(server, batch, keys_of(chain))) == ["signature_does_not_verify"]


def test_a_signature_written_in_other_base64_is_refused_not_stored_twice(server):
    chain = Chain().grown(1)
    head = chain.head()
    letters = "ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789+/"
    other = letters[letters.index(head.value[-3]) + 1]
    twin = dataclasses.replace(head, value=head.value[:-3] + other + "==")
    assert base64.b64decode(twin.value) == base64.b64decode(head.value)
    batch = batch_of(CLINIC, chain.entries, [head, twin])
    assert codes(take(server, batch, keys_of(chain))) == ["signature_wrong_form"]


def test_a_signature_may_come_later_than_the_entry_it_signs(server):
    chain = Chain()
    chain.add_staff_key()
    entry = chain.add()
    take(server, chain.batch(), keys_of(chain))
    keys = keys_of(chain).with_entries(server.entries())
    found = take(server, batch_of(CLINIC, [], [chain.signed_off(entry)]), keys)
    assert len(found.new_signatures) == 1


def test_a_tablets_key_is_believed_only_from_a_servers_chain(server):
    office, chain, other = Chain("server-main"), Chain().grown(1), Chain("tablet-b")
    enrolment = dict(subject={"type": "tablet", "id": chain.tablet},
                     body={"public_key": public_text(chain.key)})
    trusted = dataclasses.replace(
        keys_of(office, other), servers=frozenset(["server-main"])
    )
    other.add("tablet", **enrolment)
    forged = batch_of(CLINIC, [*other.entries, *chain.entries], [other.head(), chain.head()])
    assert "key_not_enrolled" in codes(take(server, forged, trusted))
    office.add("tablet", **enrolment)
    honest = batch_of(CLINIC, [*office.entries, *chain.entries], [office.head(), chain.head()])
    assert len(take(server, honest, trusted).new_entries) == 2


def test_kinds_of_a_later_program_are_taken_unharmed(server):
    chain = Chain()
    entry = chain.add("gait_hologram", kind_version=9, more={"later": ["x"]})
    take(server, chain.batch(), keys_of(chain))
    assert server.by_digest(entry.digest).plaintext() == entry.plaintext()


def test_an_entry_from_a_wild_clock_is_taken_but_moves_no_other_clock(server):
    chain = Chain()
    wild = chain.add(clock="f00000000000-0000")
    assert len(take(server, chain.batch(), keys_of(chain)).new_entries) == 1
    now = 1_790_000_000_000
    clock = HybridClock(lambda: now)
    assert not see_bounded(clock, wild.clock)
    assert see_bounded(clock, f"{now + 399 * DAY_MS:012x}-0000")
    assert not see_bounded(clock, f"{now + 401 * DAY_MS:012x}-0000")
    assert clock.tick() > f"{now + 399 * DAY_MS:012x}-0000"


def test_answers_come_back_as_they_were(server):
    chain = Chain().grown(1)
    twin = chain.clone()
    chain.grown(1), twin.grown(1)
    take(server, chain.batch(), keys_of(chain))
    accepted = take(server, twin.batch(), keys_of(chain))
    receipt = receipt_for(accepted, CLINIC, server.epoch, server.last_sequence(CLINIC))
    assert decode_receipt(encode_receipt(receipt)) == receipt
    assert (receipt.stored, receipt.repeated, len(receipt.forks)) == (2, 1, 1)
    refused = check_batch(chain.batch(), server, Keys())
    assert decode_refused(encode_refused(refused)) == refused
    standing = Standing(CLINIC, server.epoch, "0.1.0", 5, {chain.tablet: chain.end}, ())
    assert decode_standing(encode_standing(standing)) == standing


def test_a_made_up_key_is_not_taken_for_an_enrolled_one(server):
    chain = Chain().grown(1)
    chain.key = new_key()
    keys = keys_of(chain)
    chain.key = new_key()
    assert "key_not_enrolled" in codes(take(server, chain.batch(), keys))
