"""Settings: what is read, what is refused, and that a refusal says what to do and shows no secret."""

from __future__ import annotations

from pathlib import Path

import pytest

from bot.settings import PREFIX, Settings, SettingsError, load_settings

TOKEN = "123456:invented-Token_1"


@pytest.fixture(autouse=True)
def clean_surroundings(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    for name in Settings.model_fields:
        monkeypatch.delenv(PREFIX + name.upper(), raising=False)
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path / "data"))
    monkeypatch.chdir(tmp_path)


def test_with_nothing_set_the_database_lies_in_the_data_folder() -> None:
    settings = load_settings()
    assert settings.token is None
    assert settings.database_url.startswith("sqlite:///")
    assert settings.database_url.endswith("/rillkeeper/rillkeeper.db")
    assert settings.api_url == "https://api.telegram.org"
    assert settings.allowed_chats == frozenset()


def test_environment(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("RILLKEEPER_TOKEN", TOKEN)
    monkeypatch.setenv("RILLKEEPER_DATABASE_URL", "postgresql://keeper@localhost/rill")
    monkeypatch.setenv("RILLKEEPER_ALLOWED_CHATS", "5, -1001234,")
    settings = load_settings()
    assert settings.token is not None
    assert settings.token.get_secret_value() == TOKEN
    assert settings.database_url == "postgresql://keeper@localhost/rill"
    assert settings.allowed_chats == {"5", "-1001234"}


def test_file_beside_the_program_is_read_and_the_environment_wins(monkeypatch: pytest.MonkeyPatch) -> None:
    Path(".env").write_text("RILLKEEPER_TOKEN=1:from-file\nRILLKEEPER_LOG_LEVEL=debug\nOTHER=1\n")
    monkeypatch.setenv("RILLKEEPER_TOKEN", TOKEN)
    settings = load_settings()
    assert settings.secrets == (TOKEN,)
    assert settings.log_level == "DEBUG"


def test_empty_means_not_set(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("RILLKEEPER_TOKEN", "")
    monkeypatch.setenv("RILLKEEPER_WEBHOOK_URL", "")
    settings = load_settings()
    assert (settings.token, settings.webhook_url) == (None, None)


@pytest.mark.parametrize("end", ["", "/", "/bot", "/bot/"])
def test_api_address_with_or_without_its_end(end: str) -> None:
    assert load_settings(api_url=f"http://127.0.0.1:8081{end}").api_url == "http://127.0.0.1:8081"


@pytest.mark.parametrize(
    ("name", "value"),
    [
        ("TOKEN", "not-a-token-but-secret"),
        ("DATABASE_URL", "mysql://somewhere"),
        ("API_URL", "telegram"),
        ("WEBHOOK_URL", "http://example.org/hook"),
        ("WEBHOOK_LISTEN", "8444"),
        ("WEBHOOK_LISTEN", "127.0.0.1:99999"),
        ("WEBHOOK_SECRET", "with space"),
        ("ALLOWED_CHATS", "5;6"),
        ("LOG_LEVEL", "LOUD"),
    ],
)
def test_refusal_names_the_variable_in_one_line_and_not_its_value(
    monkeypatch: pytest.MonkeyPatch, name: str, value: str
) -> None:
    monkeypatch.setenv(PREFIX + name, value)
    with pytest.raises(SettingsError) as refused:
        load_settings()
    said = str(refused.value)
    assert said.startswith(f"{PREFIX}{name} must ")
    assert "\n" not in said
    assert value not in said


def test_webhook_needs_its_secret() -> None:
    with pytest.raises(SettingsError, match="needs RILLKEEPER_WEBHOOK_SECRET"):
        load_settings(webhook_url="https://example.org/hook")


def test_secrets_do_not_show() -> None:
    settings = load_settings(token=TOKEN, webhook_url="https://example.org/hook", webhook_secret="s3cret")
    assert settings.secrets == (TOKEN, "s3cret")
    assert TOKEN not in repr(settings)
    assert "s3cret" not in repr(settings)
