"""What the surroundings decide: the environment, or a ``.env`` file beside the program."""

from __future__ import annotations

import re
from typing import Annotated, Any

import platformdirs
from pydantic import SecretStr, ValidationError, field_validator, model_validator
from pydantic_settings import BaseSettings, NoDecode, SettingsConfigDict

__all__ = ["Settings", "SettingsError", "load_settings"]

PREFIX = "RILLKEEPER_"
TELEGRAM_API_URL = "https://api.telegram.org"
TOKEN_FORM = re.compile(r"\d{1,20}:[A-Za-z0-9_-]{3,}")
SECRET_FORM = re.compile(r"[A-Za-z0-9_-]{1,256}")
"""What the platform takes as the secret of a webhook (Bot API, setWebhook)."""


class SettingsError(ValueError):
    """A setting is missing or wrong. Its text is one line that says what to do, and never shows a value."""


def _database_in_data_folder() -> str:
    folder = platformdirs.user_data_path("rillkeeper", appauthor=False)
    return f"sqlite:///{(folder / 'rillkeeper.db').as_posix()}"


class Settings(BaseSettings):
    """The settings of one running assistant. Each is read from ``RILLKEEPER_`` and its name.

    token : what the platform's own bot for bots gave; ``None`` where no chat is connected.
    database_url : ``sqlite:///path`` or ``postgresql://...``; default: a file in the user's data folder.
    api_url : the server that speaks the Bot API, what stands before ``/bot<token>``. Taken with the
        ``/bot`` at its end (as python-telegram-bot's ``base_url`` has it) or without.
    webhook_url : the public https address that the platform shall call; ``None``: ask the platform for news.
    webhook_listen : where this program listens for those calls. [host:port]
    webhook_secret : what the platform must send along, 1 to 256 of A-Z a-z 0-9 _ -; needed with
        ``webhook_url``.
    allowed_chats : the platform's ids of the chats that are served, with commas between; empty: anyone.
    log_level : DEBUG, INFO, WARNING or ERROR. No level writes what people said.
    """

    model_config = SettingsConfigDict(
        env_prefix=PREFIX,
        env_file=".env",
        env_file_encoding="utf-8",
        env_ignore_empty=True,
        extra="ignore",  # a .env file may serve other programs too
        frozen=True,
        hide_input_in_errors=True,
    )

    token: SecretStr | None = None
    database_url: str = ""
    api_url: str = TELEGRAM_API_URL
    webhook_url: str | None = None
    webhook_listen: str = "127.0.0.1:8443"
    webhook_secret: SecretStr | None = None
    allowed_chats: Annotated[frozenset[str], NoDecode] = frozenset()
    log_level: str = "INFO"

    @field_validator("token")
    @classmethod
    def _token_has_its_form(cls, token: SecretStr | None) -> SecretStr | None:
        if token is not None and not TOKEN_FORM.fullmatch(token.get_secret_value()):
            raise ValueError("must look like 123456:ABC..., as the platform gave it")
        return token

    @field_validator("database_url")
    @classmethod
    def _database_is_known(cls, url: str) -> str:
        if not url.startswith(("sqlite:///", "postgresql://")):
            raise ValueError("must start with sqlite:/// or postgresql://")
        return url

    @field_validator("api_url")
    @classmethod
    def _api_without_its_end(cls, url: str) -> str:
        if not re.match(r"https?://[^/\s]", url):
            raise ValueError("must start with http:// or https:// and name a host")
        return url.rstrip("/").removesuffix("/bot")

    @field_validator("webhook_url")
    @classmethod
    def _webhook_is_https(cls, url: str | None) -> str | None:
        # The platform itself calls https only; plain http serves a stand-in on this machine.
        if url is not None and not re.match(r"https://[^/\s]|http://(127\.0\.0\.1|localhost)\b", url):
            raise ValueError("must start with https://")
        return url

    @field_validator("webhook_listen")
    @classmethod
    def _listen_names_a_port(cls, listen: str) -> str:
        host, _, port = listen.rpartition(":")
        if not host or not port.isascii() or not port.isdigit() or not 0 <= int(port) <= 65535:
            raise ValueError("must be host:port, for instance 127.0.0.1:8443")
        return listen

    @field_validator("webhook_secret")
    @classmethod
    def _secret_has_its_form(cls, secret: SecretStr | None) -> SecretStr | None:
        if secret is not None and not SECRET_FORM.fullmatch(secret.get_secret_value()):
            raise ValueError("must be 1 to 256 of the characters A-Z a-z 0-9 _ -")
        return secret

    @field_validator("allowed_chats", mode="before")
    @classmethod
    def _chats_from_list(cls, chats: Any) -> Any:
        if not isinstance(chats, str):
            return chats
        named = [chat.strip() for chat in chats.split(",") if chat.strip()]
        if not all(re.fullmatch(r"-?\d+", chat) for chat in named):
            raise ValueError("must be chat numbers with commas between, for instance 5,-1001234")
        return frozenset(named)

    @field_validator("log_level")
    @classmethod
    def _level_is_known(cls, level: str) -> str:
        if level.upper() not in {"DEBUG", "INFO", "WARNING", "ERROR"}:
            raise ValueError("must be DEBUG, INFO, WARNING or ERROR")
        return level.upper()

    @model_validator(mode="before")
    @classmethod
    def _database_by_default(cls, values: Any) -> Any:
        if isinstance(values, dict) and not values.get("database_url"):
            return {**values, "database_url": _database_in_data_folder()}
        return values

    @model_validator(mode="after")
    def _webhook_has_its_secret(self) -> Settings:
        if self.webhook_url is not None and self.webhook_secret is None:
            raise ValueError("RILLKEEPER_WEBHOOK_URL needs RILLKEEPER_WEBHOOK_SECRET beside it")
        return self

    @property
    def secrets(self) -> tuple[str, ...]:
        """What no log may show."""
        return tuple(secret.get_secret_value() for secret in (self.token, self.webhook_secret) if secret)


def load_settings(**given: Any) -> Settings:
    """The settings from the environment and ``.env``; what is ``given`` wins over both.

    Raises SettingsError, with one line that names the variable and what it must be.
    """
    try:
        return Settings(**given)
    except ValidationError as error:
        first = error.errors(include_input=False, include_url=False)[0]
        wrong = str(first["msg"]).removeprefix("Value error, ")
        name = "_".join(str(part) for part in first["loc"])
        raise SettingsError(f"{PREFIX}{name.upper()} {wrong}" if name else wrong) from None
