"""A browser and a written map for the tests that need them."""

import pytest

from areaplan.render.map import write_map
from tests.render.plan_fixture import plan
from tests.render.visiting import DESKTOP, FLAGS, Visit


@pytest.fixture(scope="module")
def browser():
    from playwright.sync_api import sync_playwright

    with sync_playwright() as driver:
        chromium = driver.chromium.launch(executable_path="/usr/bin/chromium", args=FLAGS)
        yield chromium
        chromium.close()


@pytest.fixture(scope="module")
def path(tmp_path_factory):
    found = tmp_path_factory.mktemp("map") / "map of <b> & 'north'.html"
    write_map(plan(), found)
    return found


@pytest.fixture(scope="module")
def desktop(browser, path):
    visit = Visit(browser, path, viewport=DESKTOP)
    yield visit
    visit.context.close()


@pytest.fixture
def fresh(browser, path):
    visit = Visit(browser, path, viewport=DESKTOP)
    yield visit
    assert visit.complaints == []
    assert visit.run("window.violations") == []
    assert visit.requests == [path.as_uri()]
    visit.context.close()
