"""The assistant and its faces: reader, use cases, words, Telegram, command line."""
