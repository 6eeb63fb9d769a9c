"""The journal, the reminders and the two mailboxes, kept in SQLite or PostgreSQL."""
