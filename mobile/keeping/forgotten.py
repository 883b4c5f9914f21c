"""A forgotten PIN: by the sealed recovery code in the field, or by the lead's one-time code online."""

from __future__ import annotations

from shared_models.entries.signatures import new_key, public_text
from shared_models.ledger.pins import refuse_weak
from shared_models.ledger.recovery_slots import CODE_LETTERS
from shared_models.ledger.sealing import Plain
from shared_models.ledger.store import EntryStore
from shared_models.quantities.refusals import Refusal
from mobile.keeping.courier import Courier
from mobile.keeping.tablet import Tablet


def is_recovery_code(code: str) -> bool:
    """Tell a sealed recovery code from the lead's one-time code, by its length."""
    return sum(c.isascii() and c.isalnum() for c in code) >= CODE_LETTERS


def reset_forgotten_pin(
    tablet: Tablet, courier: Courier, staff: str, code: str, new_pin: str
) -> None:
    """Give somebody a new PIN by either code.

    Raises PinRefusal as `RecoverySlots`, SyncRefusal as the courier, and
    Refusal ``code_for_other_person``.
    """
    refuse_weak(new_pin)
    if is_recovery_code(code):
        tablet.recovery.reset_with_code(staff, code, new_pin)
        return
    key = new_key()
    name = EntryStore(tablet.store, Plain()).device_name() or ""
    address = tablet.recovery.server_address()
    if not address:
        raise Refusal("no_recovery_code")
    share, whose = courier.reset_pin(address, code, name, public_text(key))
    if whose != staff:
        raise Refusal("code_for_other_person")
    tablet.recovery.reset_with_share(staff, share, new_pin, key)
