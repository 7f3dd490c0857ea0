"""What all tests share: quick settings, the people, a browser, and the rule that nothing may be skipped in CI."""

import os
import shutil
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest
from django.conf import settings as django_settings
from django.db import connection, connections
from django.test import Client, TransactionTestCase
from django.test.utils import override_settings
from hypothesis import settings as hypothesis_settings

from catalog.core.triggers import lifted
from tests.cast import Cast, make_cast
from tests.demo_world import demo_dump, demo_world, load_demo_world

__all__ = ["demo_dump", "demo_world", "load_demo_world"]

# Playwright's fixtures keep an event loop in the thread; Django would refuse the ORM there.
os.environ["DJANGO_ALLOW_ASYNC_UNSAFE"] = "1"

REQUIRE_ALL = os.environ.get("WRAPKEEP_REQUIRE_ALL", "") not in {"", "0"}
POSTGRES = os.environ.get("WRAPKEEP_TEST_POSTGRES", "postgresql://postgres@127.0.0.1:5432/postgres")
# A second pass on another database leaves out what never asks one.
DATABASE_ONLY = os.environ.get("WRAPKEEP_TEST_DATABASE_ONLY", "") not in {"", "0"}

hypothesis_settings.register_profile("house", deadline=None, print_blob=True)
hypothesis_settings.load_profile("house")


# --- how the suite runs ----------------------------------------------------------------------------------------------
@pytest.hookimpl(tryfirst=True)
def pytest_cmdline_main(config: pytest.Config) -> None:
    """The whole suite uses every core; a few files named by hand stay in one process."""
    if not config.pluginmanager.hasplugin("xdist") or "PYTEST_XDIST_WORKER" in os.environ:
        return  # a worker reads this file too, and must not start workers of its own
    whole = config.args == [str(path) for path in config.getini("testpaths")]
    if whole and config.option.numprocesses is None and not config.option.usepdb:
        config.option.numprocesses = os.cpu_count() or 1


def asks_database(item: pytest.Item) -> bool:
    """Whether the test touches the database at all: only those can turn out differently on another one."""
    fixtures = set(getattr(item, "fixturenames", ()))
    return item.get_closest_marker("django_db") is not None or bool(
        fixtures & {"db", "transactional_db", "live_server", "django_db_setup", "postgres_url"}
    )


def pytest_collection_modifyitems(config: pytest.Config, items: list[pytest.Item]) -> None:
    """Mark by folder; leave out (not skip) what is meant for the other database."""
    other = "sqlite" if connection.vendor == "postgresql" else "postgres"
    for item in items:
        folder = Path(item.path).relative_to(Path(__file__).parent).parts[0]
        if folder == "house":
            item.add_marker(pytest.mark.house)
        if folder == "browser" or "open_page" in getattr(item, "fixturenames", ()):
            item.add_marker(pytest.mark.browser)
    left_out = [item for item in items if item.get_closest_marker(other) or (DATABASE_ONLY and not asks_database(item))]
    if left_out:
        config.hook.pytest_deselected(items=left_out)
        items[:] = [item for item in items if item not in left_out]


@pytest.hookimpl(wrapper=True)
def pytest_runtest_makereport(item: pytest.Item, call: pytest.CallInfo[None]) -> Iterator[None]:
    """With WRAPKEEP_REQUIRE_ALL a skipped test is a failed test: a missing tool must not look green."""
    report: Any = yield
    if REQUIRE_ALL and report.skipped and not hasattr(report, "wasxfail"):
        report.outcome = "failed"
        report.longrepr = f"{item.nodeid} was skipped while WRAPKEEP_REQUIRE_ALL is set: {report.longrepr[-1]}"
    return report


@pytest.hookimpl(wrapper=True)
def pytest_make_collect_report(collector: pytest.Collector) -> Iterator[None]:
    """The same for a whole file that skips itself."""
    report: Any = yield
    if REQUIRE_ALL and report.skipped:
        report.outcome = "failed"
        report.longrepr = f"{collector.nodeid} was skipped while WRAPKEEP_REQUIRE_ALL is set: {report.longrepr[-1]}"
    return report


# --- settings and database -------------------------------------------------------------------------------------------
@pytest.fixture(scope="session", autouse=True)
def _quick_site(tmp_path_factory: pytest.TempPathFactory) -> Iterator[None]:
    """A cheap hasher, no lockout (its own tests switch it on), and files kept out of the real folders."""
    with override_settings(
        PASSWORD_HASHERS=["django.contrib.auth.hashers.MD5PasswordHasher"],
        AXES_ENABLED=False,
        MEDIA_ROOT=tmp_path_factory.mktemp("media"),
    ):
        yield


@pytest.fixture(scope="session")
def django_db_modify_db_settings(
    django_db_modify_db_settings_parallel_suffix: None, tmp_path_factory: pytest.TempPathFactory
) -> None:
    """SQLite tests run on a file, as the site does: in memory, threads would share one connection and never race."""
    if connection.vendor == "sqlite":
        connections["default"].settings_dict["TEST"]["NAME"] = str(tmp_path_factory.mktemp("db") / "test.sqlite3")


@pytest.fixture(scope="session", autouse=True)
def _history_lifted_between_tests() -> Iterator[None]:
    """Tests that really commit are cleaned up by deleting rows; the history's triggers step aside for that alone."""
    flush = TransactionTestCase._fixture_teardown

    def teardown(case: TransactionTestCase) -> None:
        with lifted(connection):
            flush(case)

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(TransactionTestCase, "_fixture_teardown", teardown)
        yield


@pytest.fixture(scope="session")
def postgres_url() -> str:
    """A PostgreSQL server to make scratch databases on, whatever database the suite itself runs on."""
    psycopg = pytest.importorskip("psycopg")
    try:
        psycopg.connect(POSTGRES, connect_timeout=3).close()
    except psycopg.OperationalError as silent:
        pytest.skip(f"no PostgreSQL at WRAPKEEP_TEST_POSTGRES: {str(silent).splitlines()[0]}")
    return POSTGRES


# --- people ----------------------------------------------------------------------------------------------------------
@pytest.fixture
def cast(db: None) -> Cast:
    """The five people, one a duty."""
    return make_cast()


@pytest.fixture
def as_user() -> Callable[[Any], Client]:
    """`as_user(cast.archivist)` is a client that is signed in; `as_user(None)` is a stranger."""

    def sign_in(user: Any) -> Client:
        client = Client()
        if user is not None:
            client.force_login(user, backend="django.contrib.auth.backends.ModelBackend")
        return client

    return sign_in


# --- browser ---------------------------------------------------------------------------------------------------------
@pytest.fixture(scope="session")
def browser_type_launch_args(browser_type_launch_args: dict[str, Any]) -> dict[str, Any]:
    """The system's Chromium, as root in a container it needs --no-sandbox."""
    found = shutil.which("chromium") or shutil.which("chromium-browser") or shutil.which("google-chrome")
    if found is None:
        pytest.skip("no chromium on PATH (Debian: apt-get install chromium)")
    args = ["--no-sandbox", "--disable-dev-shm-usage", "--use-fake-ui-for-media-stream"]
    return {**browser_type_launch_args, "executable_path": found, "args": args}


@pytest.fixture
def open_page(live_server: Any, new_context: Callable[..., Any]) -> Callable[[str], Any]:
    """`open_page("phone")` or `open_page("desk")`: a page of its own browser context; relative addresses work."""
    shapes = {
        "desk": {"viewport": {"width": 1280, "height": 900}},
        "phone": {"viewport": {"width": 390, "height": 844}, "has_touch": True, "is_mobile": True},
    }

    def open_as(size: str) -> Any:
        return new_context(base_url=live_server.url, **shapes[size]).new_page()

    return open_as


@pytest.fixture
def page(open_page: Callable[[str], Any]) -> Any:
    """A page at desk width."""
    return open_page("desk")


@pytest.fixture
def phone(open_page: Callable[[str], Any]) -> Any:
    """A page as a phone shows it."""
    return open_page("phone")


@pytest.fixture
def enter(as_user: Callable[[Any], Client], live_server: Any) -> Callable[[Any, Any], None]:
    """`enter(page, user)`: the page's browser is signed in without walking through the form."""

    def enter_as(page: Any, user: Any) -> None:
        cookie = as_user(user).cookies[django_settings.SESSION_COOKIE_NAME]
        page.context.add_cookies([{"name": cookie.key, "value": cookie.value, "url": live_server.url}])

    return enter_as


@pytest.fixture
def faults() -> Callable[[Any], list[str]]:
    """`faults(page)`: what axe finds on the page as shown (WCAG 2.2 A and AA and its best practices), one line each."""
    axe_module = pytest.importorskip("axe_playwright_python.sync_playwright")
    tags = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"]

    def look(page: Any) -> list[str]:
        # Only faults are told in full: that halves the time on long pages.
        options = {"runOnly": {"type": "tag", "values": tags}, "resultTypes": ["violations"]}
        found = axe_module.Axe().run(page, options=options)
        lines = []
        for fault in found.response["violations"]:
            where = ", ".join(str(node["target"]) for node in fault["nodes"][:4])
            lines.append(f"{page.url} {fault['id']}: {fault['help']} at {where}")
        return lines

    return look
