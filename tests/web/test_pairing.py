from __future__ import annotations

import hashlib
from threading import Thread

import pytest

from argentry.web.guard import COOKIE
from argentry.web.limits import Refused
from argentry.web.pairing import CODE_SECONDS, CODE_TRIES, REST_SECONDS, Pairing


class Clock:
    now = 0.0

    def __call__(self):
        return self.now


@pytest.fixture
def clock():
    return Clock()


@pytest.fixture
def pairing(clock):
    made = iter(["12345678", "00000009", "55555555", "66666666"])
    return Pairing(clock=clock, make=lambda: next(made))


def test_a_code_is_shown_grouped_and_good_once(clock):
    shown = []
    pairing = Pairing(shown.append, clock, lambda: "01234567")
    assert pairing.new_code(by_host=True) == "0123 4567"
    assert shown == ["0123 4567"]
    pairing.redeem(" 0123-4567 ")
    with pytest.raises(Refused) as refusal:
        pairing.redeem("01234567")
    assert refusal.value.status == 410


def test_five_tries_and_the_code_is_void(pairing):
    pairing.new_code(by_host=True)
    for _ in range(CODE_TRIES):
        with pytest.raises(Refused) as refusal:
            pairing.redeem("00000000")
        assert refusal.value.status == 403
    with pytest.raises(Refused) as refusal:
        pairing.redeem("12345678")
    assert refusal.value.status == 410


def test_the_fifth_try_may_still_be_right(pairing):
    pairing.new_code(by_host=True)
    for _ in range(CODE_TRIES - 1):
        with pytest.raises(Refused):
            pairing.redeem("")
    pairing.redeem("12345678")


def test_ten_minutes_and_the_code_is_void(pairing, clock):
    pairing.new_code(by_host=True)
    clock.now = CODE_SECONDS
    with pytest.raises(Refused) as refusal:
        pairing.redeem("12345678")
    assert refusal.value.status == 410


def test_a_new_code_voids_the_one_before(pairing):
    pairing.new_code(by_host=True)
    pairing.new_code(by_host=True)
    with pytest.raises(Refused):
        pairing.redeem("12345678")
    pairing.redeem("00000009")


def test_a_device_cannot_fill_the_hosts_screen(pairing, clock):
    pairing.new_code(by_host=False)
    with pytest.raises(Refused) as refusal:
        pairing.new_code(by_host=False)
    assert refusal.value.status == 429
    pairing.new_code(by_host=True)
    clock.now = REST_SECONDS
    pairing.new_code(by_host=False)


def test_no_code_is_made_before_it_is_asked_for():
    with pytest.raises(Refused) as refusal:
        Pairing().redeem("")
    assert refusal.value.status == 410


def test_odd_letters_in_a_code_are_a_wrong_code(pairing):
    pairing.new_code(by_host=True)
    with pytest.raises(Refused) as refusal:
        pairing.redeem("１２３４５６７８")  # digits of another script
    assert refusal.value.status == 403


def test_two_that_come_at_once_do_not_both_get_in():
    for _ in range(50):
        pairing = Pairing(make=lambda: "12345678")
        pairing.new_code(by_host=True)
        got = []

        def use(pairing=pairing, got=got):
            try:
                pairing.redeem("12345678")
                got.append(True)
            except Refused:
                got.append(False)

        threads = [Thread(target=use) for _ in range(4)]
        for thread in threads:
            thread.start()
        for thread in threads:
            thread.join()
        assert got.count(True) == 1


def test_codes_are_eight_digits_and_differ():
    pairing = Pairing()
    codes = {pairing.new_code(by_host=True) for _ in range(50)}
    assert len(codes) == 50
    assert all(len(code) == 9 and code.replace(" ", "").isdigit() for code in codes)


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
