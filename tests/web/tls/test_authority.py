from __future__ import annotations

import stat

import pytest

pytest.importorskip("cryptography")
from datetime import UTC, datetime, timedelta

from cryptography import x509

from argentry.errors import BadInput
from argentry.web.tls import authority as tls
from argentry.web.tls.authority import certificates

NAMES = ("localhost", "127.0.0.1", "::1", "studio.test", "192.168.1.5")


def _read(path):
    return x509.load_pem_x509_certificate(path.read_bytes())


def test_files_only_their_owner_can_read(tmp_path):
    made = certificates(tmp_path, NAMES)
    folder = tmp_path / "tls"
    assert stat.S_IMODE(folder.stat().st_mode) == 0o700
    files = sorted(folder.iterdir())
    assert [f.name for f in files] == ["ca.crt", "ca.key", "server.crt", "server.key"]
    assert all(stat.S_IMODE(f.stat().st_mode) == 0o600 for f in files)
    assert made.made_authority


def test_a_second_start_makes_nothing_new(tmp_path):
    first = certificates(tmp_path, NAMES)
    before = {f.name: f.read_bytes() for f in (tmp_path / "tls").iterdir()}
    second = certificates(tmp_path, NAMES)
    assert {f.name: f.read_bytes() for f in (tmp_path / "tls").iterdir()} == before
    assert second.fingerprint == first.fingerprint
    assert not second.made_authority


def test_a_new_name_renews_the_server_but_not_the_authority(tmp_path):
    first = certificates(tmp_path, NAMES)
    before = first.server.read_bytes()
    second = certificates(tmp_path, (*NAMES, "bench.local"))
    assert second.fingerprint == first.fingerprint
    assert second.server.read_bytes() != before
    names = _read(second.server).extensions.get_extension_for_class(x509.SubjectAlternativeName)
    assert "bench.local" in names.value.get_values_for_type(x509.DNSName)


def test_a_certificate_near_its_end_is_renewed(tmp_path, monkeypatch):
    first = certificates(tmp_path, NAMES)
    before = first.server.read_bytes()

    class Later(datetime):
        @classmethod
        def now(cls, tz=None):
            return datetime.now(tz) + timedelta(days=tls.SERVER_DAYS - tls.RENEW_DAYS + 1)

    monkeypatch.setattr(tls, "datetime", Later)
    second = certificates(tmp_path, NAMES)
    assert second.server.read_bytes() != before
    assert not second.made_authority


def test_no_certificate_lives_longer_than_browsers_take(tmp_path):
    made = _read(certificates(tmp_path, NAMES).server)
    assert made.not_valid_after_utc - made.not_valid_before_utc <= timedelta(days=397)
    assert made.not_valid_before_utc < datetime.now(UTC)


def test_an_authority_that_was_not_made_for_a_name_says_so(tmp_path):
    certificates(tmp_path, NAMES)
    with pytest.raises(BadInput, match="not made to vouch for shop"):
        certificates(tmp_path, (*NAMES, "shop.example"))


def test_an_address_of_today_it_may_not_vouch_for_is_left_out(tmp_path):
    certificates(tmp_path, NAMES)
    made = certificates(tmp_path, NAMES, ("203.0.113.9", "10.1.2.3"))
    names = _read(made.server).extensions.get_extension_for_class(x509.SubjectAlternativeName)
    held = [str(a) for a in names.value.get_values_for_type(x509.IPAddress)]
    assert "10.1.2.3" in held
    assert "203.0.113.9" not in held


def test_a_damaged_key_is_told_in_one_sentence(tmp_path):
    made = certificates(tmp_path, NAMES)
    made.key.write_text("nothing")
    with pytest.raises(BadInput, match="damaged"):
        certificates(tmp_path, NAMES)


def test_a_key_of_another_certificate_is_told_in_one_sentence(tmp_path):
    made = certificates(tmp_path, NAMES)
    made.key.write_bytes((tmp_path / "tls" / "ca.key").read_bytes())
    with pytest.raises(BadInput, match="does not belong"):
        certificates(tmp_path, NAMES)


def test_the_authority_may_be_fetched_but_never_its_key(studio_dir, book, ask):
    from argentry.web.app import create_app
    from argentry.web.settings import Settings

    certificates(studio_dir, NAMES)
    settings = Settings(names=("studio.test",), tls=True)
    app = create_app(studio_dir, book, settings=settings)
    stranger = ask(app, "https://studio.test:8440", "192.168.1.8")
    answer = stranger.get("/ca.crt")
    assert answer.content == (studio_dir / "tls" / "ca.crt").read_bytes()
    for path in ("/ca.key", "/tls/ca.key", "/static/../tls/ca.key"):
        assert b"PRIVATE" not in stranger.get(path).content


def test_without_tls_there_is_no_authority_to_fetch(host):
    assert host.get("/ca.crt").status_code == 404
