"""The pages that pair a device and revoke it."""

from __future__ import annotations

import hashlib

from argentry.web.guard import COOKIE
from argentry.web.pairing import CODE_TRIES


def test_a_tablet_is_let_in_with_the_code_and_only_a_hash_is_kept(
    stranger, tablet, host, studio_dir
):
    assert stranger.get("/").headers["location"] == "/pair"
    assert tablet.get("/").status_code == 200
    token = tablet.cookies[COOKIE]
    kept = (studio_dir / "book.sqlite").read_bytes()
    assert token.encode() not in kept
    assert hashlib.sha256(token.encode()).hexdigest().encode() in kept
    [row] = host.get("/api/devices").json()["devices"]
    assert (row["name"], row["scope"], row["revoked"]) == ("tablet one", "bench", None)
    assert token not in host.get("/api/devices").text


def test_the_cookie_is_out_of_reach_of_scripts_and_other_sites(stranger, app, codes, ask):
    stranger.form("/pair/code")
    answer = stranger.form("/pair", code=codes[-1], name="t")
    flags = answer.headers["set-cookie"].lower()
    assert "httponly" in flags
    assert "samesite=strict" in flags
    assert "secure" not in flags
    secure = ask(app, "https://studio.test:8440", "192.168.1.8")
    host = ask(app)
    host.form("/pair/code")
    answer = secure.form("/pair", code=codes[-1], name="t2")
    assert "secure" in answer.headers["set-cookie"].lower()


def test_a_wrong_code_lets_nobody_in_and_says_so_on_the_page(stranger, codes):
    stranger.form("/pair/code")
    wrong = "0000 0000" if codes[-1] != "0000 0000" else "1111 1111"
    answer = stranger.form("/pair", code=wrong, name="t")
    assert answer.status_code == 403
    assert "4 tries are left" in answer.text
    assert "set-cookie" not in answer.headers


def test_wrong_codes_are_counted_by_address_on_the_hosts_page(stranger, host, codes):
    assert "Wrong codes" not in host.get("/devices").text
    stranger.form("/pair/code")
    for _ in range(CODE_TRIES):
        assert stranger.form("/pair", code="0000 0000", name="t").status_code == 403
    again = stranger.form("/pair/code")
    assert again.status_code == 429
    assert "5 from 192.168.1.77" in host.get("/devices").text


def test_a_device_without_a_name_costs_no_try(stranger, codes):
    stranger.form("/pair/code")
    assert stranger.form("/pair", code=codes[-1], name=" ").status_code == 422
    assert stranger.form("/pair", code=codes[-1], name="t").status_code == 303


def test_a_device_that_is_shut_out_is_out_at_once(host, tablet):
    [row] = host.get("/api/devices").json()["devices"]
    assert tablet.get("/api/runs").status_code == 200
    assert host("DELETE", f"/api/devices/{row['id']}").status_code == 204
    assert tablet.get("/api/runs").status_code == 401
    assert host("DELETE", f"/api/devices/{row['id']}").status_code == 404
    assert host.get("/api/devices").json()["devices"][0]["revoked"]


def test_the_hosts_page_shows_the_code_and_shuts_devices_out(host, tablet, codes):
    page = host.form("/pair/code")
    assert codes[-1] in page.text
    assert "tablet one" in page.text
    [row] = host.get("/api/devices").json()["devices"]
    assert host.form("/devices/revoke", device=row["id"]).status_code == 303
    assert "revoked" in host.get("/devices").text
    assert tablet.get("/plates").headers["location"] == "/pair"


def test_a_device_never_sees_the_code_it_asks_for(stranger, codes):
    assert codes == []
    page = stranger.form("/pair/code")
    assert len(codes) == 1
    assert codes[0] not in page.text
    assert codes[0].replace(" ", "") not in page.text
