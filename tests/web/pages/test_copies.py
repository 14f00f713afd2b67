"""The page of copies: a backup made by hand, the whole book taken away, nothing erased."""

from __future__ import annotations

import io
import tempfile
import zipfile

from argentry.book.care.backup import backups
from argentry.book.care.restore import is_sound
from argentry.desk.pages.copies import copies_page
from argentry.exchange.archive.archive import check_archive


def test_a_backup_is_made_on_the_page(host, app, studio_dir):
    assert "There is no backup yet." in host.get("/copies").text
    answer = host.form("/copies/backup")
    assert answer.status_code == 303
    [(_, folder)] = backups(studio_dir / "backups")
    assert is_sound(folder)
    [kept] = copies_page(app.state.house).backups
    assert kept.name == folder.name
    assert kept.megabytes > 0.05
    shown = host.get(answer.headers["location"]).text
    assert "is made. A book was restored from it and found sound." in shown
    assert f">{folder.name}</td>" in shown
    assert "restored from it" not in host.get("/copies?made=another").text


def test_the_whole_book_is_taken_away_as_an_archive_and_nothing_of_it_stays(
    host, run, tmp_path, monkeypatch
):
    (here := tmp_path / "temporary").mkdir()
    monkeypatch.setattr(tempfile, "tempdir", str(here))
    answer = host.form("/copies/archive")
    assert answer.headers["content-type"] == "application/zip"
    name = answer.headers["content-disposition"].split('"')[1]
    assert name.startswith("argentry-archive-2")
    with zipfile.ZipFile(io.BytesIO(answer.content)) as file:
        file.extractall(tmp_path)
    found = check_archive(tmp_path / name.removesuffix(".zip"))
    assert found.rows["event"] > 0
    assert list(here.iterdir()) == []


def test_only_the_host_copies_the_book(host, tablet, stranger):
    """A lost tablet must not carry the whole book away."""
    for device in (tablet, stranger):
        assert device.get("/copies").status_code in (303, 403)
        for path in ("/copies/backup", "/copies/archive"):
            assert device.form(path).status_code in (303, 401, 403)
    assert 'href="/copies"' in host.get("/studio").text
    assert 'href="/copies"' not in tablet.get("/studio").text
