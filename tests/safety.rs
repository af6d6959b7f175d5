//! Exposure limits and distances against printed tables and worked examples.

use azimark::{
    safety::{ExposureError, Rule, Tier, exposure, limit},
    units::{Hertz, Watts},
};

fn distance(mhz: f64, eirp: f64, rule: Rule, tier: Tier, reflection: f64) -> f64 {
    let found = exposure(Hertz::mhz(mhz), Watts::new(eirp)).unwrap();
    let row = found.distances.iter().find(|d| d.rule == rule && d.tier == tier && d.reflection == reflection);
    row.unwrap().distance.value()
}

/// fixtures/exposure/limits.csv (its SOURCE.md): 24 frequencies, six limits; an empty cell means that the rule has none.
#[test]
fn the_limits_are_those_of_the_tables() {
    let mut checked = 0;
    for line in include_str!("../fixtures/exposure/limits.csv").lines().skip(1) {
        let cells: Vec<&str> = line.split(',').collect();
        let at = Hertz::mhz(cells[0].parse().unwrap());
        for (i, rule, tier, unit) in [
            (1, Rule::Cfr1310, Tier::Occupational, 10.0),
            (2, Rule::Cfr1310, Tier::Public, 10.0),
            (3, Rule::Icnirp2020, Tier::Occupational, 1.0),
            (4, Rule::Icnirp2020, Tier::Public, 1.0),
            (5, Rule::Icnirp2020Local, Tier::Occupational, 1.0),
            (6, Rule::Icnirp2020Local, Tier::Public, 1.0),
        ] {
            let found = limit(rule, tier, at).map(|l| l.0);
            if cells[i].is_empty() {
                assert_eq!(found, None, "{line} column {i}");
                continue;
            }
            let expected = unit * cells[i].parse::<f64>().unwrap();
            assert!((found.unwrap() / expected - 1.0).abs() < 1e-12, "{line} column {i}: {found:?}");
            checked += 1;
        }
    }
    assert!(checked > 100, "{checked}");
}

/// fixtures/exposure/distances.csv (its SOURCE.md), printed to eight digits.
#[test]
fn the_distances_of_eight_emitters_are_reproduced() {
    let mut checked = 0;
    for line in include_str!("../fixtures/exposure/distances.csv").lines().skip(1) {
        // The name may hold commas: the figures are the last ten cells.
        let mut cells: Vec<&str> = line.rsplit(',').take(10).collect();
        cells.reverse();
        let f = |i: usize| cells[i].parse::<f64>().unwrap();
        for (i, rule, tier, k) in [
            (2, Rule::Cfr1310, Tier::Occupational, 1.0),
            (3, Rule::Cfr1310, Tier::Public, 1.0),
            (4, Rule::Cfr1310, Tier::Occupational, 2.56),
            (5, Rule::Cfr1310, Tier::Public, 2.56),
            (8, Rule::Icnirp2020, Tier::Occupational, 1.0),
            (9, Rule::Icnirp2020, Tier::Public, 1.0),
        ] {
            if !cells[i].is_empty() {
                let found = distance(f(0), f(1), rule, tier, k);
                assert!((found / f(i) - 1.0).abs() < 1e-7, "{line}: {found}");
                checked += 1;
            }
        }
    }
    assert_eq!(checked, 44);
}

/// FCC OET Bulletin 65 Supplement B, table for moon-bounce arrays: 144 MHz, 24 dBi, factor 2.56; 150 W: 90 ft, 500 W: 166
/// ft, 1500 W: 287 ft and 642 ft (controlled and uncontrolled), printed to the foot.
#[test]
fn the_supplements_table_is_reproduced_to_a_foot() {
    for (watts, tier, feet) in [
        (150.0, Tier::Occupational, 90.0),
        (500.0, Tier::Occupational, 166.0),
        (1500.0, Tier::Occupational, 287.0),
        (1500.0, Tier::Public, 642.0),
    ] {
        let found = distance(144.0, watts * 10f64.powf(2.4), Rule::Cfr1310, tier, 2.56) / 0.3048;
        assert!((found - feet).abs() < 1.0, "{watts} W: {found} ft");
    }
}

/// Worked example of an open collection of formulas after OET-65: 100 W, half of the time, a mode of 20 %, 2.2 dBi, 29 MHz:
/// limits 1.070154577883472 and 0.2140309155766944 mW/cm², distances with reflection 1.84406757341948 and
/// 4.123460449269042 ft.
#[test]
fn a_worked_example_with_a_duty_cycle_is_reproduced() {
    let eirp = 100.0 * 0.5 * 0.2 * 10f64.powf(0.22);
    let mw = |tier| limit(Rule::Cfr1310, tier, Hertz::mhz(29.0)).unwrap().0 / 10.0;
    assert!((mw(Tier::Occupational) - 1.070_154_577_883_472).abs() < 1e-12);
    assert!((mw(Tier::Public) - 0.214_030_915_576_694_4).abs() < 1e-12);
    let feet = |tier| distance(29.0, eirp, Rule::Cfr1310, tier, 2.56) / 0.3048;
    assert!((feet(Tier::Occupational) - 1.844_067_573_419_48).abs() < 1e-10);
    assert!((feet(Tier::Public) - 4.123_460_449_269_042).abs() < 1e-10);
}

/// A filing that uses the equation of OET-65 page 18: 39.811 mW at 0 dBi and 20 cm give 0.007920 mW/cm². Where a limit of
/// that density applies, the distance is 20 cm.
#[test]
fn the_density_of_a_filing_is_reproduced() {
    let density = 0.039_811 / (4.0 * std::f64::consts::PI * 0.2f64.powi(2)) / 10.0;
    assert!((density - 0.007_920).abs() < 5e-7, "printed to six decimals: {density}");
    let public = limit(Rule::Cfr1310, Tier::Public, Hertz::mhz(2450.0)).unwrap().0;
    let found = distance(2450.0, 0.039_811 * public / (10.0 * density), Rule::Cfr1310, Tier::Public, 1.0);
    assert!((found - 0.2).abs() < 1e-9, "{found}");
}

/// The pieces of 47 CFR 1.1310 meet at 3, 30, 300 and 1500 MHz; only the public limit steps at 1.34 MHz, by 0.25 %.
#[test]
fn the_table_is_continuous_where_the_rule_is() {
    for tier in [Tier::Public, Tier::Occupational] {
        for edge in [3.0, 30.0, 300.0, 1500.0] {
            let at = |f: f64| limit(Rule::Cfr1310, tier, Hertz::mhz(f)).unwrap().0;
            assert!((at(edge * (1.0 - 1e-9)) / at(edge) - 1.0).abs() < 1e-8, "{edge}");
        }
    }
}

#[test]
fn a_tiny_distance_is_called_near_field_and_no_power_is_refused() {
    let tiny = exposure(Hertz::mhz(841.5), Watts::new(0.051)).unwrap();
    assert!(tiny.distances.iter().all(|d| !d.holds));
    assert!(tiny.to_string().starts_with("Near field"));
    let outside = Hertz::mhz(0.1);
    assert_eq!(exposure(outside, Watts::new(1.0)), Err(ExposureError::FrequencyOutsideTables(outside)));
    assert_eq!(exposure(Hertz::mhz(100.0), Watts::new(f64::NAN)), Err(ExposureError::NoPower));
}
