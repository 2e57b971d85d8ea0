"""Pseudonyms: the same name and key give the same code, and nobody without the key can go back."""

import hashlib
import os
import secrets
import unicodedata
from pathlib import Path
from typing import Literal

from audit.errors import WorkbookError

Whose = Literal["animal", "staff", "photo"]

KEY_BYTES = 32
_HEADER = "takehold key, version 1: keep it apart from the store, back it up, give it to nobody"


def pseudonym(key: bytes, kind: Whose, value: str) -> str:
    """
    Twelve hexadecimal digits for a value: keyed BLAKE2b, apart for animals, staff and photographs.

    Upper and lower case are one, as are kinds of space; leading zeros count.

    >>> pseudonym(bytes(32), "animal", "P-12") == pseudonym(bytes(32), "animal", "p-12 ")
    True
    """
    return hashlib.blake2b(
        same(value).encode(errors="surrogatepass"), key=key, person=kind.encode(), digest_size=6
    ).hexdigest()


def same(value: str) -> str:
    """The form in which two spellings of one number or code are equal."""
    return " ".join(unicodedata.normalize("NFKC", value).casefold().split())


def read_or_make_key(path: Path) -> bytes:
    """
    The 32 bytes of the key file; where there is none, a new one that only its owner can read.

    Raises WorkbookError when the file holds no key. It is never written over: without it old codes are lost.
    """
    if not path.exists():
        _make(path)
    try:
        lines = path.read_bytes().decode("utf-8", "replace").split("\n")
        if lines[0].strip() != _HEADER:
            raise ValueError
        key = bytes.fromhex(lines[1])
        if len(key) != KEY_BYTES:
            raise ValueError
    except OSError as error:
        raise WorkbookError(f"{path} cannot be read ({error.strerror}); only its owner may read it") from None
    except (ValueError, IndexError):
        raise WorkbookError(
            f"{path} holds no whole key; restore it from its back-up. A new key would give every animal a new code"
        ) from None
    return key


def _make(path: Path) -> None:
    try:
        descriptor = os.open(path, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600)
    except FileExistsError:
        return  # another process made it a moment ago; it is read next
    except OSError as error:
        raise WorkbookError(f"no key can be made at {path} ({error.strerror}); choose another folder") from None
    with os.fdopen(descriptor, "w", encoding="utf-8", newline="\n") as file:
        file.write(f"{_HEADER}\n{secrets.token_hex(KEY_BYTES)}\n")
