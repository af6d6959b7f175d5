//! Levels of a walk as weak evidence: the customary plain law of distance with its power and exponent integrated out, over few
//! cells of the walk, and with a power of the likelihood that keeps it from being believed too much. A thousandth of the
//! cost of the joint solver ([`crate::solve::levels`]), for those who decide many times while underway.

use crate::{geodesy::PlanePoint, plan::belief::Belief, units::Dbm};

/// Levels within so many metres of a walk are one cell.
const CELL_M: f64 = 40.0;

/// Fewer cells tell nothing.
const LEAST_CELLS: usize = 3;

/// More cells than this are thinned.
const MOST_CELLS: usize = 60;

/// Standard deviation of a cell about the law, decibels. Common practice, no source.
const CELL_DB: f64 = 9.0;

/// The likelihood's power is this over itself plus the number of cells.
const BELIEVED: f64 = 40.0;

/// Level at one metre, dBm, and exponent, with their standard deviations: 30 ± 20 dBm less the free-space loss of one metre at
/// 900 MHz ([`crate::sources::P525`]), and what cities have. Common practice, no source.
const AT_ONE_METRE: (f64, f64) = (-2.0, 20.0);
const EXPONENT: (f64, f64) = (3.2, 0.6);

/// Cells of a walk.
pub struct Faint {
    cells: Vec<(PlanePoint, f64)>,
}

impl Faint {
    /// From levels in the order of the walk; `None` for too few.
    pub fn of(levels: &[(PlanePoint, Dbm)]) -> Option<Self> {
        let mut cells: Vec<(PlanePoint, f64)> = Vec::new();
        let mut start = 0;
        for i in 0..levels.len() {
            let far = apart(levels[start].0, levels[i].0) >= CELL_M;
            if far || i + 1 == levels.len() {
                let cell = &levels[start..i.max(start + 1)];
                let n = cell.len() as f64;
                let mean = |f: &dyn Fn(&(PlanePoint, Dbm)) -> f64| cell.iter().map(f).sum::<f64>() / n;
                let at = PlanePoint { east: mean(&|c| c.0.east), north: mean(&|c| c.0.north) };
                cells.push((at, mean(&|c| c.1.value())));
                start = i;
            }
        }
        let every = cells.len().div_ceil(MOST_CELLS).max(1);
        let cells: Vec<_> = cells.into_iter().step_by(every).collect();
        (cells.len() >= LEAST_CELLS).then_some(Self { cells })
    }

    /// Natural logarithm of the likelihood of an emitter at a point, up to a constant.
    fn log(&self, at: PlanePoint) -> f64 {
        let (mut g, mut gg, mut r, mut rg) = (0.0, 0.0, 0.0, 0.0);
        for (cell, level) in &self.cells {
            let square = (cell.east - at.east).powi(2) + (cell.north - at.north).powi(2) + 100.0;
            let decades = 5.0 * square.log10();
            let miss = level - AT_ONE_METRE.0 + EXPONENT.0 * decades;
            g += decades;
            gg += decades * decades;
            r += miss;
            rg += miss * decades;
        }
        let rr: f64 = self
            .cells
            .iter()
            .map(|(cell, level)| {
                let square = (cell.east - at.east).powi(2) + (cell.north - at.north).powi(2) + 100.0;
                (level - AT_ONE_METRE.0 + EXPONENT.0 * 5.0 * square.log10()).powi(2)
            })
            .sum();
        let n = self.cells.len() as f64;
        let v = CELL_DB * CELL_DB;
        // Precision of (level at one metre, exponent) with columns 1 and −g, and the push of the misses.
        let (aa, ab, bb) = (n / v + AT_ONE_METRE.1.powi(-2), -g / v, gg / v + EXPONENT.1.powi(-2));
        let (pa, pb) = (r / v, -rg / v);
        let determinant = aa * bb - ab * ab;
        let gained = (bb * pa * pa - 2.0 * ab * pa * pb + aa * pb * pb) / determinant;
        -0.5 * (rr / v - gained + determinant.ln())
    }

    /// Weighs the points of a belief.
    pub fn weigh(&self, belief: &mut Belief) {
        let n = self.cells.len() as f64;
        let power = BELIEVED / (BELIEVED + n);
        let logs: Vec<f64> = belief.at.iter().map(|p| power * self.log(*p)).collect();
        let top = logs.iter().copied().fold(f64::NEG_INFINITY, f64::max);
        for (mass, log) in belief.mass.iter_mut().zip(logs) {
            *mass *= (log - top).exp();
        }
        belief.normalise();
    }
}

fn apart(a: PlanePoint, b: PlanePoint) -> f64 {
    (a.east - b.east).hypot(a.north - b.north)
}
