"""BLAS is held to one thread while a wheel is worked on, and the caller's setting comes back."""

import numpy as np
import pytest
import threadpoolctl

from wheelsim.threads import one_thread


def blas_threads():
    np.linalg.cholesky(np.eye(2))
    return [one["num_threads"] for one in threadpoolctl.threadpool_info() if one["user_api"] == "blas"]


def test_one_thread_inside_and_the_callers_after():
    with threadpoolctl.threadpool_limits(2, user_api="blas"):
        before = blas_threads()
        if max(before) < 2:
            pytest.skip("numpy's BLAS has a single thread here whatever is asked")
        assert set(one_thread(blas_threads)()) == {1}
        assert blas_threads() == before


def test_after_a_fault_too():
    @one_thread
    def faulty():
        raise ArithmeticError

    with threadpoolctl.threadpool_limits(2, user_api="blas"):
        before = blas_threads()
        with pytest.raises(ArithmeticError):
            faulty()
        assert blas_threads() == before


def test_the_doors_of_the_package_are_held():
    from wheelsim.estimation.estimate import estimate
    from wheelsim.planning.plan import plan
    from wheelsim.stand.assess import assess
    from wheelsim.stand.predict import predict

    assert all(hasattr(door, "__wrapped__") for door in (estimate, plan, assess, predict))
