"""The page of the studio, for the host alone."""

from __future__ import annotations

import html
import re


def text_of(page):
    return html.unescape(re.search(r"<textarea[^>]*>\n(.*?)</textarea>", page, re.DOTALL)[1])


def test_the_file_is_edited_and_restored_on_the_page(host, studio_dir, app):
    page = host.get("/studio").text
    text, was = text_of(page), re.search(r'name="was" value="(\w+)"', page)[1]
    assert text == (studio_dir / "studio.toml").read_text(encoding="utf-8")
    assert "No mistake found" in page
    new = text.replace("Yard studio", "Garden studio")
    answer = host.form("/studio", text=new.replace("\n", "\r\n"), was=was)
    assert (answer.status_code, answer.headers["location"]) == (303, "/studio?saved=1")
    assert (studio_dir / "studio.toml").read_text(encoding="utf-8") == new
    assert app.state.house.studio.name == "Garden studio"
    assert "Garden studio" in host.get("/plates").text
    page = host.get("/studio").text
    [version] = re.findall(r'href="(/studio\?version=[^"]+)"', page)
    assert text_of(host.get(version).text) == text


def test_a_mistake_comes_back_with_what_was_typed(host, studio_dir):
    page = host.get("/studio").text
    text, was = text_of(page), re.search(r'name="was" value="(\w+)"', page)[1]
    wrong = text.replace("[site]", "[sight]", 1)
    answer = host.form("/studio", text=wrong, was=was)
    assert answer.status_code == 422
    assert text_of(answer.text) == wrong
    assert "sight" in html.unescape(re.search(r'<li class="problem">(.*?)</li>', answer.text)[1])
    assert (studio_dir / "studio.toml").read_text(encoding="utf-8") == text
    checked = host.form("/studio/check", text=wrong).text
    assert re.search(r'<li class="problem">(.*?)</li>', checked)[1] in answer.text
    assert "No mistake found" in host.form("/studio/check", text=text).text


def test_a_paired_tablet_reads_it_and_changes_nothing(tablet, studio_dir):
    text = (studio_dir / "studio.toml").read_text(encoding="utf-8")
    page = tablet.get("/studio?version=x&saved=1").text
    assert html.unescape(re.search(r"<pre[^>]*>(.*?)</pre>", page, re.DOTALL)[1]) == text
    assert "<textarea" not in page
    assert "Saved." not in page
    assert "studio-versions" not in page
    assert 'href="/studio"' in tablet.get("/plates").text
    for address in ("/studio", "/studio/check"):
        answer = tablet.form(address, text="", was="")
        assert answer.status_code == 403
        assert "Only the host can change the studio" in answer.text
    assert (studio_dir / "studio.toml").read_text(encoding="utf-8") == text


def test_a_version_that_is_not_there_is_refused(host):
    assert host.get("/studio?version=../studio.toml").status_code == 422
