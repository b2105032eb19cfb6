"""One thread of linear algebra for each test process, and sections that several tests plan planned once."""

import os
import pydoc
import sys
from typing import Any

import pytest

for _name in ("OPENBLAS_NUM_THREADS", "OMP_NUM_THREADS", "MKL_NUM_THREADS"):
    os.environ.setdefault(_name, "1")  # with several, small matrices wait for each other

_SECTIONS = "voidless.toolpath.sections"
_MOST = 3000


class _Remembered:
    """`plan_region`, which depends on nothing but what it is given; other processes get the function itself."""

    def __init__(self, function: Any) -> None:
        self.function = function
        self.known: dict[tuple[Any, ...], Any] = {}

    def __call__(self, region: Any, *others: Any) -> Any:
        key = (region.wkb, *others)
        if key not in self.known:
            if len(self.known) >= _MOST:
                self.known.pop(next(iter(self.known)))
            self.known[key] = self.function(region, *others)
        return self.known[key]

    def __reduce__(self) -> tuple[Any, ...]:
        return pydoc.locate, (f"{self.function.__module__}.{self.function.__qualname__}",)


@pytest.fixture(autouse=True)
def sections_planned_once() -> None:
    """Many tests print the same specimens at the same settings; a test that plans counts on its own patches."""
    module = sys.modules.get(_SECTIONS)
    if module is not None and not isinstance(module.plan_region, _Remembered):
        module.plan_region = _Remembered(module.plan_region)
