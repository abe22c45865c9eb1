"""Files in and out: text in, each failure a sentence; text out, whole or not at all."""

from __future__ import annotations

import json
import os
import re
import tomllib
from pathlib import Path
from tempfile import NamedTemporaryFile
from typing import Any

from scheduler.errors import InputError, OutputError, Problem

_TOML_PLACE = re.compile(r"^(?P<what>.*?) \(at (?P<place>line (?P<line>\d+), column \d+|end of document)\)$", re.DOTALL)
_TIME_WITHOUT_SECONDS = re.compile(r"\b\d{1,2}:\d{2}(?!:?\d)")


def refuse(file: str, what: str, mend: str) -> InputError:
    """An input error about a file as a whole."""
    return InputError([Problem(file, "", "", what, mend)])


def read_text(path: Path) -> str:
    """The text of a file; InputError if it is missing, unreadable or not UTF-8."""
    try:
        return read_bytes(path).decode("utf-8-sig")
    except UnicodeDecodeError:
        raise refuse(path.name, "the file is not UTF-8 text", "save it again as UTF-8") from None


def read_bytes(path: Path) -> bytes:
    """What stands in a file; InputError if it is missing or unreadable."""
    try:
        return path.read_bytes()
    except FileNotFoundError:
        raise refuse(path.name, "the file is missing", f"add it to {path.parent}") from None
    except OSError as error:
        what = f"the file cannot be read ({error.strerror or error})"
        raise refuse(path.name, what, "check the path and its permissions") from error


def read_toml(path: Path) -> dict[str, Any]:
    """The tables of a TOML file; InputError with the line of a syntax mistake."""
    text = read_text(path)
    try:
        return tomllib.loads(text)
    except (ValueError, RecursionError) as error:  # a number of a million digits is a plain ValueError
        raise _toml_mistake(path.name, text, str(error)) from None


def _toml_mistake(file: str, text: str, message: str) -> InputError:
    found = _TOML_PLACE.match(message)
    if found is None:
        return refuse(file, f"is not valid TOML: {message[:1].lower()}{message[1:]}", "correct it")
    what = found["what"][:1].lower() + found["what"][1:]
    mend = "correct that line"
    if found["line"]:
        line = text.splitlines()[int(found["line"]) - 1]
        if _TIME_WITHOUT_SECONDS.search(line):
            mend = "write a time without quotes and with seconds, such as 22:00:00"
    return refuse(file, f"is not valid TOML at {found['place']}: {what}", mend)


def read_json(path: Path) -> dict[str, Any]:
    """The object in a JSON file; InputError with the line of a syntax mistake."""
    text = read_text(path)
    try:
        data = json.loads(text)
    except (ValueError, RecursionError) as error:
        place = f" at line {error.lineno}" if isinstance(error, json.JSONDecodeError) else ""
        raise refuse(path.name, f"is not valid JSON{place}", "use the file as it was written") from None
    if not isinstance(data, dict):
        raise refuse(path.name, "does not hold one JSON object", "use the file as it was written")
    return data


def write_text(path: Path, text: str) -> None:
    """Write a whole file under another name, then rename it: a reader never meets half a file.

    OutputError if it cannot be written; what stood there before still stands.
    """
    part: str | None = None
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        with NamedTemporaryFile("w", encoding="utf-8", newline="\n", dir=path.parent, delete=False) as file:
            part = file.name
            file.write(text)
            file.flush()
            os.fsync(file.fileno())
        os.chmod(part, 0o644)
        os.replace(part, path)
    except OSError as error:
        if part is not None:
            Path(part).unlink(missing_ok=True)
        raise OutputError(f"{path} cannot be written: {error.strerror or error}") from error


def publish(ready: Path, out: Path) -> list[Path]:
    """Move finished files from a folder to another on the same disk, one rename each; the new paths in order of name.

    OutputError if one cannot be moved.
    """
    moved = []
    try:
        out.mkdir(parents=True, exist_ok=True)
        for file in sorted(ready.iterdir()):
            os.replace(file, out / file.name)
            moved.append(out / file.name)
    except OSError as error:
        raise OutputError(f"{out} cannot be written: {error.strerror or error}") from error
    return moved
