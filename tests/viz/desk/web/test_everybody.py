"""Can everybody use the page: axe, the edge of the window, a thumb, at every step and size."""

import pytest
from drive.paged import (
    beyond_the_edge,
    browsing,
    opened,
    paged,
    settled,
    too_small,
    wrong_for_somebody,
)
from drive.patience import until
from drive.served import Served, copied


@pytest.fixture(scope="module")
def served(tmp_path_factory):
    site = copied("garden-court", tmp_path_factory.mktemp("everybody") / "site")
    with Served(site) as page:
        yield page


@pytest.fixture(scope="module")
def browser():
    with browsing() as found:
        yield found


def looked_at(page, what):
    return [f"{what}: {each}" for each in wrong_for_somebody(page)] + [
        f"{what}: {each}" for each in (*beyond_the_edge(page), *too_small(page))
    ]


LONG = pytest.mark.long


@pytest.mark.parametrize("width", [390, pytest.param(1440, marks=LONG)])
def test_every_step_and_view_is_for_everybody(served, browser, width):
    found = []
    with paged(browser, served, (width, 900)) as page:
        keys = page.locator("#steps > li").evaluate_all("all => all.map(e => e.dataset.key)")
        for key in keys:
            opened(page, key)
            page.locator("li.open > .blocks").evaluate(
                "each => each.querySelectorAll('details').forEach(fold => fold.open = true)"
            )
            found += looked_at(page, key)
        for view in ("section", "model", "plan"):
            page.locator(f"#tabs button[data-view={view}]").click()
            page.locator(f"#{view} > *").first.wait_for()
            settled(page)
            found += looked_at(page, view)
        page.locator("#look").click()
        found += looked_at(page, "outdoor look")
    assert not found, "\n".join(dict.fromkeys(found))


@pytest.mark.parametrize(
    "width", [360, *(pytest.param(each, marks=LONG) for each in (768, 1024, 2560))]
)
def test_nothing_lies_beyond_the_edge_at_any_width(served, browser, width):
    with paged(browser, served, (width, 800)) as page:
        for key in page.locator("#steps > li").evaluate_all("all => all.map(e => e.dataset.key)"):
            opened(page, key)
            assert not beyond_the_edge(page), key


def test_a_step_that_is_opened_stands_at_the_top_of_a_phone_once_it_has_all(served, browser):
    with paged(browser, served, (390, 844)) as page:
        opened(page, "built")
        step, views = page.locator("li[data-key=built]"), page.locator("#views")
        page.locator("li[data-key=built] .own > *:visible").first.wait_for()

        def at_the_top():
            bar = views.bounding_box()
            return 0 <= step.bounding_box()["y"] - bar["y"] - bar["height"] < 24

        until(at_the_top)
