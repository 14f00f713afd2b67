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
