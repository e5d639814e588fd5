"""The interface as it is described, asked for odd things: never a failure of ours."""

from __future__ import annotations

from typing import Any

import pytest


@pytest.mark.slow
@pytest.mark.filterwarnings("ignore")  # the fuzzing library's own, about its dependencies
def test_no_request_ends_in_a_failure_of_ours(running: Any, demo: str) -> None:
    import schemathesis
    from hypothesis import HealthCheck, Phase, given, settings

    schema = schemathesis.openapi.from_url(f"{running.address}/openapi.json")
    operations = [result.ok() for result in schema.get_all_operations()]
    asked = 0
    for operation in operations:
        if operation.path.endswith("/demo") or "/practice" in operation.path:
            continue

        @settings(
            max_examples=12,
            deadline=None,
            database=None,
            derandomize=True,
            phases=[Phase.generate],
            suppress_health_check=list(HealthCheck),
        )
        @given(case=operation.as_strategy())
        def ask(case: Any) -> None:
            for job in (demo, None):
                if job is not None and "job" in (case.path_parameters or {}):
                    case.path_parameters["job"] = job
                answer = case.call(timeout=180)
                assert answer.status_code < 500, f"{case.method} {case.path}: {answer.text[:300]}"

        ask()
        asked += 1
    assert asked > 12
