"""A browser, Debian's chromium, and the page in it by touch; left out with a word where one of them is missing."""

import shutil

import pytest

from tests.page.serving import CHROMIUM, FLAGS, Served, sample_into


@pytest.fixture(scope="session")
def browser():
    pytest.importorskip("nicegui", reason="the page's library is not installed: pip install -e '.[bench,browser]'")
    sync_api = pytest.importorskip("playwright.sync_api", reason="playwright is not installed")
    if CHROMIUM is None:
        pytest.skip("Debian's chromium is not installed")
    with sync_api.sync_playwright() as play:
        one = play.chromium.launch(executable_path=CHROMIUM, args=FLAGS)
        yield one
        one.close()


@pytest.fixture
def served(tmp_path):
    one = Served(sample_into(tmp_path))
    yield one
    one.kill()


@pytest.fixture(scope="session")
def served_long(tmp_path_factory):
    """One server for tests that leave nothing behind, or write to a job that is theirs alone."""
    one = Served(sample_into(tmp_path_factory.mktemp("job")))
    yield one
    one.kill()


@pytest.fixture(scope="session")
def visitors():
    """Visitors who left, by what they came with: who comes next needn't load the page's libraries anew."""
    return {}


@pytest.fixture
def visit(browser, visitors):
    """Open pages, each as a visitor of its own; what each asked for stands in ``asked``."""
    from playwright.sync_api import Error

    here = []

    def opened(address, selector=None, **context):
        # Without motion, which costs a fifth of the processor time here; one test looks at the page with it.
        usual = {"viewport": {"width": 1024, "height": 768}, "has_touch": True, "reduced_motion": "reduce"}
        left = visitors.setdefault(repr(usual | context), [])
        visitor = left.pop() if left else browser.new_context(**(usual | context))
        here.append((left, visitor))
        one = visitor.new_page()
        one.asked = []
        one.on("request", lambda request: one.asked.append(request.url))
        one.goto(address)
        if selector:
            one.wait_for_selector(selector)
        return one

    yield opened
    for left, visitor in here:
        try:
            for one in visitor.pages:
                one.evaluate("localStorage.clear()")
                one.close()
            visitor.clear_cookies()
        except Error:  # of a page that never came, or whose server is gone
            visitor.close()
        else:
            left.append(visitor)


@pytest.fixture
def job(served_long):
    """A job of its own, beside others in the folder that is served."""
    path = served_long.path.with_name(f"job-{len(list(served_long.path.parent.iterdir()))}.toml")
    shutil.copy(served_long.path, path)
    return path


@pytest.fixture
def page(visit, served_long, job):
    return visit(f"{served_long.address}?job={job.name}", '[data-spoke="5"]')
