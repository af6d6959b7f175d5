//! Against optima of independent solvers (fixtures/divide/SOURCE.md).

use azimark::divide::{matching::pairs, transport::share};
use serde_json::Value;

fn fixture(name: &str) -> Value {
    let path = format!("{}/fixtures/divide/{name}", env!("CARGO_MANIFEST_DIR"));
    serde_json::from_str(&std::fs::read_to_string(path).unwrap()).unwrap()
}

fn numbers(value: &Value) -> Vec<f64> {
    value.as_array().unwrap().iter().map(|v| v.as_f64().unwrap()).collect()
}

fn points(value: &Value) -> Vec<Vec<f64>> {
    value.as_array().unwrap().iter().map(numbers).collect()
}

#[test]
fn points_shared_out_among_four_sites_at_the_certified_optimum() {
    let case = fixture("balanced_partition.json");
    let (at, sites) = (points(&case["points"]), points(&case["sites"]));
    let squared = |i: usize, k: usize| (at[i][0] - sites[k][0]).powi(2) + (at[i][1] - sites[k][1]).powi(2);
    let found = share(&[1.0; 40], &[10.0; 4], squared).unwrap();
    let optimum = case["optimal_cost"].as_f64().unwrap();
    assert!((found.cost - optimum).abs() < 1e-9 * optimum, "{} {optimum}", found.cost);
    // The prices certify it: no point is nearer, by squared distance plus price, to another site.
    let certificate: f64 = (0..40)
        .map(|i| (0..4).map(|k| squared(i, k) + found.prices[k]).fold(f64::INFINITY, f64::min))
        .sum::<f64>()
        - 10.0 * found.prices.iter().sum::<f64>();
    assert!((certificate - optimum).abs() < 1e-9 * optimum, "the dual bound is {certificate}");
    let told = numbers(&case["power_weights"]);
    for (i, taken) in found.taken.iter().enumerate() {
        assert_eq!(taken.len(), 1, "with whole capacities no point is shared");
        let of = |k: usize| squared(i, k) - told[k];
        assert!((0..4).all(|k| of(taken[0].0) <= of(k) + 1e-6), "point {i} by the weights in the file");
    }
}

#[test]
fn weighted_points_share_three_of_them() {
    let case = fixture("balanced_partition.json");
    let (at, sites, weights) = (points(&case["points"]), points(&case["sites"]), numbers(&case["weights"]));
    let squared = |i: usize, k: usize| (at[i][0] - sites[k][0]).powi(2) + (at[i][1] - sites[k][1]).powi(2);
    let quarter = weights.iter().sum::<f64>() / 4.0;
    let found = share(&weights, &[quarter; 4], squared).unwrap();
    let optimum = case["weighted_lp_cost"].as_f64().unwrap();
    assert!((found.cost - optimum).abs() < 1e-9 * optimum, "{} {optimum}", found.cost);
    let shared = found.taken.iter().filter(|t| t.len() > 1).count() as u64;
    assert_eq!(shared, case["weighted_split_points"].as_u64().unwrap());
    for k in 0..4 {
        let load: f64 = found.taken.iter().flatten().filter(|t| t.0 == k).map(|t| t.1).sum();
        assert!((load - quarter).abs() < 1e-9, "{load}");
    }
    assert_eq!(share(&[1.0, 1.0], &[1.0], |_, _| 0.0), None, "there is no room for both");
    assert_eq!(share(&[1.0], &[1.0], |_, _| f64::NAN), None);
}

#[test]
fn pairs_cost_as_little_as_an_independent_solver_finds() {
    for (number, case) in fixture("pairs.json").as_array().unwrap().iter().enumerate() {
        let costs = points(&case["costs"]);
        let cost = |a: usize, b: usize| costs[a.max(b)][a.min(b)] as i64;
        let mates = pairs(costs.len(), cost).unwrap();
        assert!(mates.iter().enumerate().all(|(a, b)| mates[*b] == a && a != *b));
        let sum: i64 = mates.iter().enumerate().filter(|(a, b)| a < b).map(|(a, b)| cost(a, *b)).sum();
        assert_eq!(sum, case["least"].as_i64().unwrap(), "case {number}");
    }
    assert_eq!(pairs(3, |_, _| 1), None);
    assert_eq!(pairs(0, |_, _| 1), Some(Vec::new()));
    assert_eq!(pairs(2, |_, _| -1), None);
}
