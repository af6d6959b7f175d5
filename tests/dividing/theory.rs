//! Search theory against its closed forms and published arithmetic.

use azimark::{
    divide::{Detection, theory::*},
    geodesy::{Place, Plane, PlanePoint},
    observe::{Covered, Emitter, Pass},
    units::Metres,
};

/// Koopman's two laws; digits by evaluation to 12 places.
#[test]
fn detection_against_coverage() {
    for (coverage, random, cube) in [
        (0.25, 0.221199216929, 0.245968926472),
        (0.5, 0.393469340287, 0.46911594893),
        (1.0, 0.632120558829, 0.789908594556),
        (1.5, 0.776869839852, 0.939887997716),
        (2.0, 0.864664716763, 0.987811117815),
        (3.0, 0.950212931632, 0.999830047525),
    ] {
        assert!((random_search(coverage) - random).abs() < 1e-12);
        assert!((inverse_cube(coverage) - cube).abs() < 1e-11, "{}", inverse_cube(coverage));
    }
}

/// Stone's optimum by quadrature of coverage against density, to 11 digits; the elliptical case has σ₁σ₂ for σ².
#[test]
fn effort_under_a_normal_density() {
    for (effort, radius, best, even) in [
        (0.5, 0.893243841738, 0.0612685564821, 0.0604165639016),
        (1.0, 1.06225193203, 0.110256207832, 0.108221634752),
        (std::f64::consts::PI, std::f64::consts::SQRT_2, 0.264241117657, 0.256979351644),
        (5.0, 1.58843713191, 0.35950159758, 0.348324437694),
        (10.0, 1.888980739, 0.53242279183, 0.513787763606),
        (50.0, 2.82468504581, 0.907643812264, 0.884447203234),
    ] {
        let found = best_for_normal(effort * 600.0, [20.0, 30.0]).unwrap();
        assert!((found.success - best).abs() < 1e-11 && (found.success_even - even).abs() < 1e-11);
        assert!((found.radius - radius).abs() < 1e-9, "{}", found.radius);
    }
    assert_eq!(best_for_normal(1.0, [0.0, 1.0]), None);
}

const CONTAINED: [f64; 5] = [0.35, 0.25, 0.20, 0.12, 0.08];

/// Arithmetic of containment, detection and success over two passes.
#[test]
fn two_passes_add_up() {
    let first = pass(&CONTAINED, &[0.7, 0.5, 0.0, 0.0, 0.0]).unwrap();
    assert!((first.success - 0.37).abs() < 1e-12);
    for (left, digits) in first.left.iter().zip([0.1666667, 0.1984127, 0.3174603, 0.1904762, 0.1269841]) {
        assert!((left - digits).abs() < 5e-8);
    }
    let second = pass(&first.left, &[0.3, 0.6, 0.5, 0.0, 0.0]).unwrap();
    let all = first.success + (1.0 - first.success) * second.success;
    assert!(((1.0 - first.success) * second.success - 0.2065).abs() < 1e-9 && (all - 0.5765).abs() < 1e-9);
    assert!((together(&[0.7, 0.3]) - 0.79).abs() < 1e-12 && (together(&[0.5, 0.6]) - 0.80).abs() < 1e-12);
    assert_eq!(pass(&[1.0], &[1.0]), None, "a certain search that found nothing leaves nothing");
}

/// Lagrange's allocation, digits by an independent optimiser to 1e-7.
#[test]
fn effort_goes_where_the_density_is() {
    let areas = [0.20e6, 0.30e6, 0.25e6, 0.40e6, 0.35e6];
    let success =
        |effort: &[f64]| -> f64 { (0..5).map(|i| CONTAINED[i] * random_search(effort[i] / areas[i])).sum() };
    let found = allot(&CONTAINED, &areas, 0.5e6).unwrap();
    for (effort, digits) in found.iter().zip([244872.2769, 144727.2119, 110400.5113, 0.0, 0.0]) {
        assert!((effort - digits).abs() < 1e-3, "{effort} {digits}");
    }
    for (swept, digits) in [(0.5e6, 0.4141967169), (1.0e6, 0.6025146338), (2.0e6, 0.7965520931)] {
        let found = allot(&CONTAINED, &areas, swept).unwrap();
        assert!((found.iter().sum::<f64>() - swept).abs() < 1e-3);
        assert!((success(&found) - digits).abs() < 1e-9, "{}", success(&found));
    }
    let (even, like): (Vec<f64>, Vec<f64>) =
        (0..5).map(|i| (0.5e6 * areas[i] / 1.5e6, 0.5e6 * CONTAINED[i])).unzip();
    assert!((success(&even) - 0.2834686894).abs() < 1e-9 && (success(&like) - 0.3805789243).abs() < 1e-9);
}

fn place(plane: &Plane, east: f64, north: f64) -> Place {
    plane.to_place(PlanePoint { east, north })
}

fn plane() -> Plane {
    Plane::centred_on(&[Place::from_lat_lon_degrees(47.0, 8.0).unwrap()]).unwrap()
}

/// Coverage of a straight pass: 2·range × chord over π range², by hand.
#[test]
fn a_straight_pass_detects_most_in_its_middle() {
    let plane = plane();
    let lines = vec![vec![place(&plane, -500.0, 0.0), place(&plane, 500.0, 0.0)]];
    let covered = Covered::Track { lines, range: Metres::new(40.0), detection: None };
    let mut pass = Pass { team: String::new(), time: String::new(), covered, emitter: Emitter::On };
    let at = |pass: &Pass, north: f64| Detection::of(pass, &plane).at(PlanePoint { east: 7.0, north });
    let expected =
        |off: f64| 1.0 - (-4.0 / std::f64::consts::PI * (1.0 - (off / 40.0f64).powi(2)).sqrt()).exp();
    for off in [0.0, 10.0, 24.0, 39.0] {
        assert!((at(&pass, off) - expected(off)).abs() < 1e-4, "{off}: {}", at(&pass, off));
    }
    assert_eq!(at(&pass, 41.0), 0.0);
    pass.emitter = Emitter::Unknown(0.5);
    assert!((at(&pass, 0.0) - 0.5 * expected(0.0)).abs() < 1e-4);
    pass.emitter = Emitter::Off;
    assert_eq!(at(&pass, 0.0), 0.0, "nobody finds what is off");
}
