//! Channel occupancy, and how far its figure can be trusted.

use crate::activity::Spell;

/// Half-width of a normal distribution's 95 %.
const Z95: f64 = 1.959_963_984_540_054;

/// The relative accuracy that is asked for.
const RELATIVE: f64 = 0.1;

/// Frequency channel occupancy in the sense of [`crate::sources::SM1880`]: the share of samples above the threshold.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Occupancy {
    /// Samples.
    pub samples: usize,
    /// Those above the threshold.
    pub occupied: usize,
    /// Their share.
    pub share: f64,
    /// Lower and upper end of 95 %.
    pub interval: (f64, f64),
    /// How many independent samples these are worth.
    pub effective: f64,
    /// Samples that a relative accuracy of a tenth at 95 % needs, taken as densely as these; infinite where none is occupied.
    pub needed: f64,
    /// Time from sample to sample, seconds.
    pub revisit: f64,
    /// The shortest whole spell, seconds.
    pub shortest: Option<f64>,
}

impl Occupancy {
    /// Whether there are enough samples for a relative accuracy of a tenth.
    pub fn enough(&self) -> bool {
        self.samples as f64 >= self.needed
    }

    /// Whether spells are so short that others may have gone unseen between the samples.
    pub fn misses_short_ones(&self) -> bool {
        self.shortest.is_some_and(|s| s < 2.0 * self.revisit)
    }
}

/// Occupancy of a row of states. Samples that follow one another are alike: n of them with correlation ρ from one to the
/// next are worth n (1 − ρ)/(1 + ρ) independent ones, as in a chain that remembers one step ([`crate::sources::PRIESTLEY1981`]).
pub fn occupancy(states: &[bool], revisit: f64, spells: &[Spell]) -> Occupancy {
    let samples = states.len();
    let occupied = states.iter().filter(|s| **s).count();
    let share = if samples > 0 { occupied as f64 / samples as f64 } else { 0.0 };
    let alike = alike(states, share).clamp(0.0, 0.999_999);
    let worth = (1.0 - alike) / (1.0 + alike);
    let effective = (samples as f64 * worth).max(1.0).min(samples as f64);
    let shortest = spells.iter().filter(|s| s.begins && s.ends).map(Spell::length).min_by(f64::total_cmp);
    Occupancy {
        samples,
        occupied,
        share,
        interval: wilson(share, effective),
        effective,
        needed: needed(share, RELATIVE) / worth,
        revisit,
        shortest,
    }
}

/// Correlation of each state with the next.
fn alike(states: &[bool], share: f64) -> f64 {
    let variance = share * (1.0 - share);
    if states.len() < 2 || variance <= 0.0 {
        return 0.0;
    }
    let miss = |s: bool| f64::from(u8::from(s)) - share;
    let product: f64 = states.windows(2).map(|w| miss(w[0]) * miss(w[1])).sum();
    product / (states.len() as f64 * variance)
}

/// Independent samples that an occupancy `share` needs for the relative accuracy `relative` at 95 %: z² (1 − p)/(p r²),
/// [`crate::sources::SM1880`]; infinite for a share of zero.
pub fn needed(share: f64, relative: f64) -> f64 {
    if share <= 0.0 {
        f64::INFINITY
    } else {
        Z95 * Z95 * (1.0 - share).max(0.0) / (share * relative * relative)
    }
}

/// 95 % interval of a share seen in `n` independent samples, [`crate::sources::WILSON1927`].
pub fn wilson(share: f64, n: f64) -> (f64, f64) {
    if n <= 0.0 {
        return (0.0, 1.0);
    }
    let z2 = Z95 * Z95;
    let middle = (share + z2 / (2.0 * n)) / (1.0 + z2 / n);
    let half = Z95 / (1.0 + z2 / n) * (share * (1.0 - share) / n + z2 / (4.0 * n * n)).sqrt();
    ((middle - half).max(0.0), (middle + half).min(1.0))
}
