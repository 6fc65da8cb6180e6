"""The page in a real browser: quiet, alone, zoomable."""

import shutil

import pytest
from reporting_builders import a_run

from cutbook.reporting.page import page

ARGUMENTS = [
    "--no-sandbox", "--disable-gpu", "--disable-background-networking", "--disable-component-update",
    "--disable-sync", "--no-first-run",
]  # fmt: skip


@pytest.fixture(scope="module")
def browser():
    api = pytest.importorskip("playwright.sync_api", reason="playwright is not installed")
    program = next((p for p in map(shutil.which, ("chromium", "chromium-browser", "google-chrome")) if p), None)
    if program is None:
        pytest.skip("no Chromium on this machine")
    with api.sync_playwright() as playwright:
        started = playwright.chromium.launch(executable_path=program, args=ARGUMENTS)
        yield started
        started.close()


@pytest.fixture(scope="module")
def file(tmp_path_factory):
    path = tmp_path_factory.mktemp("page") / "report.html"
    path.write_text(page(a_run(hostile=True)), encoding="utf-8")
    return path


@pytest.fixture
def opened(browser, file):
    """The page, with everything it said and asked for."""
    tab = browser.new_page(viewport={"width": 1150, "height": 900})
    tab.said, tab.asked, tab.dialogs = [], [], []
    tab.on("console", lambda message: tab.said.append((message.type, message.text)))
    tab.on("pageerror", lambda error: tab.said.append(("error", str(error))))
    tab.on("request", lambda request: tab.asked.append(request.url))
    tab.on("dialog", lambda dialog: (tab.dialogs.append(dialog.message), dialog.dismiss()))
    tab.goto(file.as_uri())
    tab.wait_for_selector("html[data-ready]")
    yield tab
    tab.close()


def spread(tab, number=0):
    plot = tab.locator(".plot").nth(number)
    return float(plot.get_attribute("data-from")), float(plot.get_attribute("data-to"))


def over(tab, number=0):
    area = tab.locator(".plot .u-over").nth(number)
    area.scroll_into_view_if_needed()
    return area.bounding_box()


def test_it_opens_quietly_and_asks_for_nothing(opened, file):
    assert opened.locator("html").get_attribute("data-ready") == "yes"
    assert not [text for kind, text in opened.said if kind in ("error", "warning")]
    assert {url for url in opened.asked if not url.startswith("data:")} == {file.as_uri()}
    assert not opened.dialogs


def test_text_that_wants_to_be_markup_is_shown_as_text(opened):
    assert "<script>alert(1)</script>" in opened.locator(".title").inner_text()
    assert opened.locator("img[src^=http]").count() == 0
    assert opened.evaluate("document.querySelectorAll('script').length") == 3


def test_the_wheel_zooms_about_the_pointer_and_a_double_click_shows_all(opened):
    whole = spread(opened)
    box = over(opened)
    opened.mouse.move(box["x"] + box["width"] / 4, box["y"] + box["height"] / 2)
    at = whole[0] + (whole[1] - whole[0]) / 4
    for _ in range(4):
        opened.mouse.wheel(0, -120)
    opened.wait_for_timeout(150)
    near = spread(opened)
    assert near[1] - near[0] < 0.6 * (whole[1] - whole[0])
    assert (at - near[0]) / (near[1] - near[0]) == pytest.approx(0.25, abs=0.02)
    opened.mouse.dblclick(box["x"] + box["width"] / 2, box["y"] + box["height"] / 2)
    opened.wait_for_timeout(150)
    assert spread(opened) == pytest.approx(whole)


def test_dragging_zooms_and_shift_dragging_moves(opened):
    whole = spread(opened)
    box = over(opened)
    middle = box["y"] + box["height"] / 2
    opened.mouse.move(box["x"] + 0.3 * box["width"], middle)
    opened.mouse.down()
    opened.mouse.move(box["x"] + 0.6 * box["width"], middle, steps=5)
    opened.mouse.up()
    opened.wait_for_timeout(150)
    near = spread(opened)
    width = whole[1] - whole[0]
    assert near == pytest.approx((whole[0] + 0.3 * width, whole[0] + 0.6 * width), abs=0.02 * width)
    opened.keyboard.down("Shift")
    opened.mouse.move(box["x"] + 0.5 * box["width"], middle)
    opened.mouse.down()
    opened.mouse.move(box["x"] + 0.4 * box["width"], middle, steps=5)
    opened.mouse.up()
    opened.keyboard.up("Shift")
    opened.wait_for_timeout(150)
    moved = spread(opened)
    assert moved[1] - moved[0] == pytest.approx(near[1] - near[0])
    assert moved[0] - near[0] == pytest.approx(0.1 * (near[1] - near[0]), rel=0.1)


def test_the_keyboard_does_all_of_it(opened):
    whole = spread(opened, 1)
    plot = opened.locator(".plot").nth(1)
    plot.focus()
    plot.press("+")
    opened.wait_for_timeout(100)
    near = spread(opened, 1)
    assert near[1] - near[0] == pytest.approx(0.7 * (whole[1] - whole[0]))
    plot.press("ArrowRight")
    opened.wait_for_timeout(100)
    assert spread(opened, 1)[0] > near[0]
    plot.press("ArrowUp")
    assert float(plot.get_attribute("data-magnified")) == pytest.approx(1.5)
    plot.press("0")
    opened.wait_for_timeout(100)
    assert spread(opened, 1) == pytest.approx(whole)
    assert plot.get_attribute("data-magnified") == "1"


def test_buttons_take_baselines_bands_and_ladder_off(opened):
    plot = opened.locator(".plot canvas").first
    plot.scroll_into_view_if_needed()
    for what in ("bands", "ladder", "following", "total", "hump"):
        button = opened.locator(f'.live button[data-show="{what}"]').first
        if what in ("following", "total", "hump"):
            opened.locator('.live button[data-do="magnify"]').first.click()
        opened.wait_for_timeout(80)
        before = plot.screenshot()
        button.click()
        opened.wait_for_timeout(80)
        assert button.get_attribute("aria-pressed") == "false"
        assert plot.screenshot() != before, what


def test_the_readout_names_time_signal_index_and_cut(opened):
    box = over(opened)
    opened.mouse.move(box["x"] + 0.45 * box["width"], box["y"] + box["height"] / 2)
    opened.wait_for_timeout(100)
    told = opened.locator(".readout").first.inner_text()
    for words in ("min", "pA", "retention index", "diesel"):
        assert words in told


def test_print_shows_the_still_figures(opened):
    still, live = opened.locator("figure.still").first, opened.locator(".live").first
    assert not still.is_visible()
    assert live.is_visible()
    opened.emulate_media(media="print")
    assert still.is_visible()
    assert not live.is_visible()
    assert opened.evaluate("document.querySelector('figure.still img').naturalWidth") > 100


def test_without_script_the_still_figures_are_there(browser, file):
    context = browser.new_context(java_script_enabled=False)
    tab = context.new_page()
    tab.goto(file.as_uri())
    assert tab.locator("figure.still").first.is_visible()
    assert not tab.locator(".live").first.is_visible()
    context.close()


def test_nothing_runs_wide_on_a_narrow_screen(browser, file):
    tab = browser.new_page(viewport={"width": 390, "height": 800})
    tab.goto(file.as_uri())
    tab.wait_for_selector("html[data-ready]")
    tab.wait_for_timeout(200)
    assert tab.evaluate("document.documentElement.scrollWidth") <= 391
    tab.close()
