//! The damped least squares core against the nonlinear problems of the Statistical Reference Datasets of the National
//! Institute of Standards and Technology (`azimark::sources::NISTSTRD`; see fixtures/nist/SOURCE.md): all 27, from both
//! of NIST's starts.

mod models;

use azimark::numeric::{
    derivative::disagreement,
    least_squares::{Minimum, Model as _, Normal, Options, Problem, Stop, Triangle, minimise},
};
use models::Model;
use serde_json::Value;

/// One problem as NIST states it, with our model function.
struct Case<const N: usize> {
    name: &'static str,
    difficulty: String,
    model: Model<N>,
    responses: Vec<f64>,
    predictors: Vec<Vec<f64>>,
    starts: [[f64; N]; 2],
    certified: [f64; N],
    errors: [f64; N],
    sum_of_squares: f64,
}

impl<const N: usize> Problem<N> for Case<N> {
    type Model = Triangle<N>;

    fn model(&self, at: &[f64; N]) -> Option<Triangle<N>> {
        let mut triangle = Triangle::new();
        for (y, x) in self.responses.iter().zip(&self.predictors) {
            let (value, slopes) = (self.model)(at, x);
            triangle.add(value - y, &slopes);
        }
        Some(triangle)
    }
}

fn fixture() -> Value {
    serde_json::from_str(include_str!("../../fixtures/nist/nist_strd_nonlinear.json")).unwrap()
}

fn number(value: &Value) -> f64 {
    value.as_f64().unwrap_or_else(|| value.as_str().unwrap().parse().unwrap())
}

fn numbers<const N: usize>(value: &Value) -> [f64; N] {
    let all: Vec<f64> = value.as_array().unwrap().iter().map(number).collect();
    all.try_into().unwrap()
}

fn case<const N: usize>(fixture: &Value, name: &'static str, model: Model<N>) -> Case<N> {
    let set = &fixture["datasets"][name];
    let rows: Vec<Vec<f64>> = set["data"]
        .as_array()
        .unwrap()
        .iter()
        .map(|row| row.as_array().unwrap().iter().map(number).collect())
        .collect();
    assert_eq!(rows.len() as f64, number(&set["nobs"]), "{name}");
    // Nelson's model is of the logarithm of the response.
    let response = |y: f64| if name == "Nelson" { y.ln() } else { y };
    Case {
        name,
        difficulty: set["difficulty"].as_str().unwrap().to_owned(),
        model,
        responses: rows.iter().map(|r| response(r[0])).collect(),
        predictors: rows.iter().map(|r| r[1..].to_vec()).collect(),
        starts: [numbers(&set["start1"]), numbers(&set["start2"])],
        certified: numbers(&set["certified"]),
        errors: numbers(&set["certified_sd"]),
        sum_of_squares: number(&set["rss"]),
    }
}

/// Calls `$visit` with each of the 27 problems in turn.
macro_rules! all {
    ($visit:ident) => {{
        let f = fixture();
        $visit(&case(&f, "Misra1a", models::saturation));
        $visit(&case(&f, "Chwirut2", models::chwirut));
        $visit(&case(&f, "Chwirut1", models::chwirut));
        $visit(&case(&f, "Lanczos3", models::lanczos));
        $visit(&case(&f, "Gauss1", models::gauss));
        $visit(&case(&f, "Gauss2", models::gauss));
        $visit(&case(&f, "DanWood", models::danwood));
        $visit(&case(&f, "Misra1b", models::misra1b));
        $visit(&case(&f, "Kirby2", models::kirby2));
        $visit(&case(&f, "Hahn1", models::cubics));
        $visit(&case(&f, "Nelson", models::nelson));
        $visit(&case(&f, "MGH17", models::mgh17));
        $visit(&case(&f, "Lanczos1", models::lanczos));
        $visit(&case(&f, "Lanczos2", models::lanczos));
        $visit(&case(&f, "Gauss3", models::gauss));
        $visit(&case(&f, "Misra1c", models::misra1c));
        $visit(&case(&f, "Misra1d", models::misra1d));
        $visit(&case(&f, "Roszman1", models::roszman1));
        $visit(&case(&f, "ENSO", models::enso));
        $visit(&case(&f, "MGH09", models::mgh09));
        $visit(&case(&f, "Thurber", models::cubics));
        $visit(&case(&f, "BoxBOD", models::saturation));
        $visit(&case(&f, "Rat42", models::rat42));
        $visit(&case(&f, "MGH10", models::mgh10));
        $visit(&case(&f, "Eckerle4", models::eckerle4));
        $visit(&case(&f, "Rat43", models::rat43));
        $visit(&case(&f, "Bennett5", models::bennett5));
    }};
}

/// Least number of correct digits over all `certified` values.
fn digits<const N: usize>(found: &[f64; N], certified: &[f64; N]) -> f64 {
    let worst = found.iter().zip(certified).map(|(f, c)| (f / c - 1.0).abs()).fold(0.0, f64::max);
    // NIST prints eleven digits.
    (-worst.log10()).clamp(0.0, 11.0)
}

fn standard_errors<const N: usize>(case: &Case<N>, minimum: &Minimum<N, Triangle<N>>) -> [f64; N] {
    let freedom = (case.responses.len() - N) as f64;
    let inverse = minimum.model.inverse().unwrap();
    std::array::from_fn(|j| (minimum.sum_of_squares() / freedom * inverse[j][j]).sqrt())
}

/// MGH10 needs 16 000 steps from its first start, along a valley a million times longer than wide; no other problem
/// needs more than 600.
fn patient() -> Options {
    Options { limit: 20_000, ..Options::default() }
}

/// The bar is 6 digits of every parameter; these are what is reached on all 27, from both starts.
const PARAMETER_DIGITS: f64 = 8.0;
/// The same for the standard errors of the parameters.
const ERROR_DIGITS: f64 = 8.5;
/// The same for the sum of squares.
const SUM_DIGITS: f64 = 10.0;

fn solve<const N: usize>(case: &Case<N>) {
    for (i, start) in case.starts.iter().enumerate() {
        let found = minimise(case, *start, &patient()).unwrap();
        let parameters = digits(&found.at, &case.certified);
        let errors = digits(&standard_errors(case, &found), &case.errors);
        let sum = digits(&[found.sum_of_squares()], &[case.sum_of_squares]);
        let (name, steps, stop) = (case.name, found.iterations, found.stop);
        println!(
            "{name:<9} {:<8} {} {parameters:>5.1} {errors:>5.1} {sum:>5.1} {steps:>6} {stop:?}",
            case.difficulty,
            i + 1
        );
        assert!(parameters >= PARAMETER_DIGITS, "{name}: {:?}, certified {:?}", found.at, case.certified);
        // Lanczos1 is 14-digit data without noise: its residuals are the rounding of the data, 1e-13, which doubles
        // carry to three digits.
        if name != "Lanczos1" {
            assert!(found.reached(), "{name}: {stop:?}");
            assert!(errors >= ERROR_DIGITS, "{name}: {errors}");
            assert!(sum >= SUM_DIGITS, "{name}: {sum}");
        }
    }
}

#[test]
fn all_27_problems_come_out_from_both_starts() {
    println!("problem, level, start; digits of parameters, standard errors, sum of squares; steps");
    all!(solve);
}

fn check_derivatives<const N: usize>(case: &Case<N>) {
    for at in [case.starts[0], case.starts[1], case.certified] {
        let steps = at.map(|b| 0.02 * b.abs());
        for x in &case.predictors {
            let off = disagreement(|b| (case.model)(b, x).0, &at, &steps, &(case.model)(&at, x).1);
            assert!(off < 1e-6, "{} at {at:?}, x = {x:?}: {off:e}", case.name);
        }
    }
}

/// Against central differences (`azimark::numeric::derivative`), at both starts and at the certified values, for every
/// observation.
#[test]
fn every_derivative_of_the_27_models_agrees_with_differences() {
    all!(check_derivatives);
}

/// y = b₁x^b₂ of DanWood by normal equations.
struct ByNormalEquations(Case<2>);

impl Problem<2> for ByNormalEquations {
    type Model = Normal<2>;

    fn model(&self, at: &[f64; 2]) -> Option<Normal<2>> {
        let (mut cost, mut gradient, mut curvature) = (0.0, [0.0; 2], [[0.0; 2]; 2]);
        for (y, x) in self.0.responses.iter().zip(&self.0.predictors) {
            let (value, slopes) = (self.0.model)(at, x);
            cost += 0.5 * (value - y).powi(2);
            for j in 0..2 {
                gradient[j] += (value - y) * slopes[j];
                for k in 0..2 {
                    curvature[j][k] += slopes[j] * slopes[k];
                }
            }
        }
        Some(Normal { cost, gradient, curvature, squares: [curvature[0][0], curvature[1][1]] })
    }
}

/// NIST's certified values of DanWood, by the other model.
#[test]
fn normal_equations_give_the_same_minimum_and_the_same_inverse() {
    let problem = ByNormalEquations(case(&fixture(), "DanWood", models::danwood));
    for start in problem.0.starts {
        let found = minimise(&problem, start, &Options::default()).unwrap();
        assert_eq!(found.stop, Stop::Converged);
        assert!(digits(&found.at, &problem.0.certified) > 9.0, "{:?}", found.at);
        let (here, there) =
            (found.model.inverse().unwrap(), problem.0.model(&found.at).unwrap().inverse().unwrap());
        for (a, b) in here.iter().flatten().zip(there.iter().flatten()) {
            assert!((a / b - 1.0).abs() < 1e-10, "{here:?} {there:?}");
        }
    }
}

/// ½(x + 1)², defined only above an edge.
struct Edge(f64);

impl Problem<1> for Edge {
    type Model = Triangle<1>;

    fn model(&self, at: &[f64; 1]) -> Option<Triangle<1>> {
        let mut triangle = Triangle::new();
        triangle.add(at[0] + 1.0, &[1.0]);
        (at[0] > self.0).then_some(triangle)
    }
}

#[test]
fn every_end_is_named_for_what_it_is() {
    let free = Options { reach: f64::INFINITY, ..Options::default() };
    let inside = minimise(&Edge(-5.0), [3.0], &free).unwrap();
    assert_eq!((inside.stop, inside.reached()), (Stop::Unchanged, true));
    assert!((inside.at[0] + 1.0).abs() < 1e-15);
    let near_enough = minimise(&Edge(-5.0), [3.0], &Options { deviations: 1e-6, ..free }).unwrap();
    assert_eq!((near_enough.stop, near_enough.reached()), (Stop::Converged, true));
    assert!(near_enough.iterations < inside.iterations && (near_enough.at[0] + 1.0).abs() < 1e-6);
    // The minimum lies beyond the edge: the iteration creeps up to it and no further.
    let at_edge = minimise(&Edge(1.0), [3.0], &free).unwrap();
    assert_eq!((at_edge.stop, at_edge.reached()), (Stop::Stalled, false));
    assert!(at_edge.at[0] > 1.0 && at_edge.at[0] < 1.0 + 1e-6, "{:?}", at_edge.at);
    let hasty = minimise(&Edge(-5.0), [3.0], &Options { limit: 1, ..free }).unwrap();
    assert_eq!((hasty.stop, hasty.reached()), (Stop::Limit, false));
    assert!(minimise(&Edge(5.0), [3.0], &free).is_none());
}
