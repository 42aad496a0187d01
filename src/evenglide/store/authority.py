"""A certificate authority of this laptop's own, so that a phone can trust its page over https.

It stands in the user's folder for settings, not in a study: a study is passed on, a key is not. It can vouch
only for names that end in ``.local`` and for addresses that lead nowhere outside a private network, so that
a phone that trusts it can be told nothing about any other site.
"""

from __future__ import annotations

import datetime
import ipaddress
import os
import sys
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

from evenglide.errors import EvenglideError, Problem
from evenglide.store.pages import write_bytes

if TYPE_CHECKING:
    from cryptography import x509
    from cryptography.hazmat.primitives.asymmetric import ec

SETTINGS_FOLDER = "EVENGLIDE_SETTINGS"
"""Environment variable that names another folder for settings."""
CERTIFICATE, KEY = "authority.crt", "authority-key.pem"
AUTHORITY_DAYS = 3650
SERVER_DAYS = 90
"""Made anew at every start; browsers refuse what is valid for longer than 398 days."""
PRIVATE = (
    *("127.0.0.0/8", "10.0.0.0/8", "172.16.0.0/12", "192.168.0.0/16", "169.254.0.0/16"),
    *("::1/128", "fc00::/7", "fe80::/10"),
)
"""This machine and private networks (RFC 1918, RFC 3927, RFC 4193, RFC 4291)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Authority:
    """The authority as phones meet it.

    Parameters
    ----------
    certificate : str
        In PEM; not secret.
    fingerprint : str
        SHA-256 of the certificate, in pairs of hexadecimal digits.
    folder : str
        Where it stands.
    """

    certificate: str
    fingerprint: str
    folder: str


def settings_folder() -> Path:
    """Folder for what belongs to this user and to no study."""
    named = os.environ.get(SETTINGS_FOLDER)
    if named:
        return Path(named)
    if sys.platform == "win32":
        return Path(os.environ.get("APPDATA", Path.home())) / "evenglide"
    if sys.platform == "darwin":
        return Path.home() / "Library" / "Application Support" / "evenglide"
    return Path(os.environ.get("XDG_CONFIG_HOME") or Path.home() / ".config") / "evenglide"


def authority() -> Authority:
    """Return the authority of this laptop, made when it is asked for first.

    Raises
    ------
    EvenglideError
        ``no-cryptography``, ``bad-authority``, or ``not-written``.
    """
    certificate, _ = _authority()
    return _told(certificate)


def server_certificate(names: Sequence[str], *, port: int) -> tuple[str, str]:
    """Make a key and a certificate for a server under its names.

    Parameters
    ----------
    names : sequence of str
        Host names and addresses; those for which the authority cannot vouch are passed over.
    port : int
        Of the server, for the names of the files.

    Returns
    -------
    key, chain : str
        Paths.

    Raises
    ------
    EvenglideError
        As `authority`.
    """
    issuer, issuer_key = _authority()
    key = _new_key()
    certificate = _server(issuer, issuer_key, key=key, names=[one for one in names if vouched(one)])
    folder = settings_folder()
    paths = str(folder / f"server-{port}-key.pem"), str(folder / f"server-{port}.pem")
    write_bytes(paths[0], _key_text(key), private=True)
    write_bytes(paths[1], _pem(certificate) + _pem(issuer))
    return paths


def vouched(name: str) -> bool:
    """Whether the authority can vouch for a host name or address.

    Examples
    --------
    >>> [vouched(name) for name in ("ada.local", "192.168.1.7", "example.org", "93.184.216.34")]
    [True, True, False, False]
    """
    try:
        address = ipaddress.ip_address(name)
    except ValueError:
        return name == "localhost" or name.endswith(".local")
    return any(address in ipaddress.ip_network(one) for one in PRIVATE)


def _authority() -> tuple[x509.Certificate, ec.EllipticCurvePrivateKey]:
    """Read certificate and key; make both where there are none, or where their time is over."""
    _check_library()
    from cryptography import x509
    from cryptography.hazmat.primitives.asymmetric import ec
    from cryptography.hazmat.primitives.serialization import load_pem_private_key

    folder = settings_folder()
    try:
        if not (folder / KEY).exists():
            return _made(folder)
        certificate = x509.load_pem_x509_certificate((folder / CERTIFICATE).read_bytes())
        key = load_pem_private_key((folder / KEY).read_bytes(), None)
        if not isinstance(key, ec.EllipticCurvePrivateKey) or certificate.public_key() != key.public_key():
            raise ValueError("the key is not that of the certificate")
    except (OSError, ValueError, TypeError) as error:
        raise EvenglideError([_bad(folder, error)]) from error
    ends = certificate.not_valid_after_utc - datetime.timedelta(days=SERVER_DAYS)
    return _made(folder) if ends < _now() else (certificate, key)


def _made(folder: Path) -> tuple[x509.Certificate, ec.EllipticCurvePrivateKey]:
    folder.mkdir(parents=True, exist_ok=True, mode=0o700)
    key = _new_key()
    certificate = _self_signed(key)
    write_bytes(str(folder / CERTIFICATE), _pem(certificate))
    write_bytes(str(folder / KEY), _key_text(key), private=True)
    return certificate, key


def _self_signed(key: ec.EllipticCurvePrivateKey) -> x509.Certificate:
    from cryptography import x509
    from cryptography.hazmat.primitives import hashes

    name = _name(f"evenglide on one laptop, {_now():%Y-%m-%d}")
    networks = [ipaddress.ip_network(one) for one in PRIVATE]
    permitted: list[x509.GeneralName] = [x509.DNSName("localhost"), x509.DNSName("local")]
    permitted += [x509.IPAddress(one) for one in networks]
    signs_only = _usage(signs_certificates=True)
    return (
        _begun(name, name, key=key, days=AUTHORITY_DAYS)
        .add_extension(x509.BasicConstraints(ca=True, path_length=0), critical=True)
        .add_extension(signs_only, critical=True)
        .add_extension(x509.NameConstraints(permitted, None), critical=True)
        .add_extension(x509.SubjectKeyIdentifier.from_public_key(key.public_key()), critical=False)
        .sign(key, hashes.SHA256())
    )


def _server(
    issuer: x509.Certificate,
    issuer_key: ec.EllipticCurvePrivateKey,
    *,
    key: ec.EllipticCurvePrivateKey,
    names: Sequence[str],
) -> x509.Certificate:
    from cryptography import x509
    from cryptography.hazmat.primitives import hashes
    from cryptography.x509.oid import ExtendedKeyUsageOID

    told = x509.SubjectAlternativeName([_general(one) for one in names])
    above = x509.AuthorityKeyIdentifier.from_issuer_public_key(issuer_key.public_key())
    return (
        _begun(_name("evenglide"), issuer.subject, key=key, days=SERVER_DAYS)
        .add_extension(x509.BasicConstraints(ca=False, path_length=None), critical=True)
        .add_extension(_usage(signs_certificates=False), critical=True)
        .add_extension(x509.ExtendedKeyUsage([ExtendedKeyUsageOID.SERVER_AUTH]), critical=False)
        .add_extension(told, critical=False)
        .add_extension(above, critical=False)
        .sign(issuer_key, hashes.SHA256())
    )


def _begun(
    subject: x509.Name, issuer: x509.Name, *, key: ec.EllipticCurvePrivateKey, days: int
) -> x509.CertificateBuilder:
    from cryptography import x509

    # A day earlier: the clock of a phone may go slow.
    first = _now() - datetime.timedelta(days=1)
    return (
        x509.CertificateBuilder()
        .subject_name(subject)
        .issuer_name(issuer)
        .public_key(key.public_key())
        .serial_number(x509.random_serial_number())
        .not_valid_before(first)
        .not_valid_after(first + datetime.timedelta(days=days))
    )


def _usage(*, signs_certificates: bool) -> x509.KeyUsage:
    from cryptography import x509

    return x509.KeyUsage(
        digital_signature=not signs_certificates,
        key_cert_sign=signs_certificates,
        crl_sign=signs_certificates,
        content_commitment=False,
        key_encipherment=False,
        data_encipherment=False,
        key_agreement=False,
        encipher_only=False,
        decipher_only=False,
    )


def _name(text: str) -> x509.Name:
    from cryptography import x509
    from cryptography.x509.oid import NameOID

    return x509.Name([x509.NameAttribute(NameOID.COMMON_NAME, text)])


def _general(name: str) -> x509.GeneralName:
    from cryptography import x509

    try:
        return x509.IPAddress(ipaddress.ip_address(name))
    except ValueError:
        return x509.DNSName(name)


def _new_key() -> ec.EllipticCurvePrivateKey:
    from cryptography.hazmat.primitives.asymmetric import ec

    return ec.generate_private_key(ec.SECP256R1())


def _key_text(key: ec.EllipticCurvePrivateKey) -> bytes:
    from cryptography.hazmat.primitives.serialization import Encoding, NoEncryption, PrivateFormat

    return key.private_bytes(Encoding.PEM, PrivateFormat.PKCS8, NoEncryption())


def _pem(certificate: x509.Certificate) -> bytes:
    from cryptography.hazmat.primitives.serialization import Encoding

    return certificate.public_bytes(Encoding.PEM)


def _told(certificate: x509.Certificate) -> Authority:
    from cryptography.hazmat.primitives import hashes

    return Authority(
        certificate=_pem(certificate).decode("ascii"),
        fingerprint=certificate.fingerprint(hashes.SHA256()).hex(":").upper(),
        folder=str(settings_folder()),
    )


def _now() -> datetime.datetime:
    return datetime.datetime.now(datetime.UTC)


def _check_library() -> None:
    try:
        import cryptography as _library  # noqa: F401
    except ImportError as error:
        raise EvenglideError([_no_library(error)]) from error


def _no_library(error: Any) -> Problem:
    return Problem(
        code="no-cryptography",
        where="--https",
        found=f"no library that makes certificates ({error})",
        expected="the package cryptography",
        remedy="Install it where there is a build for this machine, serve without --https, or take the page "
        "outside as a file: evenglide sheet.",
    )


def _bad(folder: Path, error: Exception) -> Problem:
    return Problem(
        code="bad-authority",
        where=str(folder),
        found=f"an authority that cannot be used ({error})",
        expected=f"{CERTIFICATE} and {KEY} as they were made",
        remedy="Move both away: new ones are made, and every phone has to install the new certificate.",
    )
