"""The whole life of a log, many times over: tests/review/test_life.py with other settings.

python -m tests.fuzz.life [--lives 300] [--steps 40] [--seed 1]
"""

from __future__ import annotations

import argparse
import time

from hypothesis import HealthCheck, seed, settings
from hypothesis.stateful import run_state_machine_as_test

from tests.review.test_life import Life


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--lives", type=int, default=300)
    parser.add_argument("--steps", type=int, default=40)
    parser.add_argument("--seed", type=int, default=1)
    wanted = parser.parse_args()
    began_at = time.monotonic()
    run_state_machine_as_test(
        seed(wanted.seed)(Life),
        settings=settings(
            max_examples=wanted.lives,
            stateful_step_count=wanted.steps,
            deadline=None,
            database=None,
            suppress_health_check=list(HealthCheck),
        ),
    )
    lasted_s = time.monotonic() - began_at
    print(  # noqa: T201 - what it is run for
        f"{wanted.lives} lives of up to {wanted.steps} steps in {lasted_s:.0f} s; all held"
    )


if __name__ == "__main__":
    main()
