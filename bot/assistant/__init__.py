"""The use cases, free of any chat platform."""
