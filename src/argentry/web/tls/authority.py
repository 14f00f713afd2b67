"""The studio's own certificate authority, and the certificate of its server.

The authority is bound by name constraints (RFC 5280, 4.2.1.10) to names and addresses of local
networks and to those the studio's machine had when it was made: who installs it on a tablet need
not fear that it could ever vouch for another site.
"""

from __future__ import annotations

import ipaddress
import os
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from typing import TYPE_CHECKING

from argentry.errors import BadInput
from argentry.files import refused_by_disk
from argentry.web.tls.names import (
    LOCAL_NAMES,
    LOCAL_NETWORKS,
    common_name,
    general_name,
    is_address,
    is_local,
    key_usage,
    permitted_of,
)

if TYPE_CHECKING:
    from pathlib import Path

    from cryptography import x509
    from cryptography.hazmat.primitives.asymmetric.ec import EllipticCurvePrivateKey


FOLDER = "tls"
AUTHORITY_YEARS = 10
SERVER_DAYS = 397  # browsers refuse longer ones; common practice
RENEW_DAYS = 30


@dataclass(frozen=True)
class Certificates:
    """Files that a server needs, and what a maker compares on the tablet.

    Attributes
    ----------
    authority : Path
        The authority's certificate, to be installed on each tablet.
    server, key : Path
        The server's certificate and its private key.
    fingerprint : str
        SHA-256 of the authority's certificate, in pairs of hexadecimal digits.
    made_authority : bool
        True when the authority is new and must be installed on every tablet.
    """

    authority: Path
    server: Path
    key: Path
    fingerprint: str
    made_authority: bool


def certificates(
    studio_dir: Path, names: tuple[str, ...], also: tuple[str, ...] = ()
) -> Certificates:
    """Return the certificates kept in a studio's folder, made or renewed when need be.

    Parameters
    ----------
    studio_dir : Path
        The studio folder.
    names : tuple of str
        Names and addresses the server must be called by.
    also : tuple of str
        Those the machine has today: left out where the authority was not made for them.

    Returns
    -------
    Certificates
        Files of mode 600 in ``tls`` within the folder.

    Raises
    ------
    BadInput
        If the cryptography library is missing, the folder cannot be written, a file in it is
        damaged, or the authority there was not made for one of `names`.
    """
    try:
        import cryptography  # noqa: F401
    except ImportError:
        raise BadInput(
            "--tls", "the cryptography library is missing", "install argentry with its extra tls"
        ) from None
    folder = studio_dir / FOLDER
    with refused_by_disk(folder, "make the folder writable"):
        folder.mkdir(mode=0o700, exist_ok=True)
        authority, key, made = _authority(folder, names, also)
        may = permitted_of(authority)
        _server(folder, (*names, *(one for one in also if is_local(one, *may))), authority, key)
    return Certificates(
        folder / "ca.crt", folder / "server.crt", folder / "server.key", _print(authority), made
    )


def _print(certificate: x509.Certificate) -> str:
    from cryptography.hazmat.primitives import hashes

    return certificate.fingerprint(hashes.SHA256()).hex(":").upper()


def _write(path: Path, data: bytes) -> None:
    """Write a file only its owner can read; never readable by others even for a moment."""
    part = path.with_name(path.name + ".part")
    part.unlink(missing_ok=True)
    with os.fdopen(os.open(part, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600), "wb") as file:
        file.write(data)
        file.flush()
        os.fsync(file.fileno())
    part.replace(path)


def _write_pair(
    folder: Path, stem: str, made: x509.Certificate, key: EllipticCurvePrivateKey
) -> None:
    from cryptography.hazmat.primitives import serialization

    _write(
        folder / f"{stem}.key",
        key.private_bytes(
            serialization.Encoding.PEM,
            serialization.PrivateFormat.PKCS8,
            serialization.NoEncryption(),
        ),
    )
    _write(folder / f"{stem}.crt", made.public_bytes(serialization.Encoding.PEM))


def _read_pair(folder: Path, stem: str) -> tuple[x509.Certificate, EllipticCurvePrivateKey] | None:
    from cryptography import x509
    from cryptography.hazmat.primitives import serialization
    from cryptography.hazmat.primitives.asymmetric import ec

    certificate_file, key_file = folder / f"{stem}.crt", folder / f"{stem}.key"
    if not (certificate_file.exists() and key_file.exists()):
        return None
    try:
        certificate = x509.load_pem_x509_certificate(certificate_file.read_bytes())
        key = serialization.load_pem_private_key(key_file.read_bytes(), password=None)
    except (ValueError, TypeError):
        raise BadInput(
            str(certificate_file),
            "it or its key is damaged",
            "remove the folder it is in; new certificates are made at the next start",
        ) from None
    if (
        not isinstance(key, ec.EllipticCurvePrivateKey)
        or key.public_key() != certificate.public_key()
    ):
        raise BadInput(
            str(key_file),
            "it does not belong to the certificate next to it",
            "remove the folder it is in; new certificates are made at the next start",
        )
    return certificate, key


def _authority(
    folder: Path, names: tuple[str, ...], also: tuple[str, ...]
) -> tuple[x509.Certificate, EllipticCurvePrivateKey, bool]:
    now = datetime.now(UTC)
    found = _read_pair(folder, "ca")
    if found is not None:
        for name in names:
            if not is_local(name, *permitted_of(found[0])):
                raise BadInput(
                    "--name",
                    "the studio's authority was not made to vouch for {name}",
                    "remove the folder tls in the studio and install the new ca.crt on each tablet",
                    name=name,
                )
        if found[0].not_valid_after_utc - now > timedelta(days=SERVER_DAYS):
            return (*found, False)
    return (*_new_authority(folder, (*names, *also), now), True)


def _new_authority(
    folder: Path, names: tuple[str, ...], now: datetime
) -> tuple[x509.Certificate, EllipticCurvePrivateKey]:
    from cryptography import x509
    from cryptography.hazmat.primitives import hashes
    from cryptography.hazmat.primitives.asymmetric import ec

    own = [general_name(name) for name in dict.fromkeys(names)]
    local = [x509.DNSName(name) for name in LOCAL_NAMES]
    permitted = [*local, *(one for one in own if one not in local and not is_address(one))]
    networks = [ipaddress.ip_network(network) for network in LOCAL_NETWORKS]
    networks += [
        ipaddress.ip_network(one.value)
        for one in own
        if is_address(one) and not any(one.value in network for network in networks)
    ]
    permitted += [x509.IPAddress(network) for network in networks]
    key = ec.generate_private_key(ec.SECP256R1())
    subject = common_name("argentry studio authority {now:%Y-%m-%d}".format(now=now))
    made = (
        x509.CertificateBuilder()
        .subject_name(subject)
        .issuer_name(subject)
        .public_key(key.public_key())
        .serial_number(x509.random_serial_number())
        .not_valid_before(now - timedelta(days=1))
        .not_valid_after(now + timedelta(days=365 * AUTHORITY_YEARS))
        .add_extension(x509.BasicConstraints(ca=True, path_length=0), critical=True)
        .add_extension(key_usage(authority=True), critical=True)
        .add_extension(
            x509.NameConstraints(permitted_subtrees=permitted, excluded_subtrees=None),
            critical=True,
        )
        .add_extension(x509.SubjectKeyIdentifier.from_public_key(key.public_key()), critical=False)
        .sign(key, hashes.SHA256())
    )
    for stale in ("server.crt", "server.key"):
        (folder / stale).unlink(missing_ok=True)
    _write_pair(folder, "ca", made, key)
    return made, key


def _server(
    folder: Path,
    names: tuple[str, ...],
    authority: x509.Certificate,
    authority_key: EllipticCurvePrivateKey,
) -> None:
    """Make the server's certificate unless the one there is good for these names."""
    from cryptography import x509
    from cryptography.hazmat.primitives import hashes
    from cryptography.hazmat.primitives.asymmetric import ec
    from cryptography.x509.oid import ExtendedKeyUsageOID

    now = datetime.now(UTC)
    wanted = [general_name(name) for name in dict.fromkeys(name.strip("[]") for name in names)]
    found = _read_pair(folder, "server")
    if found is not None:
        there = found[0].extensions.get_extension_for_class(x509.SubjectAlternativeName).value
        lasts = found[0].not_valid_after_utc - now > timedelta(days=RENEW_DAYS)
        if lasts and found[0].issuer == authority.subject and set(wanted) <= set(there):
            return
    key = ec.generate_private_key(ec.SECP256R1())
    made = (
        x509.CertificateBuilder()
        .subject_name(common_name("argentry studio server"))
        .issuer_name(authority.subject)
        .public_key(key.public_key())
        .serial_number(x509.random_serial_number())
        .not_valid_before(now - timedelta(days=1))
        .not_valid_after(now + timedelta(days=SERVER_DAYS - 1))
        .add_extension(x509.SubjectAlternativeName(wanted), critical=False)
        .add_extension(x509.BasicConstraints(ca=False, path_length=None), critical=True)
        .add_extension(key_usage(authority=False), critical=True)
        .add_extension(x509.ExtendedKeyUsage([ExtendedKeyUsageOID.SERVER_AUTH]), critical=False)
        .add_extension(x509.SubjectKeyIdentifier.from_public_key(key.public_key()), critical=False)
        .add_extension(
            x509.AuthorityKeyIdentifier.from_issuer_public_key(authority_key.public_key()),
            critical=False,
        )
        .sign(authority_key, hashes.SHA256())
    )
    _write_pair(folder, "server", made, key)
