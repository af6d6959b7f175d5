//! Correlated shadowing and fast fading.

use azimark::{
    numeric::random::Random,
    simulate::{Fading, Field, Method},
    units::Metres,
};

use crate::{mean, point, variance};

/// Correlation exp(−δ/D) and variance 1 at distances from 0 to 4 D in several directions (Gudmundson 1991). The standard
/// error of a correlation ρ from n draws of a Gaussian pair is (1 − ρ²)/√n, of a variance √(2/n).
fn agrees(method: Method, draws: usize) {
    let d = 25.0;
    let points =
        vec![point(0.0, 0.0), point(2.5, 0.0), point(0.0, 12.5), point(15.0, 20.0), point(-60.0, 80.0)];
    let field = Field::new(points.clone(), Metres::new(d), method).unwrap();
    let mut random = Random::seeded(41);
    let fields: Vec<Vec<f64>> = (0..draws).map(|_| field.draw(&mut random)).collect();
    let root = (draws as f64).sqrt();
    for i in 0..points.len() {
        let own: Vec<f64> = fields.iter().map(|f| f[i]).collect();
        assert!(mean(&own).abs() < 5.0 / root, "{method:?} {i}: mean {}", mean(&own));
        assert!(
            (variance(&own) - 1.0).abs() < 5.0 * 2f64.sqrt() / root,
            "{method:?} {i}: variance {}",
            variance(&own)
        );
        for j in 0..i {
            let product: Vec<f64> = fields.iter().map(|f| f[i] * f[j]).collect();
            let apart = (points[i].east - points[j].east).hypot(points[i].north - points[j].north);
            let wanted = (-apart / d).exp();
            // The mean of products of known mean 0 and variance 1 has the variance 1 + ρ².
            let error = 5.0 * (1.0 + wanted * wanted).sqrt() / root;
            assert!((mean(&product) - wanted).abs() < error, "{method:?} {apart} m: {}", mean(&product));
        }
    }
}

#[test]
fn the_exact_field_has_the_exponential_correlation() {
    agrees(Method::Exact, 40_000);
}

/// 64 waves, so that the test shows the mean over draws to be right whatever the number of waves.
#[test]
fn the_field_of_waves_has_the_exponential_correlation_over_many_draws() {
    agrees(Method::Waves(64), 40_000);
}

/// Fourth moment of the field of waves: 3 for a normal variable, within five standard errors √(96/n).
#[test]
fn the_field_of_waves_is_normal() {
    let field = Field::new(vec![point(3.0, 4.0)], Metres::new(20.0), Method::Waves(64)).unwrap();
    let mut random = Random::seeded(42);
    let fourth: Vec<f64> = (0..40_000).map(|_| field.draw(&mut random)[0].powi(4)).collect();
    assert!((mean(&fourth) - 3.0).abs() < 5.0 * (96.0f64 / 40_000.0).sqrt(), "{}", mean(&fourth));
}

/// Somebody who stands still finds the same shadowing again: to rounding, with both methods.
#[test]
fn points_that_coincide_have_one_value() {
    let points = vec![point(0.0, 0.0), point(10.0, 0.0), point(0.0, 0.0), point(10.0, 0.0), point(5.0, 5.0)];
    for method in [Method::Exact, Method::Waves(256)] {
        let field = Field::new(points.clone(), Metres::new(15.0), method).unwrap();
        let drawn = field.draw(&mut Random::seeded(1));
        assert!((drawn[0] - drawn[2]).abs() < 1e-6 && (drawn[1] - drawn[3]).abs() < 1e-6, "{drawn:?}");
        assert!((drawn[0] - drawn[1]).abs() > 1e-3, "{drawn:?}");
    }
}

/// A sampled power of mean 1: variance (1 + 2K)/(1 + K)²/M (Rice 1944). For Rayleigh fading (K = 0, one sample) the decibels
/// have the mean −10 γ/ln 10 = −2.507 and the standard deviation 10 π/(√6 ln 10) = 5.570 (moments of the logarithm of an
/// exponential variable).
#[test]
fn fading_has_the_moments_of_rice_and_rayleigh() {
    let n = 60_000;
    let root = f64::from(n).sqrt();
    for (steady, samples) in [(0.0, 1), (0.0, 36), (3.0, 1), (10.0, 4), (0.5, 10)] {
        let fading = Fading { steady, samples };
        let mut random = Random::seeded(43);
        let powers: Vec<f64> = (0..n).map(|_| fading.draw(&mut random)).collect();
        let (m, v) = (mean(&powers), variance(&powers));
        let k = steady;
        let wanted = (1.0 + 2.0 * k) / (1.0 + k).powi(2) / f64::from(samples);
        assert!((fading.variance() - wanted).abs() < 1e-12);
        assert!((m - 1.0).abs() < 5.0 * wanted.sqrt() / root, "K {k}, {samples}: mean {m}");
        // Kurtosis at most 9 (the exponential variable's): the variance of a variance is at most 8 v²/n.
        assert!(
            (v / wanted - 1.0).abs() < 5.0 * 8f64.sqrt() / root,
            "K {k}, {samples}: variance {v}, {wanted}"
        );
    }
    let mut random = Random::seeded(44);
    let rayleigh = Fading { steady: 0.0, samples: 1 };
    let decibels: Vec<f64> = (0..n).map(|_| rayleigh.draw_db(&mut random)).collect();
    assert!((mean(&decibels) + 2.5068).abs() < 5.0 * 5.57 / root, "{}", mean(&decibels));
    // Kurtosis of the logarithm of an exponential variable: 5.4.
    let error = 5.0 * 5.57 * (4.4f64 / 4.0).sqrt() / root;
    assert!((variance(&decibels).sqrt() - 5.5700).abs() < error, "{}", variance(&decibels).sqrt());
    assert_eq!(Fading::NONE.draw(&mut random), 1.0);
}
