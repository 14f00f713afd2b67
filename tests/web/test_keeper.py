"""What a running server looks after by itself."""

from __future__ import annotations

from argentry.book.open import PREFIX
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


def test_a_disk_that_is_nearly_full_is_told_on_the_host_and_every_page(app, host, monkeypatch):
    from types import SimpleNamespace

    from argentry.keeping import book as desk

    keeper = app.state.keeper
    assert keeper.look_at_disk() == ""
    with monkeypatch.context() as patch:
        patch.setattr(desk, "disk_usage", lambda _: SimpleNamespace(free=3_000_000))
        assert "Only 3 MB are free" in keeper.look_at_disk()
        assert keeper.look_at_disk() == ""  # said once
    assert "Only 3 MB are free" in host.get("/plates").text
    keeper.look_at_disk()
    assert "MB are free" not in host.get("/plates").text


def test_a_folder_that_cannot_be_written_is_told(tmp_path):
    from argentry.keeping.book import store_trouble

    assert store_trouble(tmp_path) == ""
    assert "cannot be written" in store_trouble(tmp_path / "gone")
