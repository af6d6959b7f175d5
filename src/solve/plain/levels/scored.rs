//! The cost of levels and bearings around a place, with the law at its best there.

use std::cell::RefCell;

use nalgebra::{Matrix2, Vector2};

use super::{
    columns::{Columns, Survey},
    law::Plain,
    shared::Shared,
};
use crate::{
    numeric::least_squares::{Model, Problem},
    solve::plain::{
        blocks::{Blocks, FARTHEST},
        local::{self, Local},
        penalty::Gaussian,
    },
};

/// The cost as a function of the place alone: P and n are always those that fit best there, so that two unknowns remain
/// ([`crate::sources::GOLUB1973`]).
pub struct Scored<'a> {
    /// The readings.
    pub columns: &'a Columns,
    /// Their covariance, where they share shadowing.
    pub shared: Option<&'a Shared>,
    /// What is known of the law.
    pub law: &'a Plain,
    /// Bearings, about the same middle.
    pub lines: Option<&'a Blocks>,
    room: RefCell<Vec<f64>>,
}

/// Covariance of the place and of the law, and of one with the other.
pub struct Covariances {
    /// East and north.
    pub place: Matrix2<f64>,
    /// East and north by P and n.
    pub mixed: Matrix2<f64>,
    /// P and n.
    pub law: Matrix2<f64>,
}

impl<'a> Scored<'a> {
    /// The cost of all that is given.
    pub fn new(
        columns: &'a Columns,
        shared: Option<&'a Shared>,
        law: &'a Plain,
        lines: Option<&'a Blocks>,
    ) -> Self {
        Self { columns, shared, law, lines, room: RefCell::new(Vec::with_capacity(columns.level.len())) }
    }

    /// The sums over the levels about a place; `None` on a reading and beyond the Earth.
    pub fn survey(&self, at: Vector2<f64>) -> Option<Survey> {
        let near = at.x.abs() < FARTHEST && at.y.abs() < FARTHEST;
        let room = &mut *self.room.borrow_mut();
        near.then(|| match self.shared {
            Some(shared) => shared.survey(self.columns, self.law, at, room),
            None => self.columns.survey(self.law, at, room),
        })?
    }

    fn lines(&self, at: Vector2<f64>) -> Option<Option<local::Sums>> {
        let Some(blocks) = self.lines else { return Some(None) };
        let scored = local::Scored { blocks, penalty: Gaussian, prior: 0.0 };
        scored.sums::<false>(at.x, at.y, 0.0).map(Some)
    }

    /// The cost at a place; `None` where it is not defined.
    pub fn cost(&self, at: Vector2<f64>) -> Option<f64> {
        let lines = self.lines(at)?.map_or(0.0, |l| l.cost);
        self.survey(at).map(|s| 0.5 * (s.misses + s.law.prior) + lines)
    }

    /// Covariances at a place: the inverse of JᵀWJ in all unknowns.
    pub fn covariances(&self, at: Vector2<f64>) -> Option<Covariances> {
        let inverse = self.model(&[at.x, at.y])?.inverse()?;
        let survey = self.survey(at)?;
        let place = Matrix2::new(inverse[0][0], inverse[0][1], inverse[1][0], inverse[1][1]);
        let law = survey.law.inverse()?;
        let mixed = -place * mixed(&survey, [0.0; 2]) * law;
        Some(Covariances { place, mixed, law: law + mixed.transpose() * place.try_inverse()? * mixed })
    }
}

/// Second derivatives by the place and by P and n; `push` is Σ w r ∇g in the exact ones and zero in JᵀWJ.
fn mixed(s: &Survey, push: [f64; 2]) -> Matrix2<f64> {
    let n = s.law.exponent;
    let by = |k: usize| (-n * s.pull[k], push[k] + n * (s.lean[k] + s.mean * s.pull[k]));
    let ((ep, en), (np, nn)) = (by(0), by(1));
    Matrix2::new(ep, en, np, nn)
}

/// A symmetric matrix less what P and n, moving along, take off it.
fn eliminated([ee, en, nn]: [f64; 3], mixed: &Matrix2<f64>, law: &Matrix2<f64>) -> [[f64; 2]; 2] {
    let off = mixed * law * mixed.transpose();
    [[ee - off[(0, 0)], 0.0], [en - off[(1, 0)], nn - off[(1, 1)]]]
}

fn added(a: [f64; 3], b: [f64; 3]) -> [f64; 3] {
    [a[0] + b[0], a[1] + b[1], a[2] + b[2]]
}

impl Problem<2> for Scored<'_> {
    type Model = Local<2>;

    fn model(&self, at: &[f64; 2]) -> Option<Local<2>> {
        let at = Vector2::new(at[0], at[1]);
        let lines = self.lines(at)?;
        let s = self.survey(at)?;
        let n = s.law.exponent;
        let held = s.outer.map(|x| n * n * x);
        let bent = added(held, s.bent.map(|x| n * x));
        let mut cost = 0.5 * (s.misses + s.law.prior);
        let mut gradient = s.push.map(|x| n * x);
        let (mut held, mut bent) = (held, bent);
        if let Some(lines) = lines {
            cost += lines.cost;
            gradient = [gradient[0] + lines.gradient[0], gradient[1] + lines.gradient[1]];
            (held, bent) = (added(held, lines.held), added(bent, lines.bent));
        }
        let law = s.law.inverse()?;
        let hessian = eliminated(bent, &mixed(&s, s.push), &law);
        let information = eliminated(held, &mixed(&s, [0.0; 2]), &law);
        Some(Local::new(cost, gradient, hessian, information))
    }
}

#[cfg(test)]
mod tests {
    use super::{
        super::{PlainLevels, Reading},
        *,
    };
    use crate::{
        geodesy::PlanePoint,
        numeric::derivative::disagreement,
        radio::ShadowCorrelation,
        solve::plain::{
            Line,
            levels::{Law, Term},
        },
        units::{Angle, Dbm, Metres, Sigma},
    };

    /// Twelve levels and two bearings about a target 60 m east and 35 m north, with errors of a fixed pattern.
    fn scene() -> (Vec<Reading>, Vec<Line>) {
        let readings = (0..12).map(|i| {
            let (sin, cos) = (1.7 * f64::from(i)).sin_cos();
            let range = 150.0 + 90.0 * f64::from(i % 5);
            let at = PlanePoint { east: 60.0 + range * sin, north: 35.0 + range * cos };
            let level = Dbm::new(-15.0 - 31.0 * range.log10() + 2.0 * (2.3 * f64::from(i)).sin());
            Reading { at, level, sigma: Sigma::db(3.0 + f64::from(i % 3)).unwrap() }
        });
        let line = |east: f64, north: f64, miss: f64| {
            let azimuth = Angle::radians((60.0 - east).atan2(35.0 - north) + miss);
            let sigma = Sigma::<Angle>::degrees(5.0).unwrap();
            Line { stand: PlanePoint { east, north }, azimuth, sigma }
        };
        (readings.collect(), vec![line(-400.0, -300.0, 0.03), line(500.0, -80.0, -0.05)])
    }

    fn inside(problem: &PlainLevels, at: [f64; 2]) -> [f64; 2] {
        let p = problem.inward(PlanePoint { east: at[0], north: at[1] });
        [p.x, p.y]
    }

    /// The laws whose derivatives differ: each term free, known and with a prior, and one held at a bound.
    fn laws() -> [Law; 6] {
        let free = Law { height: Metres::new(3.0), ..Law::default() };
        let level = Dbm::new(-15.0);
        let start = Term::Prior { mean: level, sigma: Sigma::db(6.0).unwrap() };
        let exponent = Term::Prior { mean: 2.8, sigma: 0.4 };
        let tight = crate::radio::Span::new(1.0, 2.0);
        [
            free,
            Law { start: Term::Known(level), ..free },
            Law { exponent: Term::Known(3.1), ..free },
            Law { start: Term::Known(level), exponent: Term::Known(3.1), ..free },
            Law { start, exponent, reference: Metres::new(10.0), ..free },
            Law { bounds: tight, ..free },
        ]
    }

    /// Gradient and second derivatives against central differences (`numeric::derivative`), where P and n follow the place.
    fn check(shared: Option<ShadowCorrelation>) {
        let (readings, lines) = scene();
        for (k, law) in laws().iter().enumerate() {
            let problem = PlainLevels::new(&readings, law).unwrap().with_lines(&lines).unwrap();
            let problem = match shared {
                Some(s) => problem.with_shared(s).unwrap(),
                None => problem,
            };
            let scored = problem.scored();
            let (at, steps) = (inside(&problem, [75.0, 20.0]), [3.0, 3.0]);
            let here = scored.model(&at).unwrap();
            let cost = |p: &[f64; 2]| scored.model(p).unwrap().cost();
            let off = disagreement(cost, &at, &steps, &here.steps.gradient);
            assert!(off < 1e-7, "law {k}: gradient {off:e}");
            assert!(here.cupped, "law {k}: a place is needed where the second derivatives are used");
            for j in 0..2 {
                let slope = |p: &[f64; 2]| scored.model(p).unwrap().steps.gradient[j];
                let row = std::array::from_fn(|i| here.steps.curvature[j.max(i)][j.min(i)]);
                let off = disagreement(slope, &at, &steps, &row);
                assert!(off < 1e-6, "law {k}: row {j} of the second derivatives {off:e}");
            }
            let plain = scored.cost(Vector2::new(at[0], at[1])).unwrap();
            assert!((plain - here.cost()).abs() < 1e-12 * plain);
        }
    }

    #[test]
    fn first_and_second_derivatives_agree_with_differences() {
        check(None);
    }

    #[test]
    fn so_they_do_with_shared_shadowing() {
        check(ShadowCorrelation::new(Metres::new(150.0), 0.2));
    }

    /// Readings that share nothing make the dense sums those of the columns.
    #[test]
    fn nothing_shared_is_the_same_as_alone() {
        let (readings, _) = scene();
        let alone = PlainLevels::new(&readings, &Law::default()).unwrap();
        let own = ShadowCorrelation::new(Metres::new(150.0), 1.0).unwrap();
        let dense = alone.clone().with_shared(own).unwrap();
        for at in [[60.0, 35.0], [-900.0, 400.0], [20.0, -30.0]] {
            let (a, b) = (alone.scored().model(&at).unwrap(), dense.scored().model(&at).unwrap());
            assert!((a.cost() / b.cost() - 1.0).abs() < 1e-10);
            for k in 0..2 {
                assert!(
                    (a.steps.gradient[k] - b.steps.gradient[k]).abs()
                        < 1e-9 * a.steps.gradient[0].hypot(a.steps.gradient[1])
                );
                assert!((a.steps.curvature[k][k] / b.steps.curvature[k][k] - 1.0).abs() < 1e-8);
            }
        }
    }

    #[test]
    fn no_place_is_on_a_reading_or_beyond_the_earth() {
        let (readings, _) = scene();
        let problem = PlainLevels::new(&readings, &Law::default()).unwrap();
        let spot = problem.inward(readings[2].at);
        assert_eq!(problem.scored().cost(spot), None);
        assert!(problem.scored().cost(spot + Vector2::new(0.01, 0.0)).is_some());
        assert_eq!(problem.scored().cost(Vector2::new(0.0, -2.1e7)), None);
        assert_eq!(problem.scored().cost(Vector2::new(f64::NAN, 0.0)), None);
    }
}
