//! Closed forms that the covariance of a plain fix must obey.

use std::f64::consts::PI;

use azimark::{
    numeric::{quantile::ellipse_scale, random::Random},
    solve::plain::{Line, Method},
};

use crate::{azimuth, distance, drms, ellipse, line, problem};

/// A line whose bearing of the origin is exact, from `range` metres away in the direction `from` degrees.
fn toward_origin(from: f64, range: f64, sigma: f64) -> Line {
    let (sin, cos) = from.to_radians().sin_cos();
    line(range * sin, range * cos, azimuth((range * sin, range * cos), (0.0, 0.0)), sigma)
}

/// Two bearings 1 km off, 2° each, that cross at six angles: √(p₁² + p₂²)/sin γ with pᵢ = rᵢσᵢ
/// (`azimark::sources::STANSFIELD1947`); digits computed with mpmath at 40 digits.
#[test]
fn two_bearings_have_stansfields_closed_form() {
    for (angle, exact) in [
        (10.0, 284.283_812_49),
        (20.0, 144.334_674_27),
        (30.0, 98.730_731_96),
        (45.0, 69.813_170_08),
        (60.0, 57.002_214_67),
        (90.0, 49.365_365_98),
    ] {
        let lines = [toward_origin(0.0, 1000.0, 2.0), toward_origin(angle, 1000.0, 2.0)];
        let fix = problem(&lines).solve(Method::Gaussian).unwrap();
        assert!((drms(&fix) - exact).abs() < 1e-8, "{angle}°: {}", drms(&fix));
        assert!(distance(&fix, (0.0, 0.0)) < 1e-9, "{angle}°");
    }
}

/// The axes of the same ellipse, [(p₁² + p₂²) ± √((p₁² + p₂²)² − 4 p₁² p₂² sin² γ)]/(2 sin² γ), with unequal ranges and
/// errors (`azimark::sources::STANSFIELD1947`).
#[test]
fn two_unlike_bearings_have_stansfields_axes() {
    let mut random = Random::seeded(31);
    for _ in 0..200 {
        let (r, s) = ((200.0 + 3000.0 * random.uniform(), 1.0 + 4.0 * random.uniform()), (700.0, 3.0));
        let angle = 10.0 + 160.0 * random.uniform();
        let lines = [toward_origin(20.0, r.0, r.1), toward_origin(20.0 + angle, s.0, s.1)];
        let (p, q) = ((r.0 * r.1.to_radians()).powi(2), (s.0 * s.1.to_radians()).powi(2));
        let sine = angle.to_radians().sin().powi(2);
        let root = ((p + q).powi(2) - 4.0 * p * q * sine).sqrt();
        let e = ellipse(&problem(&lines).solve(Method::Gaussian).unwrap());
        let major = ((p + q + root) / (2.0 * sine)).sqrt();
        // The smaller axis from the product of both, p₁p₂/sin γ, lest the difference lose digits.
        let minor = (p * q / sine).sqrt() / major;
        assert!((e.semi_major.value() / major - 1.0).abs() < 1e-10);
        assert!((e.semi_minor.value() / minor - 1.0).abs() < 1e-10);
    }
}

/// Position lines of equal error σ: with A = Σ cos² Z, B = Σ cos Z sin Z, C = Σ sin² Z over the azimuths Z across the lines
/// and θ = ½ atan(2B/(A − C)), the axes are σk/√(n/2 ± B/sin 2θ), the first along θ. The Nautical Almanac's method for a
/// fix from position lines, as quoted by A. Ruiz on a navigation mailing list in October 2003.
#[test]
fn equal_position_lines_have_the_nautical_almanacs_ellipse() {
    let mut random = Random::seeded(47);
    let k = ellipse_scale(0.95);
    for trial in 0..200 {
        let n = 3 + trial % 6;
        let across = 25.0;
        let lines: Vec<Line> = (0..n)
            .map(|_| {
                let range = 300.0 + 2000.0 * random.uniform();
                toward_origin(360.0 * random.uniform(), range, f64::to_degrees(across / range))
            })
            .collect();
        let (mut a, mut b, mut c) = (0.0, 0.0, 0.0);
        for l in &lines {
            let (sin, cos) = (l.azimuth.to_radians() + PI / 2.0).sin_cos();
            (a, b, c) = (a + cos * cos, b + cos * sin, c + sin * sin);
        }
        let theta = 0.5 * (2.0 * b / (a - c)).atan();
        let lean = b / (2.0 * theta).sin();
        let half = n as f64 / 2.0;
        let along = across * k / (half + lean).sqrt();
        let abeam = across * k / (half - lean).sqrt();
        // Almost parallel lines, where the almanac's own difference loses the digits that are to be compared.
        if (half - lean.abs()) < 0.02 * half {
            continue;
        }
        let fix = problem(&lines).solve(Method::Gaussian).unwrap();
        let e = ellipse(&fix);
        let (major, minor) = (k * e.semi_major.value(), k * e.semi_minor.value());
        assert!((major / along.max(abeam) - 1.0).abs() < 1e-12, "{trial}: {major} {along} {abeam}");
        assert!((minor / along.min(abeam) - 1.0).abs() < 1e-12, "{trial}: {minor} {along} {abeam}");
        let azimuth = if along > abeam { theta } else { theta + PI / 2.0 };
        assert!((e.azimuth.to_radians() - azimuth).sin().abs() < 1e-9, "{trial}");
    }
}

/// Equal ranges and errors, azimuths spread so that Σ exp(2jφ) = 0: the least trace of the covariance is 4r²σ²/N (A. N.
/// Bishop et al., "Optimality analysis of sensor-target localization geometries", Automatica 46 (2010) 479–492, carried
/// from memory); digits computed with mpmath at 40 digits.
#[test]
fn the_best_geometry_has_its_known_trace() {
    for (n, exact) in [
        (2, 2_436.939_358_293_668_8),
        (3, 1_624.626_238_862_446),
        (4, 1_218.469_679_146_834_4),
        (5, 974.775_743_317_467_5),
        (8, 609.234_839_573_417_2),
    ] {
        let lines: Vec<Line> =
            (0..n).map(|i| toward_origin(17.0 + 180.0 * f64::from(i) / f64::from(n), 1000.0, 2.0)).collect();
        let fix = problem(&lines).solve(Method::Gaussian).unwrap();
        let trace = fix.covariance[0] + fix.covariance[2];
        assert!((trace / exact - 1.0).abs() < 1e-10, "{n}: {trace}");
        // Any other spread of the same stands is worse.
        let worse: Vec<Line> =
            (0..n).map(|i| toward_origin(17.0 + 120.0 * f64::from(i) / f64::from(n), 1000.0, 2.0)).collect();
        let fix = problem(&worse).solve(Method::Gaussian).unwrap();
        assert!(fix.covariance[0] + fix.covariance[2] > 1.001 * exact, "{n}");
    }
}
