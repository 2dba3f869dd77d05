"""Can everybody use the page: axe, the edge of the window, a thumb, at every step and size."""

import re

import pytest
from drive.browser import browsing
from drive.paged import beyond_the_edge, opened, paged, settled, too_small, wrong_for_somebody
from drive.patience import until
from drive.served import Served, copied


@pytest.fixture(scope="module")
def served(tmp_path_factory):
    site = copied("garden-court", tmp_path_factory.mktemp("everybody") / "site")
    with Served(site) as page:
        yield page


@pytest.fixture(scope="module")
def stuck(tmp_path_factory):
    """A yard with a sill that no finish comes up to: what conflicts, and what would end it."""
    site = copied("back-patio", tmp_path_factory.mktemp("stuck") / "site")
    text = (site / "site.toml").read_text(encoding="utf-8")
    text, changed = re.subn(r"(?m)^(sill\s*=).*$", r"\1 99.0", text, count=1)
    assert changed
    (site / "site.toml").write_text(text, encoding="utf-8")
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


@pytest.mark.parametrize(
    ("yard", "width"),
    [("served", 390), pytest.param("served", 1440, marks=LONG), ("stuck", 390)],
)
def test_every_step_and_view_is_for_everybody(request, browser, yard, width):
    found = []
    with paged(browser, request.getfixturevalue(yard), (width, 900)) as page:
        if yard == "stuck":
            page.locator("#problems .offer button").first.wait_for()
        keys = page.locator("#steps > li").evaluate_all("all => all.map(e => e.dataset.key)")
        for key in keys:
            opened(page, key)
            page.locator("li.open > .blocks").evaluate(
                "each => each.querySelectorAll('details').forEach(fold => fold.open = true)"
            )
            found += looked_at(page, key)
        for view in () if yard == "stuck" else ("section", "model", "plan"):
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
