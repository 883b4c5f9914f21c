"""What travels between stores: batches, pulls, standings, and their checks.

Pure: nothing here opens a socket or a store.  ``docs/exchange.md`` is the
protocol that these forms make up.
"""
