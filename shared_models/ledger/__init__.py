"""The durable store of both sides; nothing else here knows SQLAlchemy.

``opening.open_store`` opens a file (or a server database) and brings its schema
up to date; ``store.EntryStore`` keeps entries, signatures and drafts in it;
``key_slots.KeySlots`` unlocks a tablet's sealed store with a PIN.
"""
