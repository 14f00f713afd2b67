"""The studio's certificates, judged by OpenSSL's own verifier (`openssl verify`, RFC 5280 rules).

Source: OpenSSL command line of the system; name constraints are RFC 5280, section 4.2.1.10.
"""

from __future__ import annotations

import shutil
import subprocess

import pytest

pytest.importorskip("cryptography")

from argentry.web.tls import authority as tls

OPENSSL = shutil.which("openssl")
pytestmark = pytest.mark.skipif(OPENSSL is None, reason="NO OPENSSL: install the package openssl")
SERVER = ("-purpose", "sslserver")
NAMES = ("localhost", "127.0.0.1", "studio.test", "192.168.1.5")


def _verify(authority, server, *more):
    run = subprocess.run(
        [OPENSSL, "verify", "-x509_strict", *SERVER, "-CAfile", authority, *more, server],
        capture_output=True,
        text=True,
        check=False,
    )  # fmt: skip
    return run.returncode == 0, run.stdout + run.stderr


@pytest.mark.parametrize("name", ["localhost", "studio.test"])
def test_openssl_trusts_the_server_by_its_names(tmp_path, name):
    made = tls.certificates(tmp_path, NAMES)
    good, words = _verify(made.authority, made.server, "-verify_hostname", name)
    assert good, words


@pytest.mark.parametrize("address", ["127.0.0.1", "192.168.1.5"])
def test_openssl_trusts_the_server_by_its_addresses(tmp_path, address):
    made = tls.certificates(tmp_path, NAMES)
    good, words = _verify(made.authority, made.server, "-verify_ip", address)
    assert good, words


def test_openssl_does_not_trust_it_by_another_name(tmp_path):
    made = tls.certificates(tmp_path, NAMES)
    assert not _verify(made.authority, made.server, "-verify_hostname", "other.test")[0]


@pytest.mark.parametrize("foreign", ["bank.example", "203.0.113.9"])
def test_openssl_refuses_what_the_authority_has_no_say_over(tmp_path, foreign):
    """A stolen authority key signs for a site outside: the name constraints must void it."""
    made = tls.certificates(tmp_path, NAMES)
    folder = tmp_path / "tls"
    authority, key = tls._read_pair(folder, "ca")
    (folder / "server.crt").unlink()
    (folder / "server.key").unlink()
    tls._server(folder, (foreign,), authority, key)
    good, words = _verify(made.authority, made.server)
    assert not good
    assert "permitted subtree violation" in words


def test_another_studios_authority_is_not_trusted(tmp_path):
    (tmp_path / "a").mkdir()
    (tmp_path / "b").mkdir()
    one, other = (tls.certificates(tmp_path / folder, NAMES) for folder in "ab")
    assert not _verify(other.authority, one.server)[0]
