//! The constants of the robust losses, by quadrature of the efficiency of a location estimate under normal errors,
//! (∫ψ′φ)² / ∫ψ²φ (`azimark::sources::HUBER1964`), with ψ′ and ψ from the library's curvature and weight.

use azimark::numeric::loss::{CAUCHY, HUBER, Loss, TUKEY};

/// ∫ f φ over the line for an even f that is smooth but at `corner`: Simpson's rule on either side of it.
fn expectation(f: impl Fn(f64) -> f64, corner: f64) -> f64 {
    let simpson = |a: f64, b: f64| {
        let n = 4_000;
        let h = (b - a) / f64::from(n);
        let sum: f64 = (0..=n)
            .map(|i| {
                let x = a + h * f64::from(i);
                let weight = if i == 0 || i == n {
                    1.0
                } else if i % 2 == 1 {
                    4.0
                } else {
                    2.0
                };
                weight * f(x) * (-0.5 * x * x).exp()
            })
            .sum();
        sum * h / 3.0
    };
    // A hair inside of the corner and a hair outside of it, so that each piece sees its own side.
    let hair = 1e-12 * corner;
    2.0 * (simpson(0.0, corner - hair) + simpson(corner + hair, 14.0)) / std::f64::consts::TAU.sqrt()
}

fn efficiency(loss: Loss, corner: f64) -> f64 {
    let slope = expectation(|u| loss.curvature(u), corner);
    let power = expectation(|u| (u * loss.weight(u)).powi(2), corner);
    slope * slope / power
}

/// The constant at which a loss has an efficiency, by halving.
fn constant(loss: fn(f64) -> Loss, wanted: f64) -> f64 {
    let (mut low, mut high) = (0.1, 12.0);
    for _ in 0..60 {
        let middle = 0.5 * (low + high);
        if efficiency(loss(middle), middle) < wanted { low = middle } else { high = middle }
    }
    0.5 * (low + high)
}

/// Efficiencies at the customary constants: computed with mpmath 1.4.1 at 30 digits.
#[test]
fn the_customary_constants_have_their_known_efficiencies() {
    for (loss, c, exact) in [
        (Loss::Huber(HUBER), HUBER, 0.950_000_259_702_9),
        (Loss::Tukey(TUKEY), TUKEY, 0.949_997_350_069_0),
        (Loss::Cauchy(CAUCHY), CAUCHY, 0.950_002_612_167_9),
    ] {
        let found = efficiency(loss, c);
        assert!((found - exact).abs() < 1e-11, "{loss:?}: {found}");
    }
}

/// The constants for 95, 90 and 85 %, computed with mpmath 1.4.1 at 30 digits.
#[test]
fn the_constants_for_given_efficiencies_are_the_known_ones() {
    for (loss, wanted, exact) in [
        (Loss::Huber as fn(f64) -> Loss, 0.95, 1.344_997_508_512),
        (Loss::Tukey, 0.95, 4.685_064_948_543),
        (Loss::Cauchy, 0.95, 2.384_947_119_362),
        (Loss::Huber, 0.90, 0.981_802_323_038),
        (Loss::Tukey, 0.90, 3.882_661_576_246),
        (Loss::Huber, 0.85, 0.731_738_817_645),
        (Loss::Tukey, 0.85, 3.443_689_784_728),
    ] {
        let found = constant(loss, wanted);
        assert!((found - exact).abs() < 1e-9, "{:?} {wanted}: {found}", loss(exact));
    }
}
