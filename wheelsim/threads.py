"""Limit BLAS to one thread: a wheel's matrices are small, and on a busy machine more threads make it slower."""

from collections.abc import Callable
from functools import cache, wraps
from typing import TYPE_CHECKING, ParamSpec, TypeVar

if TYPE_CHECKING:
    from threadpoolctl import ThreadpoolController

P = ParamSpec("P")
R = TypeVar("R")


@cache
def _controller() -> "ThreadpoolController":  # cached: finding the BLAS libraries takes milliseconds
    from threadpoolctl import ThreadpoolController

    return ThreadpoolController()


def one_thread(function: Callable[P, R]) -> Callable[P, R]:
    """Decorator: limits numpy's BLAS to one thread during the call, then restores the caller's setting."""

    @wraps(function)
    def held(*args: P.args, **kwargs: P.kwargs) -> R:
        with _controller().limit(limits=1, user_api="blas"):
            return function(*args, **kwargs)

    return held
