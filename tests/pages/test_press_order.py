"""No press is lost: where the page's clock is behind the server's, and where the page redraws."""

PHONE = (390, 844)
# The answer to the first question comes late, so that the page takes the server's time for earlier.
LATE_MS = 1600


def test_a_press_counts_though_the_clock_of_the_page_is_behind(server, tablets, until):
    run = server.open_run("One")
    late = f"""const asked = fetch; let first = true;
    window.fetch = async (address, ...more) => {{
      const answer = await asked(address, ...more);
      if (first && String(address).includes("/api/runs/")) {{
        first = false;
        await new Promise((done) => setTimeout(done, {LATE_MS}));
      }}
      return answer;
    }};"""
    glass = tablets(run, PHONE, script=late)
    glass.begin()
    until(lambda: "step_begun" in server.kinds(run))
    glass.wait_words("linked")
    glass.page.wait_for_timeout(150)
    glass.tap("[data-act=endWith]")
    until(lambda: server.kinds(run)[-1] == "check_answered")
    assert server.state(run).plates[0].step("ready_room").answer == "right"


# What is told goes off only when the test lets it go.
HELD = """const plain = fetch; window.letGo = 0; let told = 0;
window.fetch = async (address, ...more) => {
  const place = more[0]?.method === "POST" ? (told += 1) : 0;
  while (letGo < place) await new Promise((done) => setTimeout(done, 10));
  return plain(address, ...more);
};"""


def test_a_step_begun_is_not_put_before_the_end_of_the_last(server, tablets, until):
    run = server.open_run("One")
    server.send(run, "step_begun", server.state(run).plates[0].id, "ready_room")
    glass = tablets(run, PHONE, script=HELD)
    server.later += 5.0  # the page's clock is behind the server's from here on
    glass.tap("[data-act=endWith]")
    glass.tap("[data-act=seen]")
    glass.page.evaluate("letGo = 1")
    until(lambda: "step_ended" in server.kinds(run))
    glass.page.wait_for_timeout(300)  # the stream has brought it; the next is still on its way
    assert server.state(run).plates[0].step("scour").state == "ready"
    assert glass.page.locator("[data-act=endWith]").count() > 0


def test_a_page_that_changes_under_the_finger_does_not_lose_the_press(server, tablets, until):
    run = server.open_run("One")
    plate = server.state(run).plates[0].id
    glass = tablets(run, PHONE)
    box = glass.page.locator("[data-act=begin]").bounding_box()
    mouse = glass.page.mouse
    mouse.move(box["x"] + box["width"] / 2, box["y"] + box["height"] / 2)
    glass.settle()
    mouse.down()
    server.advise(run, plate, "ready_room", "The room is damp.")
    glass.page.wait_for_timeout(700)
    assert "damp" not in glass.say("main")
    mouse.up()
    until(lambda: "step_begun" in server.kinds(run))


def test_what_is_being_written_stays_when_the_page_redraws(server, tablets, until):
    run = server.open_run("One")
    glass = tablets(run, PHONE)
    for act in ("more", "remarks"):
        glass.act(act)
    glass.page.locator("input.words").focus()
    glass.page.keyboard.type("a streak, upp")
    glass.page.context.set_offline(True)
    glass.wait_words("no link")  # the screen is built anew
    glass.page.keyboard.type("er left")
    glass.page.context.set_offline(False)
    glass.press("Enter")
    until(lambda: "remark_made" in server.kinds(run))
    assert server.state(run).remarks[0].words == "a streak, upper left"


# One press tells three things; from then on the page is held up whenever it asks what time it is.
HELD_UP = """async () => {
  const { makeClock } = await import("/static/bench/clock.js");
  const { makeQueue } = await import("/static/bench/queue.js");
  let time = 0;
  let held = 1;
  const clock = makeClock({ perf: () => (time += held), wall: () => (time += held) });
  const sent = [];
  const ask = async (address, { body }) => {
    sent.push(...JSON.parse(body).events);
    const refused = sent.map(({ id }) => ({ id, why: "" }));
    return { ok: true, status: 200, json: async () => ({ refused }) };
  };
  const nothing = () => {};
  const shelf = { put: nothing, drop: nothing, all: () => [] };
  const told = { onStored: nothing, onRefused: nothing, onLink: nothing };
  const queue = makeQueue({ run: "r", shelf, clock, ask, ...told });
  const kinds = ["caution_shown", "caution_shown", "step_begun"];
  const kept = kinds.map((kind, at) => queue.add({ id: String(at), kind }));
  held = 50;
  await Promise.all(kept);
  while (queue.waiting.size) await new Promise((done) => setTimeout(done, 1));
  return sent.map(({ age_s }) => age_s);
}"""


def test_what_one_press_tells_keeps_its_order_though_the_page_is_held_up(blank):
    ages = blank.evaluate(HELD_UP)
    assert len(ages) == 3
    assert ages == sorted(ages, reverse=True)
    assert ages[0] > ages[-1]
