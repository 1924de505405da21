"""A vault as versions kept it before a reference had one canonical form: indexed as typed."""

import hmac
import secrets
from hashlib import sha256

from cryptography.hazmat.primitives.ciphers.aead import AESGCM

from equip.references import normal_reference
from equip.store.database import Store
from equip.store.kept.keys import Keys


def kept_as_before(store: Store, keys: Keys, reference: str) -> str:
    """Keep a patient as those versions did; their token."""
    spelt = normal_reference(reference).encode()
    token, nonce = f"t{secrets.token_hex(6)}", secrets.token_bytes(12)
    sealed = nonce + AESGCM(keys.vault).encrypt(nonce, spelt, token.encode())
    lookup = hmac.digest(keys.index, b"patient\n" + spelt, sha256)
    store.run("INSERT INTO vault (token, lookup, sealed) VALUES (?, ?, ?)", token, lookup, sealed)
    return token
