"""Times the same posterior in numpy on the scenes of benches/posterior.rs, and prints the areas of its regions to compare.

Needs numpy and scipy; no part of the program needs this file. Run it right before or after `cargo bench --bench posterior`.
One thread, as there.

The model is that of `solve::density` without places that foreign bearings share: each bearing direct, reversed or foreign; the
foreign share, the common scale of the errors and the error of the compass summed over nodes; a bivariate Cauchy density of the
place. numpy is given what the program has to find out: that one square of ten standard deviations to each side of the least-squares
place holds all the mass. The program searches 100 km.
"""

import os
import time

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")

import numpy as np
import scipy
from scipy.optimize import least_squares
from scipy.special import i0e, roots_hermitenorm, roots_jacobi

GRID = 160
SIGMA = np.radians(3.0)
SPREAD, REVERSED, FOREIGN = 0.1, 0.02, (0.4, 3.6)
COMPASS = (0.6, np.radians(13.0))
POSITION = 10.0**2


def bearings(count):
    """The same scene, number for number, as `notes` in posterior.rs, on a plane about the emitter."""
    i = np.arange(count)
    around = np.radians(360.0 * i / count + 17.0)
    east, north = 1000.0 * np.sin(around), 1000.0 * np.cos(around)
    azimuth = around + np.pi + np.radians(3.0 * np.sin(1.7 * i))
    return east, north, azimuth


def nodes():
    x, w = roots_hermitenorm(2)
    scales = [(np.exp(SPREAD * a), b / w.sum()) for a, b in zip(x, w)]
    a, b = FOREIGN
    x, w = roots_jacobi(3, b - 1.0, a - 1.0)
    foreign = [((1.0 + t) / 2.0, v / w.sum()) for t, v in zip(x, w)]
    p, sigma = COMPASS
    k = np.arange(-12, 13)
    step = 2.0 * sigma / 12.0
    weight = np.exp(-0.5 * (k * step / sigma) ** 2)
    weight = p * weight / weight.sum() + np.where(k == 0, 1.0 - p, 0.0)
    return list(zip(k * step, weight)), scales, foreign


def log_density(x, y, scene):
    """Log density at points, up to a constant."""
    compasses, scales, foreign = nodes()
    east, north, azimuth = scene
    knee = 2.0 * np.sqrt(np.mean((east - east.mean()) ** 2 + (north - north.mean()) ** 2))
    dx, dy = x[None, :] - east[:, None], y[None, :] - north[:, None]
    square = dx * dx + dy * dy
    miss = azimuth[:, None] - np.arctan2(dx, dy)
    logs = []
    for turn, compass_weight in compasses:
        cosine = np.cos(miss + turn)
        for scale, scale_weight in scales:
            variance = scale**2 * (SIGMA**2 + POSITION / square)
            kappa = (1.0 + 0.5 * variance) / (variance * (1.0 + 0.05 * variance**3))
            peak = 1.0 / (2.0 * np.pi * i0e(kappa))
            front, back = peak * np.exp(kappa * (cosine - 1.0)), peak * np.exp(kappa * (-cosine - 1.0))
            for share, foreign_weight in foreign:
                odds = share / (1.0 - share)
                away = (1.0 - REVERSED) * odds / (1.0 + odds)
                direct = 1.0 - REVERSED - away
                product = np.log(direct * front + REVERSED * back + away / (2.0 * np.pi)).sum(axis=0)
                logs.append(product + np.log(compass_weight * scale_weight * foreign_weight))
    top = np.max(logs, axis=0)
    total = top + np.log(np.sum(np.exp(np.array(logs) - top), axis=0))
    return total - 1.5 * np.log(knee**2 + x * x + y * y)


def solve(scene):
    """Areas of the regions of 50, 90 and 95 %, square metres."""
    east, north, azimuth = scene

    def residuals(p):
        miss = azimuth - np.arctan2(p[0] - east, p[1] - north)
        return np.arctan2(np.sin(miss), np.cos(miss)) / SIGMA

    found = least_squares(residuals, [10.0, 10.0], method="lm")
    half = 10.0 * np.sqrt(np.linalg.eigvalsh(np.linalg.inv(found.jac.T @ found.jac)).max())
    axis = np.linspace(-half, half, GRID)
    x, y = np.meshgrid(found.x[0] + axis, found.x[1] + axis)
    logs = log_density(x.ravel(), y.ravel(), scene)
    mass = np.sort(np.exp(logs - logs.max()))[::-1]
    held = np.cumsum(mass) / mass.sum()
    cell = (axis[1] - axis[0]) ** 2
    return [cell * (np.searchsorted(held, share) + 1) for share in (0.5, 0.9, 0.95)]


def main():
    print(f"numpy {np.__version__}, scipy {scipy.__version__}")
    for count in (12, 100):
        scene = bearings(count)
        times = []
        for _ in range(3):
            began = time.process_time()
            areas = solve(scene)
            times.append(time.process_time() - began)
        told = ", ".join(f"{a:.0f}" for a in areas)
        print(f"{count:3d} bearings: best {1e3 * min(times):.0f} ms of processor time; areas {told} m²")


if __name__ == "__main__":
    main()
