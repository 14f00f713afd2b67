"""The three ways to the bench page: plain, with the studio's own keys, same machine."""

from datetime import UTC, datetime, timedelta

import pytest

GO = ".action, .choices button.chosen"
# whether the page's own shelf holds that the step was begun, as the server has stored it
SHELVED = """(run) => new Promise((done) => {
  const opened = indexedDB.open("argentry-bench");
  opened.onerror = () => done(false);
  opened.onsuccess = () => {
    const got = opened.result.transaction("runs").objectStore("runs").get(run);
    got.onerror = () => done(false);
    const begun = (one) => one.kind === "step_begun" && one.seq;
    got.onsuccess = () => done((got.result?.events ?? []).some(begun));
  };
})"""
READY = "caches.match(location.pathname).then((page) => Boolean(page))"


def test_plain_on_the_network(server, tablets, until):
    run = server.open_run("One")
    glass = tablets(run, begin=False)
    assert glass.page.evaluate("isSecureContext") is False
    assert glass.page.evaluate("typeof crypto.randomUUID") == "undefined"
    assert "set the tablet’s auto-lock to never" in glass.say(".hand")
    assert "Keep this page open" in glass.say(".hand")
    glass.act("start")
    glass.begin()
    until(lambda: "step_begun" in server.kinds(run))
    assert glass.page.evaluate("navigator.serviceWorker === undefined")


def reload_without_server(server, glass, run, until):
    glass.act("start")
    until(lambda: glass.page.evaluate(READY))
    glass.begin()
    until(lambda: "step_begun" in server.kinds(run))
    until(lambda: glass.page.evaluate(SHELVED, run))  # what is known is kept a second after it came
    begun = server.state(run).plates[0].step("ready_room").begun
    server.stop()
    glass.page.reload()
    glass.page.wait_for_selector("[data-act=start]")
    glass.red("up without a server")
    glass.act("start")
    glass.wait_words("no link")
    assert "Prepare the room" in glass.say("h1")
    until(lambda: glass.say(".time").startswith("19:"))  # the very first second is 20:00
    glass.tap(GO)
    glass.wait_words("2 kept here")
    later = datetime.now(UTC) + timedelta(seconds=0.5)  # what the page's clock may be off
    until(lambda: datetime.now(UTC) > later)
    server.start()
    glass.wait_words("linked")
    until(lambda: "step_ended" in server.kinds(run))
    step = server.state(run).plates[0].step("ready_room")
    assert step.begun == begun
    assert step.begun < step.ended < later, "it counts when it was pressed, not when it came"
    assert glass.errors == []


def test_same_machine_reloads_without_the_server(server, tablets, until):
    run = server.open_run("One")
    glass = tablets(run, host="localhost", begin=False)
    assert glass.page.evaluate("isSecureContext") is True
    assert "Reload: works while the server is down" in glass.say(".hand")
    reload_without_server(server, glass, run, until)


def test_own_keys_wake_lock_and_reload_without_the_server(tls_server, trusting, glass_of, until):
    from argentry.web.guard import COOKIE

    run = tls_server.open_run("One")
    with trusting(tls_server) as context:
        context.add_cookies([{"name": COOKIE, "value": tls_server.token, "domain": "studio.test",
                              "path": "/", "secure": True}])  # fmt: skip
        page = context.new_page()
        glass = glass_of(page, tls_server)
        page.goto(tls_server.url(run))
        page.wait_for_selector("[data-act=start]")
        assert page.evaluate("isSecureContext") is True
        assert "kept awake from the start" in glass.say(".hand")
        reload_without_server(tls_server, glass, run, until)


def test_wake_lock_is_asked_for_and_taken_again(server, tablets):
    stub = """
      window.taken = [];
      Object.defineProperty(navigator, "wakeLock", { value: { async request(kind) {
        const lock = new EventTarget();
        window.taken.push(lock);
        return lock;
      } } });
    """
    run = server.open_run("One")
    glass = tablets(run, host="localhost", script=stub, begin=False)
    assert glass.page.evaluate("taken.length") == 0  # not before somebody begins
    glass.act("start")
    glass.wait("taken.length === 1")
    glass.page.evaluate("""() => {
      taken[0].dispatchEvent(new Event("release"));
      document.dispatchEvent(new Event("visibilitychange"));
    }""")
    glass.wait("taken.length === 2")


def test_the_worker_keeps_every_file_of_the_page():
    import re
    from pathlib import Path

    import argentry.out
    import argentry.web.app

    static = Path(argentry.web.app.__file__).parent / "static"
    fonts = Path(argentry.out.__file__).parent / "fonts"
    text = (static / "sw.js").read_text(encoding="utf-8")
    listed = set(re.findall(r'"(/static/[^"]+\.\w+)",', text))
    there = {f"/static/bench/{file.name}" for file in (static / "bench").iterdir()}
    there |= {f"/static/fonts/{file.name}" for file in fonts.glob("*.otf")}
    assert listed == there


def test_a_run_never_opened_here_says_so_in_red(server, tablets, until):
    run = server.open_run("One")
    glass = tablets(run, host="localhost")
    until(lambda: glass.page.evaluate(READY))
    server.stop()
    glass.page.goto(f"{glass.page.url[:-4]}0000")
    glass.wait_words("was not opened on this tablet before")
    glass.red("never opened")


@pytest.mark.parametrize("host", ["studio.test", "localhost"])
def test_nothing_is_fetched_from_elsewhere(server, tablets, host):
    run = server.open_run("One")
    glass = tablets(run, host=host)
    asked = []
    glass.page.on("request", lambda request: asked.append(request.url))
    blocked = []
    glass.page.on("console", lambda message: blocked.append(message.text))
    glass.page.reload()
    glass.page.wait_for_selector("[data-act=start]")
    assert asked
    assert all(f"//{host}:{server.port}/" in url for url in asked)
    assert not [text for text in blocked if "Content Security Policy" in text]
