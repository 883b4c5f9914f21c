"""The revisions of the store's schema; one stream for both sides."""
