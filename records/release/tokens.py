"""The token of a passport: what stands in its address, made so that nobody can guess or count on to another one."""

from __future__ import annotations

import secrets

# Figures and capitals without I, L, O and U: they are not mistaken for each other when somebody types them, and a QR
# code holds capitals more closely than small letters.
SIGNS = "0123456789ABCDEFGHJKMNPQRSTVWXYZ"
# 26 signs of 5 bits: 130 bits. A secret that is tried out without end has 128 at least (common practice, no source).
LENGTH = 26
_TAKEN_FOR = str.maketrans("ILOU", "110V")


def new_token() -> str:
    """A token that was never given out before, by the system's own source of chance."""
    return "".join(secrets.choice(SIGNS) for _ in range(LENGTH))


def read_token(typed: str) -> str:
    """A token as it was made, from one that may have been typed; empty for what is none.

    Examples
    --------
    >>> read_token("7k2m7k2m7k2m7k2m7k2m7k2m7o")
    '7K2M7K2M7K2M7K2M7K2M7K2M70'
    >>> read_token("7K2M")
    ''
    """
    token = typed.upper().translate(_TAKEN_FOR)
    return token if len(token) == LENGTH and set(token) <= set(SIGNS) else ""
