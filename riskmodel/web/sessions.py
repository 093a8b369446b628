"""Who may use the app: whoever holds a start link from the terminal, once, and the browser that exchanged it."""

from collections import OrderedDict
from hashlib import sha256
from hmac import compare_digest
from secrets import token_urlsafe

BYTES = 32
# Browsers that may be signed in at once; the one that signed in first is forgotten for a further one.
MOST_SESSIONS = 128


class Sessions:
    """One start token, good once, and the secrets that earlier ones were exchanged for; held in memory only."""

    def __init__(self) -> None:
        self._token = token_urlsafe(BYTES)
        self._known: OrderedDict[bytes, None] = OrderedDict()

    @property
    def token(self) -> str:
        """The start token that has not been used yet."""
        return self._token

    def exchange(self, token: str) -> str | None:
        """A new session's secret for the start token, which is used up; None for any other text."""
        if not compare_digest(_digest(token), _digest(self._token)):
            return None
        self._token, secret = token_urlsafe(BYTES), token_urlsafe(BYTES)
        self._known[_digest(secret)] = None
        while len(self._known) > MOST_SESSIONS:
            self._known.popitem(last=False)
        return secret

    def knows(self, secret: str) -> bool:
        """Whether a session has this secret; digests are looked up, so timing tells nothing about a secret."""
        return _digest(secret) in self._known


def _digest(text: str) -> bytes:
    return sha256(text.encode("utf-8", "surrogatepass")).digest()
