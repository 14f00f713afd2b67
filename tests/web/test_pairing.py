from __future__ import annotations

import contextlib
import math
from pathlib import Path
from threading import Thread

import pytest

from argentry.web.limits import Refused
from argentry.web.pairing import (
    ADDRESS_TRIES,
    CODE_DIGITS,
    CODE_SECONDS,
    CODE_TRIES,
    DAY_SECONDS,
    DAY_TRIES,
    REST_SECONDS,
    Pairing,
    origin_of,
)

SECURITY = Path(__file__).parents[2] / "docs/security.md"


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


def test_the_wait_for_a_new_code_stands_after_the_last_one_was_tried_out(pairing, clock):
    pairing.new_code(by_host=False)
    for _ in range(CODE_TRIES):
        with pytest.raises(Refused):
            pairing.redeem("00000000")
    with pytest.raises(Refused) as refusal:
        pairing.new_code(by_host=False)
    assert refusal.value.status == 429
    clock.now = REST_SECONDS
    pairing.new_code(by_host=False)


def test_a_device_that_asks_has_the_code_that_is_good_shown_again(clock):
    shown = []
    made = iter(["12345678", "00000009"])
    pairing = Pairing(shown.append, clock, lambda: next(made))
    pairing.new_code(by_host=True)
    with pytest.raises(Refused):
        pairing.redeem("11111111")
    clock.now = REST_SECONDS
    pairing.new_code(by_host=False)
    assert shown == ["1234 5678", "1234 5678"]
    for _ in range(CODE_TRIES - 2):
        with pytest.raises(Refused):
            pairing.redeem("11111111")  # showing it again gives no tries back
    pairing.redeem("12345678")


def guess(pairing, clock, seconds, address):
    """Ask for codes and try them as soon as a second has passed; return codes compared."""
    compared, end = 0, clock.now + seconds
    while clock.now < end:
        try:
            pairing.redeem("00000000", address(compared))
        except Refused as refusal:
            compared += refusal.status == 403
            if refusal.status != 403:
                clock.now += 1.0
                with contextlib.suppress(Refused):
                    pairing.new_code(by_host=False, address=address(compared))
    return compared


def guessed():
    return Pairing(clock=Clock(), make=lambda: "12345678")


@pytest.mark.parametrize(
    ("address", "most"),
    [
        (lambda _: "192.168.1.66", ADDRESS_TRIES),
        (lambda count: f"192.168.{count // 200}.{count % 200}", DAY_TRIES),
        (lambda count: f"2001:db8::{count:x}", ADDRESS_TRIES),  # one home, many addresses
    ],
)
def test_an_hour_and_a_day_of_guessing(address, most):
    pairing = guessed()
    clock = pairing._clock
    in_the_hour = guess(pairing, clock, 3600.0, address)
    assert in_the_hour <= most <= 200
    assert in_the_hour + guess(pairing, clock, 3 * 3600.0, address) == most
    clock.now += DAY_SECONDS
    assert guess(pairing, clock, 600.0, address) > 0  # the day is over for a slip of the hand


def test_a_new_start_forgets_no_wrong_code(tmp_path):
    """The steady clock begins anew with the machine; the wall clock says how old a try is."""
    day = Clock()
    first = Pairing(clock=Clock(), make=lambda: "12345678", folder=tmp_path, wall=day)
    assert guess(first, first._clock, 3600.0, lambda _: "10.0.0.1") == ADDRESS_TRIES
    day.now += 3600.0

    def again():
        return Pairing(clock=Clock(), make=lambda: "12345678", folder=tmp_path, wall=day)

    assert again().wrong_today() == {"10.0.0.1": ADDRESS_TRIES}
    second = again()
    assert guess(second, second._clock, 600.0, lambda _: "10.0.0.1") == 0
    day.now -= 7 * DAY_SECONDS  # a clock that was set back makes no try older
    assert again().wrong_today() == {"10.0.0.1": ADDRESS_TRIES}
    day.now += 9 * DAY_SECONDS
    third = again()
    assert guess(third, third._clock, 600.0, lambda _: "10.0.0.1") > 0
    kept = (tmp_path / "wrong-codes.json").read_text()
    assert "00000000" not in kept


@pytest.mark.parametrize("content", ["", "{", "[[1]]", '{"a": 1}', "[[null, 1]]", "7"])
def test_a_broken_file_of_wrong_codes_stops_nothing(tmp_path, content):
    (tmp_path / "wrong-codes.json").write_text(content)
    pairing = Pairing(clock=Clock(), make=lambda: "12345678", folder=tmp_path)
    assert pairing.wrong_today() == {}
    pairing.new_code(by_host=False)
    with pytest.raises(Refused):
        pairing.redeem("00000000", "10.0.0.1")
    assert Pairing(folder=tmp_path).wrong_today() == {"10.0.0.1": 1}


def test_the_host_pairs_whatever_was_guessed_and_is_told():
    said = []
    clock = Clock()
    pairing = Pairing(clock=clock, make=lambda: "12345678", say=said.append)
    guess(pairing, clock, 7200.0, lambda count: f"10.0.0.{count % 250}")
    with pytest.raises(Refused) as refusal:
        pairing.new_code(by_host=False, address="10.0.0.9")
    assert refusal.value.status == 429
    pairing.new_code(by_host=True)
    pairing.redeem("12345678", "10.0.0.9")
    assert any("tried 5 times" in sentence for sentence in said)
    assert "all devices: 100 wrong codes" in said[-1]
    assert sum(pairing.wrong_today().values()) == DAY_TRIES
    clock.now += DAY_SECONDS
    assert pairing.wrong_today() == {}


@pytest.mark.parametrize(
    ("address", "origin"),
    [
        ("192.168.1.7", "192.168.1.7"),
        ("::ffff:192.168.1.7", "192.168.1.7"),
        ("fe80::1:2%eth0", "fe80::/64"),
        ("2001:db8:1:2:3:4:5:6", "2001:db8:1:2::/64"),
        ("a socket", "a socket"),
    ],
)
def test_what_counts_as_one_address(address, origin):
    assert origin_of(address) == origin


def years_to_even_chance(tries_a_day=DAY_TRIES, code_tries=CODE_TRIES, digits=CODE_DIGITS):
    """Return after how many years of guessing without a pause an even chance is reached."""
    codes = math.log(0.5) / math.log1p(-code_tries / 10**digits)
    return codes * code_tries / tries_a_day / 365.25


def test_the_years_of_an_even_chance_against_counting_them_out():
    """With one digit and one try a day each day's chance is 1 in 10: 0.9**n = 1/2 after 6.6 days"""
    days = years_to_even_chance(1, 1, 1) * 365.25
    assert 0.9**days == pytest.approx(0.5)
    assert math.isclose(years_to_even_chance() * 2, years_to_even_chance(DAY_TRIES / 2))


def test_the_figures_in_the_docs_are_those_of_the_code():
    text = " ".join(SECURITY.read_text(encoding="utf-8").split())
    assert (
        f"At most {ADDRESS_TRIES} wrong codes a day are compared for one address and {DAY_TRIES} "
        f"for all together; against {CODE_DIGITS} digits an even chance takes "
        f"{years_to_even_chance():,.0f} years of guessing without a pause."
    ) in text
    assert f"every {REST_SECONDS:g} seconds" in text


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
