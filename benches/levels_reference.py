"""Times scipy's least squares on the scenes of benches/levels.rs: the same readings, analytic Jacobian, one start; and what numpy makes of
`joint` there: levels and five bearings on a grid, the law of distance integrated out by Laplace's approximation at each of its places.

numpy is given what the program has to find out: where the grid lies, that errors are independent and of 6 dB, that each bearing is right.

Needs numpy and scipy; no part of the program needs this file. Run it right before or after `cargo bench --bench levels`.
One thread, as there.
"""

import os
import time

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")

import numpy as np
import scipy
from scipy.optimize import least_squares
from scipy.special import log_ndtr

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


FLOOR, SIGMA = -105.0, 6.0
# Level at one metre and exponent, mean and standard deviation, as `LevelPriors` has them.
MEAN, DEVIATION = np.array([-20.0, 3.0]), np.array([22.0, 0.5])
HEIGHT = 5.0


def one_place(east, north, level, below, law):
    """Log likelihood of a place, and the law of distance that is most likely there, from one nearby."""
    x = -5.0 * np.log10(east * east + north * north + HEIGHT * HEIGHT)
    for _ in range(2):
        z = (level - law[0] - law[1] * x) / SIGMA
        tail = log_ndtr(z[below])
        # The slope of log Φ and its curvature.
        mills = np.exp(-0.5 * z[below] ** 2 - tail) / np.sqrt(2.0 * np.pi)
        pull, stiff = z / SIGMA, np.full(len(z), 1.0 / SIGMA**2)
        pull[below] = -mills / SIGMA
        stiff[below] = mills * (mills + z[below]) / SIGMA**2
        off = (MEAN - law) / DEVIATION**2
        slope = np.array([pull.sum(), pull @ x]) + off
        cross = stiff @ x
        hessian = np.array([[stiff.sum(), cross], [cross, stiff @ (x * x)]]) + np.diag(1.0 / DEVIATION**2)
        step = np.linalg.solve(hessian, slope)
        log = -0.5 * (z[~below] @ z[~below]) + tail.sum() - 0.5 * (((law - MEAN) / DEVIATION) ** 2).sum()
        log += 0.5 * slope @ step - 0.5 * np.linalg.slogdet(hessian)[1]
        law = law + step
    return log, law


def joint(count, half, steps):
    """Area of the 95 % region in square metres, from a grid of `steps` to a side, `half` metres to each side of the emitter."""
    east, north, level = readings(count)
    below = level < FLOOR
    level = np.where(below, FLOOR, level)
    turn = 1.2566 * np.arange(5) + 0.3
    stands = 120.0 + 500.0 * np.sin(turn), 90.0 + 500.0 * np.cos(turn)
    read = turn + np.pi + np.radians(3.0 * np.sin(1.7 * np.arange(5)))
    axis = (np.arange(steps) + 0.5) * 2.0 * half / steps - half
    log, law = np.empty((steps, steps)), np.array([-20.0, 3.0])
    for i, e in enumerate(120.0 + axis):
        for j, n in enumerate(90.0 + axis):
            log[i, j], law = one_place(east - e, north - n, level, below, law)
            miss = np.sin(0.5 * (np.arctan2(e - stands[0], n - stands[1]) - read))
            log[i, j] -= 2.0 * (miss @ miss) / np.radians(4.0) ** 2
    mass = np.sort(np.exp(log - log.max()).ravel())[::-1]
    cells = np.searchsorted(np.cumsum(mass), 0.95 * mass.sum()) + 1
    return cells * (2.0 * half / steps) ** 2


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
    for count, half in ((5_000, 12.0), (20_000, 6.0)):
        begun = time.perf_counter()
        area = joint(count, half, 40)
        print(f"{count:>7} readings and 5 bearings: {time.perf_counter() - begun:.2f} s on a grid of 40 by 40, 95 % in {area:.0f} m²")


if __name__ == "__main__":
    main()
