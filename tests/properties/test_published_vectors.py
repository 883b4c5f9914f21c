"""The cryptography and the canonical form agree with their published examples."""

import json
from uuid import UUID

import pytest
import rfc8785
from cryptography.hazmat.primitives.ciphers.aead import AESGCM
from cryptography.hazmat.primitives.kdf.argon2 import Argon2id

from shared_models.entries.canonical import NotStrictJson, canonical_bytes
from shared_models.entries.envelope import entry_from
from shared_models.entries.signatures import key_from
from shared_models.ledger.sealing import Sealed
from tests.shared_models.making import Chain

# RFC 8785 section 3.2.2 (input) and 3.2.3 (its canonical form).
RFC_8785_INPUT = r"""{
  "numbers": [333333333.33333329, 1E30, 4.50, 2e-3, 0.000000000000000000000000001],
  "string": "\u20ac$\u000F\u000aA'\u0042\u0022\u005c\\\"\/",
  "literals": [null, true, false]
}"""
RFC_8785_CANONICAL = (
    '{"literals":[null,true,false],'
    '"numbers":[333333333.3333333,1e+30,4.5,0.002,1e-27],'
    '"string":"€$\\u000f\\nA\'B\\"\\\\\\\\\\"/"}'
)


def test_rfc_8785_section_3_2_2_example_has_its_published_form():
    value = json.loads(RFC_8785_INPUT)
    assert rfc8785.dumps(value).decode() == RFC_8785_CANONICAL
    with pytest.raises(NotStrictJson):
        canonical_bytes(value)  # a record holds no floating-point numbers
    del value["numbers"]
    without = RFC_8785_CANONICAL.replace(
        '"numbers":[333333333.3333333,1e+30,4.5,0.002,1e-27],', ""
    )
    assert canonical_bytes(value).decode() == without


def test_rfc_8785_section_3_2_3_names_are_sorted_by_utf_16_units():
    value = json.loads(r"""{
      "\u20ac": "Euro Sign", "\r": "Carriage Return",
      "\ufb33": "Hebrew Letter Dalet With Dagesh", "1": "One",
      "\ud83d\ude00": "Emoji: Grinning Face", "\u0080": "Control",
      "\u00f6": "Latin Small Letter O With Diaeresis"
    }""")
    assert list(json.loads(canonical_bytes(value)).values()) == [
        "Carriage Return", "One", "Control", "Latin Small Letter O With Diaeresis",
        "Euro Sign", "Emoji: Grinning Face", "Hebrew Letter Dalet With Dagesh",
    ]


def test_rfc_9562_appendix_a_6_example_is_taken_as_an_id():
    example = "017f22e2-79b0-7cc3-98c4-dc0c0c07398f"
    entry = entry_from(Chain().envelope(id=example))
    assert entry.id == example
    assert UUID(entry.id).version == 7
    assert UUID(entry.id).int >> 80 == 1_645_557_742_000  # 2022-02-22 19:22:22 UTC


def test_rfc_8032_section_7_1_test_1_gives_the_published_signature():
    key = key_from(bytes.fromhex(
        "9d61b19deffd5a60ba844af492ec2cc44449c5697b326919703bac031cae7f60"
    ))
    assert key.public_key().public_bytes_raw().hex() == (
        "d75a980182b10ab7d54bfed3c964073a0ee172f3daa62325af021a68f707511a"
    )
    assert key.sign(b"").hex() == (
        "e5564300c360ac729086e2cc806e828a84877f1eb8e5d974d873e065224901555f"
        "b8821590a33bacc61e39701cf9b46bd25bf5f0595bbe24655141438e7a100b"
    )


def test_rfc_9106_section_5_3_gives_the_published_argon2id_tag():
    derived = Argon2id(
        salt=b"\x02" * 16, length=32, iterations=3, lanes=4, memory_cost=32,
        secret=b"\x03" * 8, ad=b"\x04" * 12,
    ).derive(b"\x01" * 32)
    assert derived.hex() == (
        "0d640df58d78766c08c037a34a8b53c9d01ef0452d75b65eb52520e96b01e659"
    )


# McGrew and Viega, "The Galois/Counter Mode of Operation", as submitted to NIST:
# test cases 15 and 16 (AES-256).
GCM_KEY = "feffe9928665731c6d6a8f9467308308" * 2
GCM_NONCE = "cafebabefacedbaddecaf888"
GCM_PLAIN = (
    "d9313225f88406e5a55909c5aff5269a86a7a9531534f7da2e4c303d8a318a72"
    "1c3c0c95956809532fcf0e2449a6b525b16aedf5aa0de657ba637b391aafd255"
)
GCM_SEALED = (
    "522dc1f099567d07f47f37a32a84427d643a8cdcbfe5c0c97598a2bd2555d1aa"
    "8cb08e48590dbb3da7b08b1056828838c5f61e6393ba7a0abcc9f662898015ad"
)


def test_gcm_test_case_15_opens_and_seals_in_a_tablets_store(monkeypatch):
    codec = Sealed(bytes.fromhex(GCM_KEY))
    content = bytes.fromhex(
        GCM_NONCE + GCM_SEALED + "b094dac5d93471bdec1a502270e3cc6c"
    )
    assert codec.open("", content).hex() == GCM_PLAIN
    monkeypatch.setattr("os.urandom", lambda size: bytes.fromhex(GCM_NONCE)[:size])
    assert codec.seal("", bytes.fromhex(GCM_PLAIN)) == content


def test_gcm_test_case_16_binds_its_associated_data():
    plain, sealed = GCM_PLAIN[:-8], GCM_SEALED[:-8]
    found = AESGCM(bytes.fromhex(GCM_KEY)).encrypt(
        bytes.fromhex(GCM_NONCE), bytes.fromhex(plain),
        bytes.fromhex("feedfacedeadbeeffeedfacedeadbeefabaddad2"),
    )
    assert found.hex() == sealed + "76fc6ece0f4e1768cddf8853bb2d551b"
