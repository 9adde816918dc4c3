"""The report as Chromium shows it, and as axe-core judges it: on a phone, on a desk and on paper."""

from __future__ import annotations

import re
from dataclasses import replace

import pytest

from lamphouse.graph.handover.report import write, write_report
from lamphouse.graph.handover.report.collection import write_collection
from lamphouse.graph.handover.report.shots import shots
from lamphouse.nodes.errors import BadInput

pytestmark = pytest.mark.slow  # a browser is started, once for all of them

MANY = 1000
LARGEST = 30_000_000  # bytes of a page of a thousand shots (our choice)
VIOLATIONS = """
axe.run().then(found => found.violations.map(
    one => `${one.id}: ${one.help}: ${one.nodes.map(node => node.html).slice(0, 3).join(' ')}`))
"""


def violations(browser, axe):
    browser.js(f"{axe};0")
    return browser.js(VIOLATIONS)


@pytest.mark.parametrize(("width", "scheme"), [(390, "light"), (1440, "dark")])
def test_the_page_fits_asks_for_nothing_and_axe_finds_nothing(browser, axe, page, width, scheme):
    browser.show(page, width, prefers_color_scheme=scheme)
    assert browser.js("document.documentElement.scrollWidth") <= width
    assert browser.js("document.documentElement.scrollHeight") > 2000
    assert browser.js("[...document.images].every(image => image.complete && image.naturalWidth)")
    browser.js("document.querySelectorAll('details').forEach(part => { part.open = true; })")
    assert violations(browser, axe) == []
    assert browser.troubles() == []


def test_a_name_that_is_a_script_is_text(browser, page):
    browser.show(page, 1440)
    names = browser.js("[...document.querySelectorAll('h3')].map(head => head.textContent)")
    assert "2<script>alert(1)</script>" in names
    assert browser.js("document.title") == "it's a reel: report"
    assert browser.js("document.scripts.length") == 1
    assert not [event for event in browser.events if event.get("method") == "Page.javascriptDialogOpening"]


def test_the_handle_between_before_and_after_is_moved_by_keys(browser, page):
    browser.show(page, 390)
    for _ in range(40):
        browser.press("Tab")
        if browser.js("document.activeElement.type === 'range'"):
            break
    active = "document.activeElement"
    told = f"{active}.getAttribute('aria-valuetext')"
    assert browser.js(told) == "50 % as scanned, the rest as in the master"
    covered = f"getComputedStyle({active}.parentElement.querySelector('.after img')).clipPath"
    half = browser.js(covered)
    browser.press("ArrowRight")
    assert browser.js(f"{active}.value") == "51"
    assert browser.js(covered) != half
    browser.press("Home")
    assert browser.js(told).startswith("0 % as scanned")
    assert browser.js(f"{active}.getAttribute('aria-label')").endswith(": how much is shown as scanned")


def test_on_paper_both_pictures_lie_side_by_side_and_nothing_is_folded(browser, page):
    browser.show(page, 1440)
    paper = browser.printed()
    assert paper.startswith(b"%PDF")
    assert 2 <= len(re.findall(rb"/Type\s*/Page\b", paper)) <= 20
    browser("Emulation.setEmulatedMedia", media="print")
    clips = browser.js("[...document.querySelectorAll('.after img')].map(i => getComputedStyle(i).clipPath)")
    assert set(clips) == {"none"}
    pair = "document.querySelector('.pair.two')"
    before, after = (
        f"{pair}.querySelector('.{side} img').getBoundingClientRect()" for side in ("before", "after")
    )
    assert browser.js(f"{before}.right <= {after}.left && {before}.top === {after}.top")
    shown = browser.js("[...document.querySelectorAll('.pair input')].map(i => getComputedStyle(i).display)")
    assert set(shown) == {"none"}
    assert browser.js("[...document.querySelectorAll('details')].every(part => part.open)")


def test_without_a_script_both_pictures_are_there(browser, page):
    browser("Emulation.setScriptExecutionDisabled", value=True)
    try:
        browser.show(page, 390)
        found = browser("DOM.getDocument", depth=1)["root"]["nodeId"]
        asked = {"nodeId": found, "selector": ".pair.two:not(.laid) .before img"}
        assert len(browser("DOM.querySelectorAll", **asked)["nodeIds"]) == 5
    finally:
        browser("Emulation.setScriptExecutionDisabled", value=False)


def test_a_thousand_shots_open(browser, made, tmp_path, monkeypatch):
    """One shot a thousand times, with the room that each of a thousand has."""
    monkeypatch.setattr("lamphouse.graph.handover.report.shots.room_of_a_shot", lambda _: 9000)

    def many(*given):
        one = list(shots(*given))[1]
        return [replace(one, number=number + 1) for number in range(MANY)]

    monkeypatch.setattr(write, "shots", many)
    page = write_report(tmp_path / "report", made.master, made.record)
    assert page.stat().st_size < LARGEST
    browser.show(page, 390)
    assert browser.js("document.querySelectorAll('article').length") == MANY
    assert browser.troubles() == []
    browser.js(f"document.getElementById('shot-{MANY}').scrollIntoView()")
    assert browser.js(f"document.querySelector('#shot-{MANY} .told').getBoundingClientRect().height") > 10


def test_a_collection_is_sorted_by_keys_and_axe_finds_nothing(browser, axe, report, tmp_path):
    def known(master, folder):
        if master.name == "gone.mkv":
            raise BadInput("gone.mkv is <gone>; bring it back.")
        return replace(report, reel=master.stem, eyes=() if master.name == "good.mkv" else report.eyes)

    masters = [tmp_path / name for name in ("good.mkv", "it's <b>.mkv", "gone.mkv")]
    page, rows = write_collection(tmp_path / "all", masters, known)
    assert [row.words for row in rows][::2] == [
        "Nothing that was looked at needs eyes.",
        "gone.mkv is <gone>; bring it back.",
    ]
    browser.show(page, 390)
    assert browser.js("document.documentElement.scrollWidth") <= 390
    assert violations(browser, axe) == []
    names = "[...document.querySelectorAll('tbody tr')].map(row => row.cells[0].lastChild.textContent)"
    assert browser.js(names) == ["gone.mkv", "it's <b>.mkv", "good.mkv"]
    links = "[...document.querySelectorAll('tbody a')].map(link => decodeURIComponent(link.pathname))"
    folder = page.parent
    assert browser.js(links) == [f"{folder}/{name}-report/index.html" for name in ("it's <b>", "good")]
    for _ in range(10):
        browser.press("Tab")
        if browser.js("document.activeElement.textContent") == "to be looked at":
            break
    way = "document.activeElement.parentElement.getAttribute('aria-sort')"
    browser.press("Enter")
    assert (browser.js(way), browser.js(names)[-1]) == ("ascending", "it's <b>.mkv")
    browser.press(" ")
    assert (browser.js(way), browser.js(names)[0]) == ("descending", "it's <b>.mkv")
    assert browser.troubles() == []
