//! The eight reference cases of fixtures/regions/bearing_fixes.json, computed with mpmath at 40 digits.

use azimark::{
    numeric::loss::{CAUCHY, HUBER, Loss, TUKEY},
    region::Scale,
    solve::plain::{Line, Method, PlainFix, PlainProblem},
    units::Confidence,
};
use serde_json::Value;

use crate::{distance, drms, ellipse, line, problem};

fn number(value: &Value) -> f64 {
    value.as_f64().unwrap_or_else(|| value.as_str().unwrap().parse().unwrap())
}

fn pair(value: &Value) -> (f64, f64) {
    (number(&value[0]), number(&value[1]))
}

fn cases() -> Vec<Value> {
    let all: Value = serde_json::from_str(include_str!("../../fixtures/regions/bearing_fixes.json")).unwrap();
    let all = all.as_array().unwrap().clone();
    assert_eq!(all.len(), 8);
    all
}

fn lines(case: &Value) -> Vec<Line> {
    let stands = case["stations_E_N_bearingdeg"].as_array().unwrap();
    let sigmas = case["sigma_deg"].as_array().unwrap();
    let one = |(s, sigma): (&Value, &Value)| line(number(&s[0]), number(&s[1]), number(&s[2]), number(sigma));
    stands.iter().zip(sigmas).map(one).collect()
}

fn each(check: impl Fn(&str, &Value, &PlainProblem)) {
    for case in cases() {
        check(case["name"].as_str().unwrap(), &case, &problem(&lines(&case)));
    }
}

fn near(name: &str, fix: &PlainFix, to: &Value) {
    let off = distance(fix, pair(to));
    assert!(off < 1e-6, "{name}: {:?} is {off:e} m off {to}", fix.at);
}

fn close(name: &str, found: f64, exact: f64, relative: f64) {
    assert!((found - exact).abs() <= relative * exact.abs(), "{name}: {found}, not {exact}");
}

#[test]
fn every_method_finds_the_place() {
    each(|name, case, problem| {
        for (method, key) in [
            (Method::Pseudolinear, "pseudolinear_unweighted"),
            (Method::Stansfield, "stansfield_fixed_point"),
            (Method::Gaussian, "ml_gauss"),
            (Method::VonMises, "ml_vonmises"),
        ] {
            let fix = problem.solve(method).unwrap();
            near(&format!("{name} {method:?}"), &fix, &case[key]);
        }
    });
}

#[test]
fn the_robust_places_are_found_too() {
    let mut met = 0;
    each(|name, case, problem| {
        let robust = &case["robust_known_sigma"];
        for (loss, key) in [
            (Loss::Huber(HUBER), "huber_1_345"),
            (Loss::Tukey(TUKEY), "tukey_4_685_from_huber"),
            (Loss::Cauchy(CAUCHY), "cauchy_2_385_from_huber"),
        ] {
            if robust.is_object() {
                let fix = problem.solve(Method::Robust(loss)).unwrap();
                near(&format!("{name} {loss:?}"), &fix, &robust[key]);
            }
        }
    });
    for case in cases() {
        met += usize::from(case["robust_known_sigma"].is_object());
    }
    assert_eq!(met, 2);
}

/// The second bearing of B6 is a reflection, 35° off: Tukey's loss gives it no weight, so that χ² is that of the other four.
#[test]
fn tukeys_loss_lets_go_of_the_reflection() {
    let case = &cases()[5];
    let all = lines(case);
    let fix = problem(&all).solve(Method::Robust(Loss::Tukey(TUKEY))).unwrap();
    let rest: Vec<Line> = all.iter().enumerate().filter(|(i, _)| *i != 1).map(|(_, l)| *l).collect();
    let without = problem(&rest).solve(Method::Robust(Loss::Tukey(TUKEY))).unwrap();
    assert!(distance(&fix, (without.at.east, without.at.north)) < 1e-6);
    close("χ²", fix.chi_square, without.chi_square, 1e-9);
    for (a, b) in fix.covariance.iter().zip(without.covariance) {
        close("covariance", *a, b, 1e-9);
    }
}

#[test]
fn the_ellipse_and_chi_square_are_right() {
    each(|name, case, problem| {
        let fix = problem.solve(Method::Gaussian).unwrap();
        let exact = number(&case["chi2"]);
        // Exact bearings: what is left of χ² is rounding.
        assert!((fix.chi_square - exact).abs() < 1e-10 * exact.max(1e-10), "{name}: {}", fix.chi_square);
        let e = ellipse(&fix);
        close(name, e.semi_major.value(), number(&case["semi_major_1sigma"]), 1e-8);
        close(name, e.semi_minor.value(), number(&case["semi_minor_1sigma"]), 1e-8);
        // A circle has no azimuth.
        if e.semi_major.value() > 1.000_001 * e.semi_minor.value() {
            let off = e.azimuth.to_degrees() - number(&case["azimuth_major_deg"]);
            assert!(off.abs() < 1e-8, "{name}: azimuth off by {off:e}°");
        }
        for (found, exact) in fix.covariance.iter().zip(case["cov_EE_EN_NN"].as_array().unwrap()) {
            let scale = e.semi_major.value().powi(2);
            assert!((found - number(exact)).abs() < 1e-8 * scale, "{name}: {:?}", fix.covariance);
        }
        close(name, drms(&fix), number(&case["drms"]), 1e-8);
    });
}

#[test]
fn the_widened_ellipses_and_the_circular_error_are_right() {
    each(|name, case, problem| {
        let fix = problem.solve(Method::Gaussian).unwrap();
        let e = ellipse(&fix);
        close(name, e.circular_error(Confidence::P50).value(), number(&case["cep50_exact"]), 1e-9);
        let known = e.widened(Confidence::P95, Scale::Known);
        let (major, minor) = pair(&case["semi_95_chi2"]);
        close(name, known.semi_major.value(), major, 1e-8);
        close(name, known.semi_minor.value(), minor, 1e-8);
        if case["dof"].is_null() {
            assert_eq!(fix.freedom, 0, "{name}");
            return;
        }
        assert_eq!(f64::from(fix.freedom), number(&case["dof"]), "{name}");
        let freedom = f64::from(fix.freedom);
        let scatter = (fix.chi_square / freedom).sqrt();
        let (exact, slight) = (number(&case["sigma0_hat"]), 1e-10);
        assert!((scatter - exact).abs() < 1e-8 * exact + slight, "{name}: {scatter}");
        let estimated = e.widened(Confidence::P95, Scale::Estimated { freedom });
        let (major, minor) = pair(&case["semi_95_F_scaled"]);
        for (axis, exact) in [(estimated.semi_major, major), (estimated.semi_minor, minor)] {
            let axis = axis.value() * scatter;
            assert!((axis - exact).abs() < 1e-8 * exact + 1e3 * slight, "{name}: {axis}, not {exact}");
        }
    });
}

/// B8 is B5 moved by a grid's false origin: the same ellipse, and the place moved by the same.
#[test]
fn moving_the_origin_by_thousands_of_kilometres_moves_only_the_place() {
    let all = cases();
    let (near, far) = (problem(&lines(&all[4])), problem(&lines(&all[7])));
    let (a, b) = (near.solve(Method::Gaussian).unwrap(), far.solve(Method::Gaussian).unwrap());
    // A double holds 4.6 million metres to 1e-9 m.
    assert!(distance(&b, (a.at.east + 500_000.0, a.at.north + 4_649_776.0)) < 3e-9);
    for (x, y) in a.covariance.iter().zip(b.covariance) {
        close("covariance", y, *x, 1e-10);
    }
}
