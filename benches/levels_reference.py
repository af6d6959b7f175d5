"""Times scipy's least squares on the scenes of benches/levels.rs: the same readings, analytic Jacobian, one start.

Needs numpy and scipy; no part of the program needs this file. Run it right before or after `cargo bench --bench levels`.
One thread, as there.
"""

import os
import time

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")

import numpy as np
import scipy
from scipy.optimize import least_squares

START = (250.0, -100.0)


def readings(count):
    """The same scene, number for number, as `readings` in levels.rs."""
    state, errors = 12_345, np.empty(count)
    for i in range(count):
        total = 0.0
        for _ in range(12):
            state = (state * 1_664_525 + 1_013_904_223) % 2**32
            total += state / 2.0**32
        errors[i] = 6.0 * (total - 6.0)
    i = np.arange(count)
    turn = 2.399963229728653 * i
    radius = 600.0 / np.sqrt(count) * np.sqrt(i + 0.5)
    east, north = radius * np.sin(turn), radius * np.cos(turn)
    distance = np.maximum(np.hypot(east - 120.0, north - 90.0), 1.0)
    return east, north, -20.0 - 30.0 * np.log10(distance) + errors


def problem(east, north, level, sigma=6.0):
    decades = 10.0 / np.log(10.0)

    def residuals(p):
        square = (p[0] - east) ** 2 + (p[1] - north) ** 2
        return (level - p[2] + p[3] * 0.5 * decades * np.log(square)) / sigma

    def jacobian(p):
        de, dn = p[0] - east, p[1] - north
        square = de * de + dn * dn
        scale = p[3] * decades / square / sigma
        ones = np.full(len(east), -1.0 / sigma)
        return np.column_stack((scale * de, scale * dn, ones, 0.5 * decades * np.log(square) / sigma))

    return residuals, jacobian


def main():
    print(f"numpy {np.__version__}, scipy {scipy.__version__}")
    for count in (100, 5_000, 20_000, 200_000):
        east, north, level = readings(count)
        residuals, jacobian = problem(east, north, level)
        start = np.array([*START, level.max(), 3.0])
        for method in ("lm", "trf"):
            times = []
            for _ in range(15):
                begun = time.perf_counter()
                found = least_squares(residuals, start, jacobian, method=method, x_scale="jac")
                times.append(time.perf_counter() - begun)
            east_, north_, start_, exponent = found.x
            print(
                f"{count:>7} readings, {method:>3}: median {1e3 * np.median(times):8.3f} ms, best {1e3 * min(times):8.3f} ms, "
                f"{found.nfev} evaluations, east {east_:.4f} north {north_:.4f} start {start_:.4f} exponent {exponent:.5f}"
            )


if __name__ == "__main__":
    main()
