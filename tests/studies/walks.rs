//! How often the region of a walk log holds the emitter, on simulated walks with a physics of their own
//! (`azimark::simulate`): correlated shadowing, a floor, an emitter that radiates one way. Beside it a fit that takes every
//! reading as independent, which is what a plain regression does.

use azimark::{
    check,
    geodesy::course,
    region::Region,
    simulate::{self, Below, Emitter, Pattern, Propagation, Receiver, WalkPlan},
    solve::{self, Options, Problem, levels::LevelPriors},
    units::{Angle, Confidence, Db, Metres},
};

/// What became of one walk.
struct Told {
    /// Whether the 95 % region holds the emitter; `None` where it was refused.
    held: Option<bool>,
    /// Distance of the quoted place.
    miss: f64,
}

fn told(walk: &simulate::Walk, priors: LevelPriors) -> Told {
    let labelled = check::levels(&walk.readings, &[]);
    let usable = check::usable(&walk.readings, &labelled.labels);
    let sights = solve::levels::sights(&usable.levels);
    let options = Options { levels: priors, ..Options::default() };
    let Ok(fit) = solve::fit(&Problem { levels: &sights, ..Problem::default() }, &options) else {
        return Told { held: None, miss: f64::NAN };
    };
    let region = Region::of(&fit, Confidence::P95).ok();
    let miss = course(fit.quoted(), walk.truth).distance.value();
    Told { held: region.map(|r| r.holds(&fit, walk.truth)), miss }
}

/// Three ways to take the same readings: as delivered, with the model taken as exact, and with independent errors.
fn ways() -> [(&'static str, LevelPriors); 3] {
    let exact = LevelPriors { trust: f64::INFINITY, ..LevelPriors::default() };
    let independent = LevelPriors { own: [1.0; 3], pattern: [0.0; 4], bend: 0.0, ..exact };
    [
        ("as delivered", LevelPriors::default()),
        ("model taken as exact", exact),
        ("independent errors", independent),
    ]
}

/// Shares of regions that hold the emitter, of those that were not refused, for each of [`ways`], with how many there were.
fn shares(name: &str, plans: &[WalkPlan]) -> [(f64, u32); 3] {
    let walks: Vec<simulate::Walk> =
        plans.iter().map(|p| simulate::walk(p).expect("a plan that holds")).collect();
    ways().map(|(way, priors)| {
        let found: Vec<Told> = walks.iter().map(|w| told(w, priors)).collect();
        let answered = found.iter().filter(|t| t.held.is_some()).count() as u32;
        let held = found.iter().filter(|t| t.held == Some(true)).count() as f64;
        let mut misses: Vec<f64> = found.iter().map(|t| t.miss).filter(|m| m.is_finite()).collect();
        misses.sort_by(f64::total_cmp);
        let median = misses.get(misses.len() / 2).copied().unwrap_or(f64::NAN);
        let share = held / f64::from(answered.max(1));
        println!("{name}, {way}: {:.1} % of {answered} regions, median miss {median:.0} m", 100.0 * share);
        (share, answered)
    })
}

fn trials(short: u64, long: u64) -> u64 {
    if std::env::var_os("AZIMARK_LONG").is_some() { long } else { short }
}

/// A plan with an exponent between 2.5 and 4.
fn plan(seed: u64, sigma: f64, decorrelation: f64, count: usize) -> WalkPlan {
    WalkPlan {
        seed,
        count,
        shadowing: Db::new(sigma),
        decorrelation: Metres::new(decorrelation),
        propagation: Propagation::open(2.5 + 0.25 * (seed % 7) as f64),
        ..WalkPlan::default()
    }
}

/// At least nine in ten, less three binomial standard errors of as many trials.
fn assert_nine_in_ten((share, answered): (f64, u32)) {
    let error = 3.0 * (0.9f64 * 0.1 / f64::from(answered.max(1))).sqrt();
    assert!(answered > 0 && share > 0.9 - error, "{share} of {answered}");
}

#[test]
fn regions_of_walks_hold_the_emitter_where_neighbours_share_their_shadow() {
    let mut plans = Vec::new();
    for (s, sigma) in [4.0, 6.0, 8.0].into_iter().enumerate() {
        for (d, decorrelation) in [10.0, 20.0, 50.0].into_iter().enumerate() {
            let seeds = (0..trials(1, 60)).map(|t| 1000 * (3 * s + d) as u64 + t);
            let cell: Vec<WalkPlan> =
                seeds.map(|seed| plan(seed, sigma, decorrelation, trials(100, 200) as usize)).collect();
            if trials(0, 1) == 1 {
                shares(&format!("{sigma} dB, {decorrelation} m"), &cell);
            }
            plans.extend(cell);
        }
    }
    let [delivered, _, independent] = shares("all walks", &plans);
    assert_nine_in_ten(delivered);
    // What a plain fit claims is far from what it holds: the reason for all this.
    assert!(independent.0 < delivered.0, "{}", independent.0);
}

#[test]
fn regions_of_walks_hold_the_emitter_with_a_floor_and_with_a_pattern() {
    let weak = |seed| WalkPlan {
        receiver: Receiver { below: Below::Share(0.3), ..Receiver::default() },
        ..plan(seed, 6.0, 20.0, trials(80, 150) as usize)
    };
    let one_way = |seed: u64| {
        let axis = Angle::degrees(37.0 * seed as f64).compass();
        let pattern = Pattern::Cardioid { axis, front_to_back: Db::new(15.0) };
        let mut out = plan(seed, 6.0, 20.0, trials(80, 150) as usize);
        out.emitters = out.emitters.iter().map(|e| Emitter { pattern, ..*e }).collect();
        out
    };
    let count = trials(4, 100);
    assert_nine_in_ten(shares("a third below the floor", &(0..count).map(weak).collect::<Vec<_>>())[0]);
    assert_nine_in_ten(shares("front-to-back 15 dB", &(0..count).map(one_way).collect::<Vec<_>>())[0]);
}
