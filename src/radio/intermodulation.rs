//! Where mixtures of known carriers fall ([`crate::sources::SM1134`]).

use std::fmt;

use crate::units::Hertz;

/// Products of higher order are weaker by far than those up to here, and too many to tell anything.
pub const HIGHEST_ORDER: u8 = 5;

/// A mixture Σ kᵢ fᵢ of at least two carriers.
#[derive(Clone, Debug, PartialEq)]
pub struct Product {
    /// Where it falls; always above zero.
    pub frequency: Hertz,
    /// Its order Σ |kᵢ|, 2 to [`HIGHEST_ORDER`]. Odd orders fall close to the carriers.
    pub order: u8,
    /// The factors kᵢ, one for each carrier in the order given.
    pub factors: Vec<i8>,
    /// Its frequency less that of the victim; negative below it.
    pub offset: Hertz,
}

impl fmt::Display for Product {
    /// `2 f1 − f2`.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let mut first = true;
        for (i, k) in self.factors.iter().enumerate().filter(|(_, k)| **k != 0) {
            match (first, *k < 0) {
                (true, true) => write!(f, "−")?,
                (true, false) => {}
                (false, true) => write!(f, " − ")?,
                (false, false) => write!(f, " + ")?,
            }
            if k.unsigned_abs() > 1 {
                write!(f, "{} ", k.unsigned_abs())?;
            }
            write!(f, "f{}", i + 1)?;
            first = false;
        }
        Ok(())
    }
}

/// Products of `carriers` up to order [`HIGHEST_ORDER`] that fall no farther than `within` from `victim`, lowest order
/// first, then nearest. Among them 2 f1 − f2 and f1 + f2 − f3 (order 3) and 3 f1 − 2 f2 (order 5). Harmonics of one
/// carrier are not products and are left out.
///
/// A carrier that is not finite and positive takes no part. The number of mixtures grows with the fifth power of the
/// number of carriers: 36,365 for ten.
pub fn products(carriers: &[Hertz], victim: Hertz, within: Hertz) -> Vec<Product> {
    let mut search = Search { carriers, victim, within, factors: vec![0; carriers.len()], found: Vec::new() };
    search.fill(0, HIGHEST_ORDER, 0.0);
    search.found.sort_by(|a, b| {
        a.order.cmp(&b.order).then(a.offset.value().abs().total_cmp(&b.offset.value().abs()))
    });
    search.found
}

struct Search<'a> {
    carriers: &'a [Hertz],
    victim: Hertz,
    within: Hertz,
    factors: Vec<i8>,
    found: Vec<Product>,
}

impl Search<'_> {
    /// Tries every factor for the carrier `at` and those after it; `left` of the order remains, and the factors before
    /// it add up to `sum`.
    fn fill(&mut self, at: usize, left: u8, sum: f64) {
        let Some(carrier) = self.carriers.get(at).map(|c| c.value()) else { return self.take(sum) };
        let most = if carrier > 0.0 && carrier.is_finite() { left as i8 } else { 0 };
        for k in -most..=most {
            self.factors[at] = k;
            // A carrier without a part must not spoil the sum.
            let term = if k == 0 { 0.0 } else { f64::from(k) * carrier };
            self.fill(at + 1, left - k.unsigned_abs(), sum + term);
        }
        self.factors[at] = 0;
    }

    fn take(&mut self, frequency: f64) {
        let offset = frequency - self.victim.value();
        let parts = self.factors.iter().filter(|k| **k != 0).count();
        if parts >= 2 && frequency > 0.0 && offset.abs() <= self.within.value() {
            self.found.push(Product {
                frequency: Hertz::new(frequency),
                order: self.factors.iter().map(|k| k.unsigned_abs()).sum(),
                factors: self.factors.clone(),
                offset: Hertz::new(offset),
            });
        }
    }
}
