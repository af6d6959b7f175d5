//! How much the levels of a walk would tell of the place, so that it can be held against a bearing.
//!
//! For each place of the emitter the levels of the walk's cells are normal about the plain law of distance, with power and
//! exponent unknown. What a reading from a mixture of normals tells of its component is at least
//! −Σᵢ mᵢ ln Σⱼ mⱼ exp(−dᵢⱼ²/8), with d Mahalanobis' distance of the means ([`crate::sources::KOLCHINSKY2017`], equation 10, with
//! Bhattacharyya's distance of equal covariances).

use crate::{
    geodesy::PlanePoint,
    plan::{
        belief::Belief,
        faint::{AT_ONE_METRE, CELL_DB, CELL_M, EXPONENT, decades},
    },
};

/// So many points of the belief are told apart.
const POINTS: usize = 140;

/// More cells than this are thinned.
const MOST_CELLS: usize = 24;

/// Nats that the levels along a way tell of the place, at least; 0 for a way shorter than two cells.
pub fn told(belief: &Belief, way: &[PlanePoint]) -> f64 {
    let cells = cells(way);
    if cells.len() < 2 {
        return 0.0;
    }
    let (at, mass) = some(belief);
    let laws: Vec<Vec<f64>> = at.iter().map(|p| cells.iter().map(|c| decades(*c, *p)).collect()).collect();
    let n = cells.len() as f64;
    let v = CELL_DB * CELL_DB;
    let mut sum = 0.0;
    for (i, own) in laws.iter().enumerate() {
        // Precision of (level at one metre, exponent) with columns 1 and −g.
        let (g, gg): (f64, f64) = (own.iter().sum(), own.iter().map(|x| x * x).sum());
        let (aa, ab, bb) = (n / v + AT_ONE_METRE.1.powi(-2), -g / v, gg / v + EXPONENT.1.powi(-2));
        let determinant = aa * bb - ab * ab;
        let mut near = 0.0;
        for (other, mass) in laws.iter().zip(&mass) {
            let (mut dd, mut d, mut dg) = (0.0, 0.0, 0.0);
            for (a, b) in own.iter().zip(other) {
                let miss = EXPONENT.0 * (a - b);
                dd += miss * miss;
                d += miss;
                dg += miss * a;
            }
            let (pa, pb) = (d / v, -dg / v);
            let gained = (bb * pa * pa - 2.0 * ab * pa * pb + aa * pb * pb) / determinant;
            near += mass * (-0.125 * (dd / v - gained).max(0.0)).exp();
        }
        sum -= mass[i] * near.ln();
    }
    sum.max(0.0)
}

/// Middles of cells along a way.
fn cells(way: &[PlanePoint]) -> Vec<PlanePoint> {
    let length: f64 = way.windows(2).map(|w| apart(w[0], w[1])).sum();
    let count = ((length / CELL_M).floor() as usize).min(MOST_CELLS);
    let mut out = Vec::with_capacity(count);
    let (mut walked, mut next) = (0.0, 0.5 * length / count.max(1) as f64);
    for w in way.windows(2) {
        let step = apart(w[0], w[1]);
        while out.len() < count && next <= walked + step && step > 0.0 {
            let share = (next - walked) / step;
            out.push(PlanePoint {
                east: w[0].east + share * (w[1].east - w[0].east),
                north: w[0].north + share * (w[1].north - w[0].north),
            });
            next += length / count as f64;
        }
        walked += step;
    }
    out
}

/// Points at the middles of equal shares of the mass, or all of them where they are few.
fn some(belief: &Belief) -> (Vec<PlanePoint>, Vec<f64>) {
    if belief.at.len() <= POINTS {
        return (belief.at.clone(), belief.mass.clone());
    }
    let shares = super::ahead::equal_shares(&belief.mass, POINTS);
    (shares.into_iter().map(|i| belief.at[i]).collect(), vec![1.0 / POINTS as f64; POINTS])
}

fn apart(a: PlanePoint, b: PlanePoint) -> f64 {
    (a.east - b.east).hypot(a.north - b.north)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::solve::predict::Hand;

    fn two(a: PlanePoint, b: PlanePoint) -> Belief {
        let hand = Hand { sigma: 0.1, spread: 0.1, position: 25.0, shared: 0.0, reversed: 0.0 };
        Belief { at: vec![a, b], mass: vec![0.5; 2], area: vec![100.0; 2], reading: Vec::new(), hand }
    }

    fn point(east: f64, north: f64) -> PlanePoint {
        PlanePoint { east, north }
    }

    /// One street cannot tell left from right; a walk that passes one of two places far apart tells which: ln 2.
    #[test]
    fn a_straight_walk_tells_along_and_not_across() {
        let street = [point(0.0, -400.0), point(0.0, 400.0)];
        let mirrored = told(&two(point(60.0, 0.0), point(-60.0, 0.0)), &street);
        assert!(mirrored < 1e-9, "{mirrored}");
        let along = told(&two(point(10.0, -300.0), point(10.0, 300.0)), &street);
        assert!(along > 0.8 * 2f64.ln() && along <= 2f64.ln(), "{along}");
        let around = [point(0.0, -400.0), point(0.0, 0.0), point(400.0, 0.0)];
        let corner = told(&two(point(60.0, 30.0), point(-60.0, 30.0)), &around);
        assert!(corner > 0.1, "{corner}");
        assert_eq!(told(&two(point(60.0, 0.0), point(-60.0, 0.0)), &street[..1]), 0.0);
    }
}
