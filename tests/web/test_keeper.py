"""What a running server looks after by itself."""

from __future__ import annotations

from argentry.book.care.backup import PREFIX
from argentry.web.keeper import Keeper


def test_a_backup_a_day_by_itself(app, studio_dir):
    keeper = Keeper(app.state.house, lambda _: None)
    for _ in range(2):
        keeper.back_up()
    (made,) = (studio_dir / "backups").glob(f"{PREFIX}*")
    assert (made / "book.sqlite").is_file()
    assert keeper.trouble == ""


def test_a_backup_that_cannot_be_made_is_told_on_the_host_and_every_page(app, host, studio_dir):
    said = []
    keeper = app.state.keeper = Keeper(app.state.house, said.append)
    (studio_dir / "backups").write_text("in the way")
    keeper.back_up()
    assert "No backup could be made today" in said[0]
    assert said[0] == keeper.trouble
    for path in ("/", "/plates"):
        assert "No backup could be made today" in host.get(path).text
    (studio_dir / "backups").unlink()
    keeper.back_up()
    assert "No backup could be made" not in host.get("/").text
