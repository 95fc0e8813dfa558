"""A certificate for this computer's names, made once and kept, so that a phone asks only once."""

from __future__ import annotations

import hashlib
import ssl
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from pathlib import Path

from reader.web.state import write_whole

DAYS = 820  # browsers take no certificate that is valid for longer than 825 days (CA/B Forum, 2018)
RENEW = 30  # days before the end at which a new one is made


@dataclass(frozen=True)
class Kept:
    """Files of a certificate and its key, and what a phone shows of it."""

    certificate: Path
    key: Path
    fingerprint: str  # SHA-256, hex in pairs


def certificate(folder: Path, names: tuple[str, ...]) -> Kept:
    """The certificate for these names; the kept one as long as it holds for all of them.

    Raises:
        OSError: the folder can't be written.
    """
    folder.mkdir(mode=0o700, parents=True, exist_ok=True)
    cert, key, held = folder / "certificate.pem", folder / "key.pem", folder / "names"
    wanted = "\n".join(sorted(set(names)))
    if not (cert.exists() and key.exists() and held.exists() and _holds(cert, held, wanted)):
        import trustme

        made = trustme.CA().issue_cert(
            *sorted(set(names)), not_after=datetime.now(UTC) + timedelta(days=DAYS)
        )
        write_whole(key, made.private_key_pem.bytes())
        write_whole(cert, b"".join(blob.bytes() for blob in made.cert_chain_pems))
        write_whole(held, wanted.encode())
    return Kept(cert, key, fingerprint(cert))


def _holds(cert: Path, held: Path, wanted: str) -> bool:
    from cryptography import x509

    if held.read_text(encoding="utf-8") != wanted:
        return False
    end = x509.load_pem_x509_certificate(cert.read_bytes()).not_valid_after_utc
    return end > datetime.now(UTC) + timedelta(days=RENEW)


def fingerprint(cert: Path) -> str:
    """SHA-256 of the first certificate in the file, as browsers show it."""
    first = cert.read_text(encoding="ascii").partition("-----END CERTIFICATE-----")
    der = ssl.PEM_cert_to_DER_cert(first[0] + first[1])
    digest = hashlib.sha256(der).hexdigest().upper()
    return ":".join(digest[at : at + 2] for at in range(0, len(digest), 2))
