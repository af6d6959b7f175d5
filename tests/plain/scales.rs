//! Circular error and the scales of confidence ellipses.

use azimark::{
    numeric::quantile::{ellipse_scale, ellipse_scale_estimated},
    region::{Ellipse, Scale},
    units::{Angle, Confidence, Metres},
};

fn rows(text: &str) -> Vec<Vec<f64>> {
    text.lines().skip(1).map(|l| l.split(',').map(|v| v.parse().unwrap()).collect()).collect()
}

fn shaped(ratio: f64) -> Ellipse {
    Ellipse { semi_major: Metres::new(1.0), semi_minor: Metres::new(ratio), azimuth: Angle::ZERO }
}

/// fixtures/regions/cep_exact.csv, computed with mpmath at 40 digits: 21 axis ratios, four probabilities.
#[test]
fn the_circular_error_is_exact_for_every_axis_ratio() {
    let rows = rows(include_str!("../../fixtures/regions/cep_exact.csv"));
    assert_eq!(rows.len(), 21);
    let mut worst: f64 = 0.0;
    for row in rows {
        for (p, exact) in [0.5, 0.9, 0.95, 0.99].into_iter().zip(&row[1..]) {
            let found = shaped(row[0]).circular_error(Confidence::fraction(p).unwrap()).value();
            worst = worst.max((found / exact - 1.0).abs());
            assert!((found - exact).abs() < 1e-9, "ratio {}, {p}: {found}, not {exact}", row[0]);
        }
    }
    println!("largest relative error {worst:.1e}");
}

/// How far off the customary approximations are, from the same table, axis ratios in steps of 0.05: 0.563 a + 0.614 b within −0.365 and
/// +0.093 % above a ratio of 0.3 but −16.53 % for a line; 0.589 (a + b) within −12.68 and +2.22 %; ¾ of the distance root
/// mean square from −9.92 to +11.20 %.
#[test]
fn the_customary_approximations_are_as_far_off_as_they_are_known_to_be() {
    let errors = |approximate: fn(f64) -> f64, from: i32| {
        let all: Vec<f64> = (from..=20)
            .map(|i| f64::from(i) / 20.0)
            .map(|b| 100.0 * (approximate(b) / shaped(b).circular_error(Confidence::P50).value() - 1.0))
            .collect();
        (all.iter().copied().fold(f64::INFINITY, f64::min), all.iter().copied().fold(-100.0, f64::max))
    };
    let (low, high) = errors(|b| 0.563 + 0.614 * b, 6);
    assert!((low + 0.365).abs() < 0.001 && (high - 0.093).abs() < 0.001, "{low} {high}");
    assert!((errors(|b| 0.563 + 0.614 * b, 0).0 + 16.53).abs() < 0.006);
    let (low, high) = errors(|b| 0.589 * (1.0 + b), 0);
    assert!((low + 12.68).abs() < 0.006 && (high - 2.22).abs() < 0.006, "{low} {high}");
    let (low, high) = errors(|b| 0.75 * b.hypot(1.0), 0);
    assert!((low + 9.92).abs() < 0.005 && (high - 11.20).abs() < 0.005, "{low} {high}");
}

/// √(−2 ln(1 − P)), computed with mpmath 1.4.1 at 40 digits.
#[test]
fn the_scale_of_an_ellipse_with_known_errors_is_exact() {
    for (p, exact) in [
        (0.5, 1.177_410_022_515_474_7),
        (0.9, 2.145_966_026_289_347),
        (0.95, 2.447_746_830_680_816_5),
        (0.99, 3.034_854_258_770_293),
    ] {
        assert!((ellipse_scale(p) / exact - 1.0).abs() < 1e-12, "{p}");
    }
    // What one, two and three deviations hold, 1 − exp(−k²/2), by the same arithmetic.
    for (k, p) in
        [(1.0, 0.393_469_340_287_366_6), (2.0, 0.864_664_716_763_387_3), (3.0, 0.988_891_003_461_757_7)]
    {
        assert!((ellipse_scale(p) / k - 1.0).abs() < 1e-12, "{k}");
    }
    // Area over that of the ellipse of one deviation, π k².
    let area = shaped(1.0).widened(Confidence::P95, Scale::Known).area();
    assert!((area.value() - 18.822_741_01).abs() < 1e-8);
}

/// fixtures/regions/ellipse_F_scale.csv, computed with mpmath at 40 digits: 13 degrees of freedom, five probabilities.
#[test]
fn the_scale_of_an_ellipse_with_estimated_errors_is_exact() {
    let rows = rows(include_str!("../../fixtures/regions/ellipse_F_scale.csv"));
    assert_eq!(rows.len(), 13);
    let one = 1.0 - (-0.5f64).exp();
    for row in rows {
        for (p, exact) in [one, 0.5, 0.9, 0.95, 0.99].into_iter().zip(&row[1..]) {
            let found = ellipse_scale_estimated(p, row[0]);
            // The first column's probability is printed to six digits, but meant as 1 − exp(−½).
            assert!((found / exact - 1.0).abs() < 1e-10, "{} {p}: {found}, not {exact}", row[0]);
        }
    }
}

/// A "95 %" ellipse of known errors, drawn with errors that were estimated from the residuals, holds much less: the
/// probability at which the right scale equals that of known errors. Computed with mpmath at 40 digits (linear theory).
#[test]
fn an_ellipse_that_takes_estimated_errors_for_known_holds_less() {
    for (freedom, holds) in [
        (1.0, 0.621_805),
        (2.0, 0.749_733),
        (3.0, 0.807_276),
        (5.0, 0.860_432),
        (10.0, 0.904_378),
        (20.0, 0.927_223),
    ] {
        let k = ellipse_scale(0.95);
        let low = ellipse_scale_estimated(holds - 6e-7, freedom);
        let high = ellipse_scale_estimated(holds + 6e-7, freedom);
        assert!(low < k && k < high, "{freedom}: {low} {k} {high}");
    }
}
