"""Telegram: the one room that imports the platform library."""
