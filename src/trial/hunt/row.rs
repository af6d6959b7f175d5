//! From outcomes to rows of a table.

use crate::{
    numeric::random::Random,
    simulate::Kind,
    trial::{
        Share,
        hunt::{MOST_MINUTES, Outcome, Way, place::KINDS},
    },
};

/// Samples of the bootstrap, and its seed.
const SAMPLES: usize = 2_000;
const BOOTSTRAP: u64 = 0xB007;

/// A quantile with the interval of 95 % that chance leaves it (percentile bootstrap over scenes, [`crate::sources::EFRON1979`]).
/// A hunt that did not meet the emitter counts as one of [`MOST_MINUTES`].
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Quantile {
    /// Minutes.
    pub value: f64,
    /// Lower end.
    pub low: f64,
    /// Upper end.
    pub high: f64,
}

/// How many times the minutes of another way ours are, with its interval: scenes are drawn in pairs.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Ratio {
    /// The other way; the best of several.
    pub to: Way,
    /// The ratio of the quantiles.
    pub value: Quantile,
}

/// One way in the scenes of one kind.
#[derive(Clone, Debug, PartialEq)]
pub struct Row {
    /// The kind.
    pub kind: Kind,
    /// The way.
    pub way: Way,
    /// Scenes.
    pub scenes: u32,
    /// Median minutes.
    pub median: Quantile,
    /// Minutes that nine hunts in ten stay below.
    pub ninety: Quantile,
    /// Share of hunts that did not meet the emitter in time.
    pub never: Share,
    /// Mean number of bearings.
    pub bearings: f64,
    /// Median metres walked.
    pub metres: f64,
    /// Of ours: median over the least median of [`Way::OTHERS`], the same of the 90th percentile, and median over that of
    /// [`Way::Truth`].
    pub ratios: Option<[Ratio; 3]>,
    /// Minutes, in increasing order.
    pub minutes: Vec<f64>,
}

/// Rows of all kinds that there are outcomes of.
pub fn rows(outcomes: &[Outcome]) -> Vec<Row> {
    let mut out = Vec::new();
    for kind in KINDS {
        let mut own: Vec<&Outcome> = outcomes.iter().filter(|o| o.task.kind == kind).collect();
        own.sort_by_key(|o| o.task.number);
        own.dedup_by_key(|o| o.task.number);
        if own.is_empty() {
            continue;
        }
        let samples = Samples::new(&own);
        out.extend(Way::ALL.into_iter().map(|way| row(kind, way, &own, &samples)));
    }
    out
}

fn row(kind: Kind, way: Way, own: &[&Outcome], samples: &Samples) -> Row {
    let hunts: Vec<_> = own.iter().filter_map(|o| o.ended(way)).collect();
    let mut never = Share::default();
    hunts.iter().for_each(|h| never.count(!h.met));
    let n = hunts.len() as f64;
    let mut minutes: Vec<f64> = samples.minutes[way as usize].clone();
    minutes.sort_by(f64::total_cmp);
    let mut metres: Vec<f64> = hunts.iter().map(|h| h.metres).collect();
    metres.sort_by(f64::total_cmp);
    let best = |q: f64| {
        let at = |w: &Way| quantile(&mut samples.minutes[*w as usize].clone(), q);
        Way::OTHERS.into_iter().min_by(|a, b| at(a).total_cmp(&at(b))).expect("there are others")
    };
    let ratio =
        |to: Way, q: f64| Ratio { to, value: samples.of(&|s| s.quantile(way, q) / s.quantile(to, q)) };
    let ratios =
        (way == Way::Planned).then(|| [ratio(best(0.5), 0.5), ratio(best(0.9), 0.9), ratio(Way::Truth, 0.5)]);
    Row {
        kind,
        way,
        scenes: hunts.len() as u32,
        median: samples.of(&|s| s.quantile(way, 0.5)),
        ninety: samples.of(&|s| s.quantile(way, 0.9)),
        never,
        bearings: hunts.iter().map(|h| f64::from(h.bearings)).sum::<f64>() / n,
        metres: sorted_quantile(&metres, 0.5),
        ratios,
        minutes,
    }
}

/// Minutes by way and scene, and the scenes of each bootstrap sample.
struct Samples {
    minutes: Vec<Vec<f64>>,
    drawn: Vec<Vec<usize>>,
}

/// Scenes, some of them several times.
struct Sample<'a> {
    minutes: &'a [Vec<f64>],
    drawn: &'a [usize],
}

impl Sample<'_> {
    fn quantile(&self, way: Way, q: f64) -> f64 {
        quantile(&mut self.drawn.iter().map(|i| self.minutes[way as usize][*i]).collect::<Vec<f64>>(), q)
    }
}

impl Samples {
    fn new(own: &[&Outcome]) -> Self {
        let of = |o: &Outcome, way: Way| {
            o.ended(way).map_or(MOST_MINUTES, |h| if h.met { h.minutes } else { MOST_MINUTES })
        };
        let minutes = Way::ALL.map(|way| own.iter().map(|o| of(o, way)).collect()).to_vec();
        let mut random = Random::seeded(BOOTSTRAP);
        let drawn = (0..SAMPLES).map(|_| (0..own.len()).map(|_| random.index(own.len())).collect()).collect();
        Self { minutes, drawn }
    }

    fn of(&self, figure: &dyn Fn(&Sample) -> f64) -> Quantile {
        let all: Vec<usize> = (0..self.minutes[0].len()).collect();
        let value = figure(&Sample { minutes: &self.minutes, drawn: &all });
        let mut values: Vec<f64> =
            self.drawn.iter().map(|drawn| figure(&Sample { minutes: &self.minutes, drawn })).collect();
        values.sort_by(f64::total_cmp);
        Quantile { value, low: sorted_quantile(&values, 0.025), high: sorted_quantile(&values, 0.975) }
    }
}

fn quantile(values: &mut [f64], q: f64) -> f64 {
    values.sort_by(f64::total_cmp);
    sorted_quantile(values, q)
}

/// Between neighbours in proportion.
fn sorted_quantile(sorted: &[f64], q: f64) -> f64 {
    let at = q * (sorted.len().max(1) - 1) as f64;
    let (low, part) = (at.floor() as usize, at - at.floor());
    let value = |i: usize| sorted.get(i).or(sorted.last()).copied().unwrap_or(f64::NAN);
    value(low) + part * (value(low + 1) - value(low))
}
