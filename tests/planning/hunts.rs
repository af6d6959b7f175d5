//! Simulated hunts: that they can be lost, that they do not depend on threads, and what the planner gains in them.

use azimark::trial::hunt::{self, Kind, MET_WITHIN, MOST_MINUTES, Outcome, PACE, Task, Way};

use crate::next::long;

fn outcomes(seed: u64, tasks: &[Task], threads: usize) -> Vec<Outcome> {
    let mut out = Vec::new();
    hunt::run(seed, tasks, threads, &mut |outcome| {
        out.push(outcome);
        true
    })
    .unwrap();
    out.sort_by_key(|o| (o.task.kind as u8, o.task.number));
    out
}

#[test]
fn any_number_of_threads_gives_the_same_bytes() {
    let tasks =
        [(Kind::Street, 0), (Kind::Street, 1), (Kind::Open, 0)].map(|(kind, number)| Task { kind, number });
    let one = outcomes(5, &tasks, 1);
    let two = outcomes(5, &tasks, 2);
    let lines = |all: &[Outcome]| all.iter().map(Outcome::line).collect::<Vec<_>>();
    assert_eq!(lines(&one), lines(&two));
    assert_ne!(lines(&one), lines(&outcomes(6, &tasks, 2)));
    // Written and read again, in any order: the same table, JSON and figure.
    let text =
        format!("{}\n{}\n", hunt::header(5), lines(&one).into_iter().rev().collect::<Vec<_>>().join("\n"));
    let read = hunt::read(&text, 5).unwrap().outcomes;
    let (fresh, kept) = (hunt::rows(&one), hunt::rows(&read));
    assert_eq!(fresh, kept);
    for write in [hunt::table, hunt::json, hunt::plot] {
        assert_eq!(write(&fresh, 5), write(&kept, 5));
    }
    assert!(hunt::read(&text, 6).is_err());
}

/// Who knows the place is met by nobody: the shortest way to the point of a street nearest to the emitter. Another street may
/// come within reach a little sooner, by less than the reach on either side.
#[test]
fn whoever_knows_the_place_is_the_first_and_the_planner_beats_chance() {
    let (streets, fields) = if long() { (200, 200) } else { (12, 4) };
    let mut tasks = hunt::tasks(&[Kind::Street], streets);
    tasks.extend(hunt::tasks(&[Kind::Open], fields));
    let all = outcomes(11, &tasks, 2);
    let slack = 2.0 * MET_WITHIN.value() / PACE;
    let mut quicker = 0;
    for outcome in &all {
        let truth = outcome.ended(Way::Truth).unwrap();
        assert!(truth.met && truth.bearings == 0, "{outcome:?}");
        for hunt in &outcome.hunts {
            assert!(truth.minutes <= hunt.minutes + slack, "{outcome:?}");
            assert!(hunt.minutes <= MOST_MINUTES && hunt.met == (hunt.minutes < MOST_MINUTES), "{outcome:?}");
            assert!(hunt.metres <= PACE * hunt.minutes + 1.0, "{outcome:?}");
        }
        let (ours, random) = (outcome.ended(Way::Planned).unwrap(), outcome.ended(Way::Random).unwrap());
        quicker += usize::from(ours.minutes < random.minutes);
    }
    // By chance alone 13 and more of 16 have a probability of 1.1 %, 225 of 400 one of 0.7 %.
    let least = if long() { 225 } else { 13 };
    assert!(quicker >= least, "{quicker} of {}", all.len());
    println!("{}", hunt::table(&hunt::rows(&all), 11));
}

/// Quantiles by hand: a hunt that was not met counts as one of the whole time.
#[test]
fn a_row_counts_what_there_is() {
    let outcome = |number: u32, minutes: f64| Outcome {
        task: Task { kind: Kind::Street, number },
        hunts: Way::ALL
            .into_iter()
            .map(|way| {
                let own = minutes * (1.0 + way as u8 as f64);
                let met = own < MOST_MINUTES;
                hunt::Ended { way, met, minutes: own.min(MOST_MINUTES), bearings: 2, metres: 100.0 }
            })
            .collect(),
    };
    let all: Vec<Outcome> = (0..11).map(|k| outcome(k, 10.0 + f64::from(k))).collect();
    let rows = hunt::rows(&all);
    assert_eq!((rows.len(), rows[0].scenes), (6, 11));
    assert_eq!((rows[0].median.value, rows[0].ninety.value), (15.0, 19.0));
    // The sixth way takes six times as long: 120 minutes and more from the eleventh on.
    assert_eq!((rows[5].never.hits, rows[5].ninety.value), (1, 114.0));
    let [median, ninety, truth] = rows[0].ratios.as_ref().unwrap();
    assert_eq!((median.to, median.value.value), (Way::Strongest, 0.5));
    assert_eq!((ninety.to, ninety.value.value), (Way::Strongest, 0.5));
    assert!((truth.value.value - 1.0 / 6.0).abs() < 1e-12);
    assert!(truth.value.low <= truth.value.value && truth.value.value <= truth.value.high);
    assert!(hunt::rows(&[]).is_empty());
}
