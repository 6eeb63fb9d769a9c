"""How a Bot API request is read and how it is answered: forms, JSON and multipart in, one envelope out."""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

from aiohttp import BodyPartReader, web

__all__ = ["BadRequest", "Params", "Refusal", "Upload", "failure", "read_params", "success"]


class Refusal(Exception):
    """The platform says no.

    status : the HTTP status and ``error_code``.
    description : the platform's words, with their prefix (``Bad Request: ...``).
    parameters : ``retry_after`` or ``migrate_to_chat_id``, where the platform gives them.
    """

    def __init__(self, status: int, description: str, parameters: Mapping[str, Any] | None = None) -> None:
        super().__init__(f"{status} {description}")
        self.status = status
        self.description = description
        self.parameters = dict(parameters or {})


class BadRequest(Refusal):
    """The commonest refusal: 400, its prefix added here."""

    def __init__(self, what: str, parameters: Mapping[str, Any] | None = None) -> None:
        super().__init__(400, f"Bad Request: {what}", parameters)


@dataclass(frozen=True, slots=True)
class Upload:
    """One file of a multipart body."""

    name: str
    mime_type: str
    content: bytes


@dataclass(slots=True)
class Params:
    """The arguments of one call, whatever they came in.

    A form holds text alone, with JSON inside it for the rest; a JSON body holds values as they are.
    The readers below take both.
    """

    values: dict[str, Any] = field(default_factory=dict)
    uploads: dict[str, Upload] = field(default_factory=dict)

    def text(self, name: str) -> str:
        """The argument as text; empty where it was not given."""
        value = self.values.get(name)
        return "" if value is None else str(value)

    def flag(self, name: str) -> bool:
        """The argument as a yes or no; no where it was not given."""
        return self.text(name).lower() in {"true", "1", "yes"}

    def integer(self, name: str, default: int = 0) -> int:
        """The argument as a whole number."""
        value = self.text(name).strip()
        if not value:
            return default
        try:
            # A client may write 10 s as 10.0; large ids come without a point and stay exact.
            return int(float(value)) if "." in value else int(value)
        except (ValueError, OverflowError):
            raise BadRequest(f"parameter {name} must be a number") from None

    def structure(self, name: str) -> Any:
        """The argument as a list or an object; ``None`` where it was not given."""
        value = self.values.get(name)
        if value is None or value == "":
            return None
        if not isinstance(value, str):
            return value
        try:
            return json.loads(value)
        except ValueError:
            raise BadRequest(f"can't parse {name.replace('_', ' ')} JSON object") from None

    def object(self, name: str) -> dict[str, Any]:
        """The argument as an object; empty where it was not given."""
        value = self.structure(name)
        if value is not None and not isinstance(value, dict):
            raise BadRequest(f"object expected as {name.replace('_', ' ')}")
        return value or {}

    def objects(self, name: str) -> list[dict[str, Any]]:
        """The argument as a list of objects; empty where it was not given."""
        value = self.structure(name)
        if value is not None and not (
            isinstance(value, list) and all(isinstance(item, dict) for item in value)
        ):
            raise BadRequest(f"array of objects expected as {name.replace('_', ' ')}")
        return value or []

    def names(self, name: str) -> list[str] | None:
        """The argument as a list of texts; ``None`` where it was not given."""
        value = self.structure(name)
        if value is not None and not (
            isinstance(value, list) and all(isinstance(item, str) for item in value)
        ):
            raise BadRequest(f"array of strings expected as {name.replace('_', ' ')}")
        return value

    def upload(self, name: str) -> Upload | None:
        """The file given for an argument: a part of that name, or the part that ``attach://`` names."""
        text = self.text(name)
        return self.uploads.get(text.removeprefix("attach://") if text.startswith("attach://") else name)


async def read_params(request: web.Request) -> Params:
    """Everything that a call says: its query first, its body over it."""
    params = Params(values=dict(request.query))
    if request.content_type == "application/json":
        body = await request.text()
        try:
            values = json.loads(body) if body.strip() else {}
        except ValueError:
            raise BadRequest("can't parse JSON object") from None
        if not isinstance(values, dict):
            raise BadRequest("can't parse JSON object")
        params.values.update(values)
    elif request.content_type == "multipart/form-data":
        await _read_parts(request, params)
    elif request.content_type == "application/x-www-form-urlencoded":
        params.values.update((await request.post()).items())
    return params


async def _read_parts(request: web.Request, params: Params) -> None:
    async for part in await request.multipart():
        if not isinstance(part, BodyPartReader) or part.name is None:
            continue
        if part.filename is None:
            params.values[part.name] = await part.text()
        else:
            kind = part.headers.get("Content-Type", "application/octet-stream")
            params.uploads[part.name] = Upload(part.filename, kind, bytes(await part.read(decode=True)))


def success(result: Any) -> web.Response:
    """The envelope of an answer that went well."""
    return web.json_response({"ok": True, "result": result})


def failure(refusal: Refusal) -> web.Response:
    """The envelope of a refusal; a 429 also says in a header how long to wait."""
    body: dict[str, Any] = {"ok": False, "error_code": refusal.status, "description": refusal.description}
    headers = {}
    if refusal.parameters:
        body["parameters"] = refusal.parameters
        if "retry_after" in refusal.parameters:
            headers["Retry-After"] = str(refusal.parameters["retry_after"])
    return web.json_response(body, status=refusal.status, headers=headers)
