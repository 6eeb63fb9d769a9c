"""Replies as data to short texts and buttons; the one place where text is escaped."""
