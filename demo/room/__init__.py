"""A loopback Bot API server with a chat page: the real bot in a browser, without a token."""
