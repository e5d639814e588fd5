"""The numbers that the docstrings of the gas formulas promise, evaluated."""

import importlib
import inspect
import re

import numpy as np
import pytest

MODULES = ["gas_flow", "breathing", "blow_by", "cylinder", "pressure_line"]
EXAMPLE = re.compile(r"Example: `(.+?)` is (-?[\d.]+(?:e-?\d+)?)(?=[\s.,])", re.DOTALL)


def examples():
    for name in MODULES:
        module = importlib.import_module(f"gaugewright.physics.{name}")
        for function, held in inspect.getmembers(module, inspect.isfunction):
            for call, printed in EXAMPLE.findall(held.__doc__ or ""):
                if held.__module__ == module.__name__:
                    yield pytest.param(module, call, printed.rstrip("."), id=f"{name}.{function}")


def last_digit(printed):
    """One unit of the last printed digit."""
    digits, _, power = printed.partition("e")
    places = len(digits.partition(".")[2])
    return 10.0 ** (int(power or 0) - places)


@pytest.mark.parametrize(("module", "call", "printed"), list(examples()))
def test_example(module, call, printed):
    found = eval(call, {"abs": abs, "np": np}, vars(module))
    assert found == pytest.approx(float(printed), abs=0.51 * last_digit(printed))


def test_examples_are_found():
    assert len(list(examples())) > 30


def test_a_wrong_example_is_caught():
    assert pytest.approx(0.5282, abs=0.51 * last_digit("0.5282")) != 0.528282
