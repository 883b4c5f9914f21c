"""What sealing each entry by itself costs, beside the same store unsealed, in one run.

    .venv/bin/python tests/bench/bench_sealing.py [ENTRIES]
"""

from __future__ import annotations

import os
import sys
import tempfile
import time
from pathlib import Path

from shared_models.ledger.opening import open_store
from shared_models.ledger.sealing import Plain, Sealed
from shared_models.ledger.store import EntryStore
from tests.shared_models.making import Chain


def main() -> None:
    count = int(sys.argv[1]) if len(sys.argv) > 1 else 10_000
    chain = Chain()
    for _ in range(count):
        chain.add(body={"text": os.urandom(750).hex()})
    print(f"{count} entries of {len(chain.entries[0].plaintext())} bytes, seconds of processor")
    print(f"{'':8}{'100 at once':>12}{'one by one':>12}{'read all':>10}{'MB':>8}")
    for name, codec in (("plain", Plain()), ("sealed", Sealed(os.urandom(32)))) * 2:
        with tempfile.TemporaryDirectory() as folder:
            store = open_store(Path(folder) / "store", "tablet")
            entries = EntryStore(store, codec)
            half = count // 2
            began = time.process_time()
            for start in range(0, half, 100):
                entries.add_all(chain.entries[start:start + 100])
            batched = time.process_time() - began
            began = time.process_time()
            for entry in chain.entries[half:half + 500]:
                entries.append(entry)
            single = time.process_time() - began
            began = time.process_time()
            assert len(entries.entries()) == half + 500
            read = time.process_time() - began
            size = sum(p.stat().st_size for p in Path(folder).iterdir()) / 1e6
            store.close()
        print(f"{name:8}{batched:12.2f}{single:12.2f}{read:10.2f}{size:8.1f}")


if __name__ == "__main__":
    main()
