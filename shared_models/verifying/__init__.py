"""Checking a whole store offline: every row, chain, signature and attachment."""
