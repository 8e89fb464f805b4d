"""Rows of published checks are worked out once a run, though several workers ask for them."""

import os

import pytest

from tests.published import row


@pytest.fixture(scope="session", autouse=True)
def _shared_rows(tmp_path_factory):
    base = tmp_path_factory.getbasetemp()
    row.shared = base.parent if "PYTEST_XDIST_WORKER" in os.environ else base
    yield
    row.shared = None
